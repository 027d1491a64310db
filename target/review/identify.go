package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// Role is the role of a recording in a review.
type Role string

// The roles.
const (
	DirectSweep     Role = "direct recording"
	ThroughSweep    Role = "through the headphones"
	DirectPiece     Role = "music or speech, direct"
	ThroughPiece    Role = "music or speech, through the headphones"
	LonePiece       Role = "music or speech" // its other recording is not here
	CalibratorTone  Role = "calibrator's tone"
	ImpedanceNoise  Role = "noise across a resistor and the headphones"
	ReferenceNoise  Role = "noise across two resistors"
	OpenNoise       Role = "noise, without the headphones"
	CoveredNoise    Role = "noise, under the cup"
	BackgroundNoise Role = "under the cup, the noise off"
	PlayedFile      Role = "what is played, not a recording of it"
	PartAlone       Role = "a part of the stimulus without its sweeps"
	NothingToReview Role = "nothing that a review asks for"
)

const (
	certain         = 0.95 // probability from which no question is asked
	heardTogether   = 12   // dB by which a side may be softer than the loudest side of a recording
	longestExamined = 5    // s, examined for tones and noise if there is no stimulus
)

// Candidate is a possible role of a recording.
type Candidate struct {
	Role Role
	// Left and Right are the channels of the sides, from 1; 0 for a side that is not in the
	// recording.
	Left, Right int
	// With is the name of the other recording of the same piece of music or speech.
	With string
	// From and To are where the piece begins and ends in a recording of several pieces of music or
	// speech, in seconds; both are 0 for the whole recording.
	From, To float64
	// Chance is the probability of this role, 0 to 1, from the content of the recording.
	Chance float64
	// Why gives the reason in a sentence.
	Why string
}

// String states the role and the sides.
func (c Candidate) String() string {
	out := string(c.Role)
	switch {
	case c.Role != ThroughSweep && c.Role != ThroughPiece, c.Left > 0 && c.Right > 0:
	case c.Left > 0:
		out += ", left"
	case c.Right > 0:
		out += ", right"
	}
	if c.With != "" {
		out += ", of " + c.With
	}
	return out
}

// Identity says what a recording is, or what one part is in a recording of several plays of the
// stimulus or several pieces of music or speech.
type Identity struct {
	// Play is the number of the play or piece, from 1; 0 for a recording with one or none. CutShort
	// says that it ends before the stimulus does.
	Play     int
	CutShort bool
	// Placed is the position of the stimulus; nil if there is none. Its recording is the part with
	// this play.
	Placed *placement.Placement
	// Candidates are the possible roles, the most likely first. There is at least one.
	Candidates []Candidate
	// Question is a question to the user if the content leaves the role open, and "" if it does
	// not.
	Question string
	// Missing are the questions of the stimulus whose parts are not all in the recording.
	Missing []sweep.Question

	bands []float64 // levels of the play in third octaves, dB; nil if it is not a play
}

// question computes Identity.Question.
func (i Identity) question() string {
	best := i.Candidates[0]
	if best.Chance >= certain {
		return ""
	}
	var may []string
	for _, c := range i.Candidates {
		may = append(may, c.String())
	}
	return "Is it " + strings.Join(may, ", or ") + "? " + best.Why
}

// Sorter identifies the recordings of a review by their content; names and order do not matter. Its
// zero value knows no stimulus. Learn tells it a role that is settled, which helps to identify
// other recordings. It is for one goroutine.
type Sorter struct {
	// Stimulus that was played; nil if only music and speech were played.
	Stimulus *sweep.Stimulus

	deconvolver *response.Deconvolver
	direct      []float64 // third octaves of the direct recording, mean of its sides; nil if there is none
	pair        []float64 // those of the pair less those of the direct recording
	pieces      []piece
}

// Identify says what a recording is, or what each play of the stimulus in it is. Plays are those
// that placement.ReadPlays found in a file too long to be read whole; nil means that Identify
// searches for them.
//
// A recording of the stimulus is direct where its third octaves from 50 Hz to 16 kHz scatter by
// less than 0.4 dB, or by less than 0.15 dB about those of a direct recording that is known, and
// through headphones from 1.1 and 0.4 dB on; between these limits the role is left open. Timing
// marks and the other channel show the side. Two recordings of a piece of music or speech are
// matched by their cross-correlation. The direct one is the one with the quieter pauses, or the one
// that the known response turns into the other.
func (s *Sorter) Identify(rec *capture.Recording, plays []placement.Play) []Identity {
	all := s.identify(rec, plays)
	for k := range all {
		all[k].Question = all[k].question()
	}
	return all
}

func (s *Sorter) identify(rec *capture.Recording, plays []placement.Play) []Identity {
	if s.Stimulus != nil {
		if rate := s.Stimulus.Signal().SampleRate(); plays == nil && rec.SampleRate != rate && rec.SampleRate > 0 {
			rec = rec.Resampled(rate)
		}
		if found := s.played(rec, plays); found != nil {
			return found
		}
	}
	found := s.sound(rec)
	if slices.ContainsFunc(found, func(c Candidate) bool { return c.Role == ThroughPiece }) {
		if several := s.severalPieces(rec); len(several) > 1 {
			return several
		}
	}
	return []Identity{{Candidates: found}}
}

// played identifies the plays of the stimulus in a recording; nil if there are none.
func (s *Sorter) played(rec *capture.Recording, plays []placement.Play) []Identity {
	if plays == nil {
		plays = s.plays(rec)
	}
	var all []Identity
	for _, p := range plays {
		one, err := s.play(p.Placement)
		if err != nil {
			continue
		}
		if one.CutShort = !p.Whole(); len(plays) > 1 {
			one.Play = p.Number
		}
		all = append(all, one)
	}
	if len(all) == 0 && len(s.Stimulus.Parts()) > 0 {
		return partsAlone(rec, s.Stimulus)
	}
	return all
}

// plays finds the plays of the stimulus in a recording.
func (s *Sorter) plays(rec *capture.Recording) []placement.Play {
	placed, err := placement.Locate(rec, s.Stimulus)
	if err != nil {
		return nil
	}
	// A recording of two plays is at least this long, without the silence at its ends.
	if silence := s.Stimulus.Find(sweep.Silence)[0]; rec.Len() > 2*(s.Stimulus.WholeLen()-2*silence.Len) {
		if plays, err := placed.Plays(); err == nil && len(plays) > 1 {
			return plays
		}
	}
	return []placement.Play{{Placement: placed, CutShort: math.NaN()}}
}

// play identifies one play of the stimulus.
func (s *Sorter) play(p *placement.Placement) (Identity, error) {
	out := Identity{Placed: p}
	if len(s.Stimulus.Parts()) > 0 {
		out.Missing, _ = partsIn(p.Recording, s.Stimulus, placement.FindParts(p.Recording, s.Stimulus))
	}
	sides, err := s.sides(p)
	if err != nil {
		return out, err
	}
	if copied(p) {
		out.Candidates = []Candidate{{Role: PlayedFile, Chance: 1, Left: sides.channel[0], Right: sides.channel[1],
			Why: "Between the sweeps all samples are zero, which happens in no recording."}}
		return out, nil
	}
	out.bands = sides.bands
	direct, why := s.directChance(sides.bands)
	if sides.channel[0] == 0 || sides.channel[1] == 0 {
		direct *= 0.9 // a direct recording has both, unless the interface has one input
	}
	out.Candidates = []Candidate{
		{Role: DirectSweep, Left: sides.channel[0], Right: sides.channel[1], Chance: direct, Why: why},
		{Role: ThroughSweep, Left: sides.channel[0], Right: sides.channel[1], Chance: 1 - direct, Why: why},
	}
	if heard := max(sides.channel[0], sides.channel[1]); sides.unsure { // one sweep, and its side is not known
		out.Candidates = []Candidate{out.Candidates[0],
			{Role: ThroughSweep, Left: heard, Chance: (1 - direct) / 2, Why: "Without timing marks the side " +
				"of a single sweep is not known."},
			{Role: ThroughSweep, Right: heard, Chance: (1 - direct) / 2, Why: "Without timing marks the " +
				"side of a single sweep is not known."}}
	}
	slices.SortStableFunc(out.Candidates, func(a, b Candidate) int { return cmp.Compare(b.Chance, a.Chance) })
	return out, nil
}

// partsAlone identifies a recording that holds only parts that follow the sweeps; nil if it holds
// none.
func partsAlone(rec *capture.Recording, st *sweep.Stimulus) []Identity {
	found := placement.FindParts(rec, st)
	missing, held := partsIn(rec, st, found)
	if len(held) == 0 {
		return nil
	}
	return []Identity{{Missing: missing, Candidates: []Candidate{{Role: PartAlone, Chance: 1,
		Why: fmt.Sprintf("It holds the part of the stimulus for %s, but not the sweeps before "+
			"it.", joinQuestions(held))}}}}
}

func joinQuestions(all []sweep.Question) string {
	var words []string
	for _, q := range all {
		words = append(words, string(q))
	}
	return strings.Join(words, ", ")
}

// partsIn returns the questions of a stimulus whose parts are missing in a recording, and those
// whose parts it holds whole.
func partsIn(rec *capture.Recording, st *sweep.Stimulus, found *placement.Parts) (missing, held []sweep.Question) {
	whole := map[sweep.Question]bool{}
	var order []sweep.Question
	for _, p := range st.Parts() {
		if p.Asks == "" || p.Kind == sweep.Mark {
			continue
		}
		at := found.At(p)
		is := at >= 0 && at+float64(p.Len)/float64(st.Signal().SampleRate()) <= rec.Duration()
		if before, seen := whole[p.Asks]; !seen {
			whole[p.Asks], order = is, append(order, p.Asks)
		} else {
			whole[p.Asks] = before && is
		}
	}
	for _, q := range order {
		if whole[q] {
			held = append(held, q)
		} else {
			missing = append(missing, q)
		}
	}
	return missing, held
}

// copied reports whether a placement is in the played file itself: its silence is digital silence,
// which a recorder leaves only after a gate, and its sweep equals the stimulus to the last bit.
func copied(p *placement.Placement) bool {
	for _, x := range p.Recording.Channels {
		run, longest := 0, 0
		for _, v := range x {
			if run++; v != 0 {
				run = 0
			}
			longest = max(longest, run)
		}
		if longest < p.Recording.SampleRate/4 {
			return false
		}
	}
	want := p.Stimulus.Signal().Samples()
	for k, c := range p.Channels {
		if math.IsNaN(c.Sweep) {
			continue
		}
		const reach, step = 300, 7 // samples; locating is accurate to a few milliseconds
		for shift := -reach; shift <= reach; shift++ {
			var dot, xx, ww float64
			x, from := p.Recording.Channels[k], int(math.Round(c.Sweep))+shift
			for i := max(0, -from); i < min(len(want), len(x)-from); i += step {
				v, w := x[from+i], want[i]
				dot, xx, ww = dot+w*v, xx+v*v, ww+w*w
			}
			if xx > 0 && ww > 0 && 1-dot*dot/xx/ww < 1e-5 {
				return true
			}
		}
		return false
	}
	return false
}
