package session

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
	"example.com/earnest/target/review"
)

// sourceFile is a file with one or several plays of the stimulus. Err says why it cannot be used.
type sourceFile struct {
	review.Channel
	name  string
	plays []placement.Play // nil if the recording is too short for two and was not searched
}

// play returns a play of a file by its number; 0 means the only one.
func (f *sourceFile) play(number int) (review.Channel, error) {
	if f.Err != nil {
		return f.Channel, nil
	}
	if number > len(f.plays) {
		return review.Channel{}, fmt.Errorf("session: %w: %s: the session names play = %d, but the file "+
			"holds %s; name one of these", ErrSession, f.Recording.Name, number, f.list())
	}
	if number > 0 {
		p := f.plays[number-1]
		return review.Channel{Recording: p.Recording, Placement: p.Placement}, nil
	}
	switch whole := f.whole(nil); {
	case len(whole) > 1:
		return review.Channel{}, fmt.Errorf("session: %w: %s holds %s; say which with play = 1 and so on, or every_play = true in [[seating]] if each is a seating",
			ErrSession, f.name, f.list())
	case len(f.plays) > 1 && len(whole) == 1:
		return f.play(whole[0])
	}
	return f.Channel, nil
}

// whole returns the numbers of the plays that were not cut short, without those given.
func (f *sourceFile) whole(less []int) []int {
	var numbers []int
	for _, p := range f.plays {
		if p.Whole() && !slices.Contains(less, p.Number) {
			numbers = append(numbers, p.Number)
		}
	}
	return numbers
}

// list states the number and the times of the plays: "3 plays of the stimulus, from 0.6, 6.8 and
// (cut short) 11.5 s on".
func (f *sourceFile) list() string {
	var places []string
	for _, p := range f.plays {
		place := fmt.Sprintf("%.1f", p.Start)
		if !p.Whole() {
			place = "(cut short) " + place
		}
		places = append(places, place)
	}
	if len(places) == 1 {
		return "1 play of the stimulus, from " + places[0] + " s on"
	}
	last := len(places) - 1
	return fmt.Sprintf("%d plays of the stimulus, from %s and %s s on", len(places), strings.Join(places[:last], ", "),
		places[last])
}

// large is the size in bytes from which a file is read block by block.
const large = 64 << 20

// fileCache reads the recordings of a session, each file once.
type fileCache struct {
	session  *Session
	stimulus *sweep.Stimulus
	files    map[string]*sourceFile
	progress func(string)
	labels   []Seating // labels of the seatings that seatings returned
	later    bool      // each seating is read when it is measured
}

// file reads a file. It finds the plays if the file may hold several or if the session asks for
// them.
func (c *fileCache) file(name string) *sourceFile {
	if f := c.files[name]; f != nil {
		return f
	}
	c.progress("reading " + name)
	f := &sourceFile{name: name}
	c.files[name] = f
	asked := slices.Contains(c.session.filesWithPlays(), name)
	// One play of a stimulus with further parts may be as large, and all of it is needed.
	further := len(c.stimulus.Parts()) > 0 && !asked
	if about, err := os.Stat(c.session.path(name)); err == nil && about.Size() > large && !further {
		c.progress("looking for plays of the stimulus in " + name + ", block by block")
		f.plays, f.Channel = c.session.readPlays(name, c.stimulus)
		return f
	}
	f.Channel = c.session.atRate(c.session.read(name, 0), c.stimulus.Signal().SampleRate(), true)
	if f.Err != nil {
		return f
	}
	// Without timing marks this is the only check for another sweep or another speed.
	if played := c.session.playedHolds; played != nil {
		if what := recognise.Mismatch(played, recognise.Find(f.Recording.Channels, f.Recording.SampleRate)); what != "" {
			f.Err = errors.New(what)
			return f
		}
	}
	// A recording of two plays is at least this long, without the silence at its ends.
	silence := c.stimulus.Find(sweep.Silence)[0]
	several := float64(2*(c.stimulus.WholeLen()-2*silence.Len)) / float64(c.stimulus.Signal().SampleRate())
	if asked || f.Recording.Duration() > several {
		c.progress("looking for plays of the stimulus in " + name)
		placed, err := placement.Locate(f.Recording, c.stimulus)
		if err == nil {
			f.plays, err = placed.Plays()
		}
		if asked {
			f.Err = err
		} // otherwise the inspection reports what it holds
	}
	return f
}

// channel returns a channel of the play that the session names, or an empty one if it names no
// file.
func (c *fileCache) channel(f File) (review.Channel, error) {
	if f.File == "" {
		return review.Channel{}, nil
	}
	channel, err := c.file(f.File).play(f.Play)
	channel.Number = f.Channel
	return channel, err
}

// direct returns the channels of the direct recording.
func (c *fileCache) direct() (review.Channels, error) {
	if c.session.like != nil {
		return c.session.like.channels, nil
	}
	return c.stereo(c.session.Direct)
}

// stereo returns the channels of a recording with a channel for each side.
func (c *fileCache) stereo(d StereoFile) (review.Channels, error) {
	left, err := c.channel(File{File: d.File, Play: d.Play, Channel: cmp.Or(d.Left, 1)})
	if err != nil {
		return review.Channels{}, err
	}
	right := left
	right.Number = cmp.Or(d.Right, min(2, len(left.Recording.Channels))) // 0 if it cannot be used
	return review.Channels{Left: left, Right: right}, nil
}

// otherStimulus examines the whole file of an unfit direct recording. What looked like one of
// several plays may be a part of another stimulus; it then returns an error, otherwise nil.
func (c *fileCache) otherStimulus(bench *review.Bench) error {
	f := c.file(c.session.Direct.File)
	if len(f.plays) < 2 || c.session.Direct.Play > 0 {
		return nil
	}
	findings, err := bench.Direct(review.Both(f.Recording))
	if slices.ContainsFunc(findings, func(f response.Finding) bool { return f.Kind == review.WrongSetting }) {
		return err
	}
	return nil
}

// seatings returns those of the session, one for each play if it says every_play. A stimulus with
// further parts makes recordings of minutes: they are not read yet, if each file is one seating's.
func (c *fileCache) seatings() ([]review.Seating, error) {
	var out []review.Seating
	c.later = len(c.stimulus.Parts()) > 0 && len(c.session.filesWithPlays()) == 0 && c.session.filesApart()
	for i, s := range c.session.Seatings {
		expanded := []Seating{s}
		if s.EveryPlay {
			var err error
			if expanded, err = c.expand(i, s); err != nil {
				return nil, err
			}
		}
		for _, s := range expanded {
			seating := review.Seating{Name: s.Name}
			if !c.later {
				if err := c.read(&seating, s); err != nil {
					return nil, err
				}
			}
			out, c.labels = append(out, seating), append(c.labels, s)
		}
	}
	return out, nil
}

// read sets the channels of a seating.
func (c *fileCache) read(seating *review.Seating, label Seating) (err error) {
	if seating.Left, err = c.channel(label.Left); err == nil {
		seating.Right, err = c.channel(label.Right)
	}
	return err
}

// seat adds the seatings of a part to a pair. An error of recordings that are not fit wraps
// fitness.ErrUnfit.
func (c *fileCache) seat(pair *review.Pair, p *part) error {
	if !c.later {
		_, err := pair.Seat(p.seatings...)
		if len(c.session.filesWithPlays()) == 0 && c.session.filesApart() {
			for _, s := range p.seatings {
				for _, r := range []*capture.Recording{s.Left.Recording, s.Right.Recording} {
					if r != nil {
						r.Channels = make([][]float64, len(r.Channels)) // measured
					}
				}
			}
		}
		return err
	}
	var unfit []error
	for i, seating := range p.seatings {
		label := p.labels[i]
		if err := c.read(&seating, label); err != nil {
			return err
		}
		_, err := pair.Seat(seating)
		for _, f := range []File{label.Left, label.Right} {
			if of := c.files[f.File]; of != nil {
				of.Recording = nil // no longer needed
			}
		}
		if err != nil && !errors.Is(err, fitness.ErrUnfit) {
			return err
		}
		unfit = append(unfit, err)
	}
	return errors.Join(unfit...)
}

// expand makes a seating of each whole play that is not named elsewhere.
func (c *fileCache) expand(i int, seating Seating) ([]Seating, error) {
	var plays [2][]int
	var said []string
	for k, f := range []File{seating.Left, seating.Right} {
		if f.File == "" {
			continue
		}
		source := c.file(f.File)
		if source.Err != nil {
			continue // that side of each seating is left out
		}
		plays[k] = source.whole(c.session.playsNamed(f.File))
		if len(plays[k]) == 0 {
			return nil, fmt.Errorf("session: %w: seating %d: %s holds %s, but every one is cut short or "+
				"named elsewhere; record the stimulus again, to its end",
				ErrSession, i+1, f.File, source.list())
		}
		said = append(said, fmt.Sprintf("%s has %d for it (%s)", f.File, len(plays[k]), source.list()))
	}
	if len(said) == 2 && len(plays[0]) != len(plays[1]) {
		return nil, fmt.Errorf("session: %w: seating %d: left and right have different numbers of plays, so "+
			"they cannot be matched: %s; list the seatings one by one, with play = 1 and so on",
			ErrSession, i+1, strings.Join(said, ", "))
	}
	var all []Seating
	for k := range max(1, len(plays[0]), len(plays[1])) {
		one := seating
		if one.Name != "" {
			one.Name = fmt.Sprintf("%s %d", seating.Name, k+1)
		}
		for side, f := range []*File{&one.Left, &one.Right} {
			if k < len(plays[side]) {
				f.Play = plays[side][k]
			}
		}
		all = append(all, one)
	}
	return all, nil
}

// told returns findings and notes about files with several plays and about plays that were cut
// short.
func (c *fileCache) told() (findings []response.Finding, notes []string) {
	for _, name := range slices.Sorted(maps.Keys(c.files)) {
		f := c.files[name]
		if len(f.plays) > 1 {
			notes = append(notes, fmt.Sprintf("%s: %s.", name, f.list()))
		}
		for _, p := range f.plays {
			findings = append(findings, p.Findings...)
		}
	}
	return findings, notes
}

// filesWithPlays returns the files that hold several plays according to the session.
func (s *Session) filesWithPlays() []string {
	var files []string
	for _, d := range []StereoFile{s.Direct, s.DirectAfter} {
		if d.Play > 0 {
			files = append(files, d.File)
		}
	}
	for _, seating := range s.Seatings {
		for _, f := range []File{seating.Left, seating.Right} {
			if f.File != "" && (f.Play > 0 || seating.EveryPlay) {
				files = append(files, f.File)
			}
		}
	}
	return files
}

// filesApart reports whether no file is both in two seatings or in a seating and direct.
func (s *Session) filesApart() bool {
	seen := map[string]bool{s.Direct.File: true, s.DirectAfter.File: true}
	for _, one := range s.Seatings {
		if seen[one.Left.File] && one.Left.File != "" || seen[one.Right.File] && one.Right.File != "" {
			return false
		}
		seen[one.Left.File], seen[one.Right.File] = true, true
	}
	return true
}

// playsNamed returns the plays of a file that the session names by number.
func (s *Session) playsNamed(file string) []int {
	var named []int
	for _, d := range []StereoFile{s.Direct, s.DirectAfter} {
		if d.File == file && d.Play > 0 {
			named = append(named, d.Play)
		}
	}
	for _, seating := range s.Seatings {
		for _, f := range []File{seating.Left, seating.Right} {
			if f.File == file && f.Play > 0 {
				named = append(named, f.Play)
			}
		}
	}
	return named
}

// checkPlays returns an error if play and every_play contradict each other.
func (s *Session) checkPlays() error {
	for place, d := range map[string]StereoFile{"[direct]": s.Direct, "[direct_after]": s.DirectAfter} {
		if d.Play < 0 {
			return fmt.Errorf("%s has play = %d; plays are counted from 1", place, d.Play)
		}
	}
	for i, seating := range s.Seatings {
		for _, f := range []File{seating.Left, seating.Right} {
			switch {
			case f.Play < 0:
				return fmt.Errorf("seating %d has play = %d; plays are counted from 1", i+1, f.Play)
			case f.Play > 0 && seating.EveryPlay:
				return fmt.Errorf("seating %d has both every_play and play = %d; keep one of them", i+1, f.Play)
			}
		}
	}
	for i, seating := range s.Seatings {
		for _, f := range []File{seating.Left, seating.Right} {
			if err := f.checkPart(fmt.Sprintf("seating %d", i+1), false); err != nil {
				return err
			}
		}
	}
	for i, p := range s.Programmes {
		for _, f := range []File{p.Direct, p.Through, p.Left, p.Right} {
			if err := f.checkPart(fmt.Sprintf("programme %d (%q)", i+1, p.Name), true); err != nil {
				return err
			}
		}
		if p.Direct.Play != 0 || p.Through.Play != 0 || p.Left.Play != 0 || p.Right.Play != 0 {
			return fmt.Errorf("programme %d (%q) has play = …, which is only for recordings of the "+
				"stimulus; leave it out", i+1, p.Name)
		}
	}
	return nil
}
