package placement

import (
	"fmt"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

const (
	// blockSamples is the number of samples of each channel that are searched at a time, unless the
	// stimulus is longer: 87 s at 48 kHz.
	blockSamples = 1 << 22
	// mostKept is the largest number of samples in the plays of a file, of all channels together:
	// 3.5 minutes of two channels at 48 kHz.
	mostKept = 20_000_000
)

// blockSearch looks for plays in one block after another.
type blockSearch struct {
	ref   *reference
	plays []Play
	last  int // sample of the file at which the last of them ended
	kept  int // samples of all channels
	most  int // largest number of these
}

// search adds the plays that lie wholly in a block, and returns the beginning of the next block, so
// that a play that only began lies in that one.
func (h *blockSearch) search(b capture.Block) (next int, err error) {
	p := &Placement{Recording: b.Recording, Stimulus: h.ref.stimulus, Channels: make([]Place, len(b.Channels)), ref: h.ref}
	if p.refused = p.otherRate(); p.refused != nil {
		return 0, p.refused
	}
	matches := p.matches()
	s := newPlaySearch(p, matches)
	found, end := s.plays(), b.Len()
	lasts := s.st.WholeLen() + s.slack(s.st.WholeLen())
	for i, one := range found {
		if !b.Last && one.start+lasts > end {
			break
		}
		from, to := bounds(found, i, end)
		if i == 0 && len(h.plays) > 0 { // half-way to the last play of the block before
			from = max(from, (h.last-b.From+one.first)/2)
			from -= from % h.ref.step
		}
		if h.kept += len(b.Channels) * (to - from); h.kept > h.most {
			return 0, fmt.Errorf("capture: %s: %w: its plays of the stimulus have more than %d samples of all channels "+
				"together; "+
				"cut the file into pieces with fewer of them", b.Name, capture.ErrTooLarge, h.most)
		}
		part := p.part(matches, from, to)
		for k, x := range part.Recording.Channels {
			part.Recording.Channels[k], part.Channels[k].match = slices.Clone(x), nil
		}
		part.Recording.LengthUnstated = part.Recording.LengthUnstated && b.Last
		play := p.play(one, part, from)
		before := p.seconds(b.From)
		play.From, play.Start = play.From+before, play.Start+before
		if one.cut > 0 || b.From > 0 {
			play.CutShort += before // 0 means that it had begun before the recorder was started
		}
		h.plays, h.last = append(h.plays, play), b.From+one.ends(end)
	}
	next = max(h.last-b.From, end-lasts-s.slack(s.st.WholeLen()), h.ref.step)
	return b.From + next - next%h.ref.step, nil
}

// otherRate returns an error for a recording whose sample rate is not the stimulus's.
func (p *Placement) otherRate() error {
	if fs := p.Stimulus.Signal().SampleRate(); p.Recording.SampleRate != fs {
		return fmt.Errorf("capture: %s: recorded at %d Hz, the stimulus was made for %d Hz; record again at that rate",
			p.Recording.Name, p.Recording.SampleRate, fs)
	}
	return nil
}

// ReadPlays reads a WAV or FLAC file of any length and returns the same plays as Placement.Plays of
// the whole file. It searches the file in blocks of four times the stimulus, and of 2^22 samples at
// least, and keeps only the plays. These may have 20 million samples of all channels together,
// which take 153 MiB.
//
// Errors: those of capture.Read for a file that cannot be read, unequal sample rates,
// response.ErrNoPeak if there is no play, and capture.ErrTooLarge if the plays have more samples
// than that.
func ReadPlays(path string, st *sweep.Stimulus) ([]Play, error) {
	return readPlays(path, st, max(blockSamples, 4*st.Len(), 2*st.WholeLen()), mostKept)
}

// readPlays searches in blocks of length samples of each channel, and keeps at most most samples.
func readPlays(path string, st *sweep.Stimulus, length, most int) ([]Play, error) {
	h := &blockSearch{ref: referenceOf(st), most: most}
	if err := capture.ReadBlocks(path, length, h.search); err != nil {
		return nil, err
	}
	if len(h.plays) == 0 {
		return nil, fmt.Errorf("capture: %s: %w: the stimulus was not found in it; "+
			"check that the stimulus named here was played, "+
			"that the right input was recorded, and that nothing drowns it", path, response.ErrNoPeak)
	}
	return numbered(h.plays), nil
}
