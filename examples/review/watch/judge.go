package watch

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"path/filepath"
	"runtime/debug"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/regular"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// take is a recording, or one play in a recording of several plays.
type take struct {
	file     string
	identity review.Identity
	chosen   *review.Candidate // by the reviewer, or by the session file
	bySheet  bool              // the session file says what it is

	peak         float64 // dBFS, of the channels used; NaN if not known, and for silence
	findings     []response.Finding
	curves       map[sweep.Side]response.Curve // of the headphones alone, without components
	sparse       map[sweep.Side]response.Curve // the same with components, at a few frequencies
	bench        *review.Bench                 // made from a direct recording
	resampled    bool                          // recorded at another rate than the stimulus
	use          bool                          // the reviewer accepts it despite a doubt
	leak         float64                       // loss of bass re the seatings before, dB; NaN if there are none
	sameAs       string                        // another file with the same bytes
	contradicted string                        // contradiction between the session file and the content
}

// is returns the role of the take, as far as it is known.
func (t *take) is() review.Candidate {
	if t.chosen != nil {
		return *t.chosen
	}
	return t.identity.Candidates[0]
}

// asked reports whether the reviewer has to choose the role.
func (t *take) asked() bool { return t.chosen == nil && !t.spoilt() && t.identity.Question != "" }

// spoilt reports whether the take is unfit in any role.
func (t *take) spoilt() bool {
	return slices.ContainsFunc(t.findings, func(f response.Finding) bool {
		return f.Severity == response.Unfit && slices.Contains([]response.FindingKind{fitness.Clipping, fitness.FlatTops,
			fitness.NoSamples, fitness.SilentChannel, placement.CutTail}, f.Kind)
	})
}

// bySession takes the role of a file from the session file, which has priority over its content.
func (t *take) bySession(named []session.Recorded) {
	heard := t.identity.Candidates[0]
	var said *review.Candidate
	for _, n := range named {
		if n.Play != 0 && n.Play != t.identity.Play || heard.To > 0 && n.With != heard.With {
			continue
		}
		if said != nil && said.Role == n.Role { // one file for both sides
			said.Left, said.Right = max(said.Left, n.Left), max(said.Right, n.Right)
			continue
		}
		said = &n.Candidate
	}
	if said == nil {
		return
	}
	t.chosen, t.bySheet, t.contradicted = said, true, ""
	if t.identity.Question == "" && (heard.Role != said.Role || said.Role == review.ThroughSweep &&
		(said.Left > 0) != (heard.Left > 0)) {
		t.contradicted = fmt.Sprintf("session.toml calls it %v, but its content is %v", said, heard)
	}
}

// judgeDirect judges a direct recording and, if it is fit, makes the bench from it.
func (t *take) judgeDirect(p *placement.Placement, draft *session.Draft, rig string) {
	is := t.is()
	is.Left, is.Right = max(is.Left, 1), max(is.Right, is.Left)
	t.level(p.Recording, is)
	bench, err := draft.Bench(rig)
	if err != nil {
		t.add(p.Recording.Name, "the bench is not ready: "+err.Error(), "correct that in session.toml")
		return
	}
	found, err := bench.Direct(channels(p, is))
	t.findings = append(t.findings, found...)
	switch {
	case err == nil:
		t.bench = bench
	case !errors.Is(err, fitness.ErrUnfit):
		t.add(p.Recording.Name, err.Error(), "")
	}
}

// judgeThrough judges a recording of the pair, with the bench if there is one.
func (t *take) judgeThrough(p *placement.Placement, bench *review.Bench, before map[sweep.Side][]response.Curve) {
	is := t.is()
	t.level(p.Recording, is)
	if bench == nil {
		t.inspect(p)
		return
	}
	pair := bench.Pair(review.About{})
	found, err := pair.Seat(review.Seating{Name: t.file, Channels: channels(p, is)})
	t.findings = append(t.findings, found...)
	if err != nil {
		if !errors.Is(err, fitness.ErrUnfit) {
			t.add(p.Recording.Name, err.Error(), "")
		}
		return
	}
	results, err := pair.Measure()
	if err != nil {
		t.add(p.Recording.Name, err.Error(), "")
		return
	}
	t.curves, t.sparse = map[sweep.Side]response.Curve{}, map[sweep.Side]response.Curve{}
	for side, s := range map[sweep.Side]*review.Side{sweep.Left: results.Left, sweep.Right: results.Right} {
		if s == nil {
			continue
		}
		whole := s.Seatings[0].Response
		t.sparse[side] = thinned(whole)
		whole.Components = nil // of 500 recordings they would take half a gigabyte
		t.curves[side] = whole
		t.leak = statistic.Largest(t.leak, bassLost(s.Seatings[0].Response, before[side]))
	}
}

// inspect runs only the detectors.
func (t *take) inspect(p *placement.Placement) {
	is, sides := t.is(), make([]sweep.Side, len(p.Recording.Channels))
	for k := range sides {
		switch k + 1 {
		case is.Left:
			sides[k] = sweep.Left
		case is.Right:
			sides[k] = sweep.Right
		}
	}
	if is.Left == is.Right || p.Stimulus == nil {
		sides = nil
	}
	t.findings = append(t.findings, fitness.Inspect(p, fitness.Config{Sides: sides}).Findings...)
	t.level(p.Recording, is)
}

// level measures the peak of the channels used.
func (t *take) level(rec *capture.Recording, is review.Candidate) {
	var top float64
	for k, x := range rec.Channels {
		if is.Left == k+1 || is.Right == k+1 || is.Left+is.Right == 0 {
			top = max(top, floats.Norm(x, math.Inf(1)))
		}
	}
	t.peak = decibel.OfAmplitude(top)
}

func (t *take) add(name, what, remedy string) {
	t.findings = append(t.findings, response.Finding{Recording: name, Kind: "not measured", Severity: response.Unfit,
		What: what, Remedy: remedy})
}

// worst returns the most severe finding; nil if there is none above a note.
func (t *take) worst() *response.Finding {
	all := slices.Clone(t.findings)
	slices.SortStableFunc(all, func(a, b response.Finding) int { return int(b.Severity) - int(a.Severity) })
	if len(all) == 0 || all[0].Severity == response.Note {
		return nil
	}
	return &all[0]
}

// fit reports whether the take may be measured.
func (t *take) fit() bool {
	w := t.worst()
	return w == nil || w.Severity < response.Unfit
}

// counts reports whether the take is part of the review: its role is known, it is fit, and it is
// loud enough or accepted by the reviewer.
func (t *take) counts() bool {
	if t.asked() || !t.fit() || t.sameAs != "" || t.identity.CutShort {
		return false
	}
	return t.use || t.bySheet || !t.soft() && !t.leaks()
}

// soft reports whether the pair was played too softly.
func (t *take) soft() bool { return t.is().Role == review.ThroughSweep && t.peak < softest }

// leaks reports whether a seating has lost bass re those before.
func (t *take) leaks() bool { return t.leak > mostLost }

// large is the size in bytes from which a file is searched block by block.
const large = 64 << 20

// judge reads and judges a file. It does not hold the mutex meanwhile. Only judge uses the sorter.
func (d *desk) judge(f file) file {
	d.mutex.Lock()
	stimulus, bench, draft, rig, sorter := d.stimulus, d.bench, d.draft, d.rigName, d.sorter
	before, answers, used := d.seatings(), maps.Clone(d.answers), maps.Clone(d.used)
	sums := map[string]string{}
	for _, other := range d.files {
		if other.name != f.name && other.judged && !other.gone {
			sums[other.sum] = other.name
		}
	}
	d.mutex.Unlock()
	f.takes, f.problem, f.forbidden = nil, "", false
	path := filepath.Join(d.folder, f.name)
	sum, err := regular.Sum(path)
	if err != nil {
		f.problem, f.forbidden = unreadable(err), errors.Is(err, fs.ErrPermission)
		return f
	}
	f.sum = string(sum[:])
	rec, plays, err := read(path, f.size, stimulus)
	if rec == nil && plays == nil {
		f.problem = unreadable(err)
		return f
	}
	if rec == nil {
		rec = plays[0].Recording
	}
	recorded := rec
	if stimulus != nil && rec.SampleRate != stimulus.Signal().SampleRate() {
		recorded = rec.Resampled(stimulus.Signal().SampleRate())
		recorded.Name = rec.Name
	}
	for _, identity := range sorter.Identify(recorded, plays) {
		t := &take{file: f.name, identity: identity, peak: math.NaN(), leak: math.NaN(),
			sameAs: sums[f.sum], resampled: recorded != rec}
		names := draft.Names(f.name)
		f.named = fmt.Sprint(names)
		t.bySession(names)
		t.use = used[answerKey(&f, t)]
		if c, told := answers[answerKey(&f, t)]; told {
			t.chosen = &c
		}
		if errors.Is(err, capture.ErrTruncated) {
			t.findings = append(t.findings, response.Finding{Recording: f.name, Kind: placement.CutTail,
				Severity: response.Unfit,
				What: "the file is shorter than its header says: the recorder or the copying was " +
					"stopped", Remedy: "record or copy it again"})
		}
		placed := identity.Placed
		if placed == nil {
			placed = &placement.Placement{Recording: recorded}
		}
		switch is := t.is(); is.Role {
		case review.DirectSweep:
			t.judgeDirect(placed, draft, rig)
			if bench == nil {
				bench = t.bench
			}
		case review.ThroughSweep:
			t.judgeThrough(placed, bench, before)
		case review.PlayedFile, review.PartAlone, review.NothingToReview:
		default:
			t.inspect(placed)
		}
		if !t.asked() && t.fit() {
			sorter.Learn(recorded, identity, t.is())
		}
		t.identity.Placed = nil // it holds the recording in memory
		f.takes = append(f.takes, t)
	}
	debug.FreeOSMemory() // otherwise the memory of one recording adds to that of the next
	return f
}

// read reads a file. It reads a long one block by block, to find its plays.
func read(path string, size int64, stimulus *sweep.Stimulus) (*capture.Recording, []placement.Play, error) {
	if size > large && stimulus != nil {
		if plays, err := placement.ReadPlays(path, stimulus); err == nil {
			return nil, plays, nil
		}
	}
	rec, err := capture.Read(path)
	return rec, nil, err
}

// channels returns the channels of a play by side.
func channels(p *placement.Placement, is review.Candidate) review.Channels {
	var out review.Channels
	placed := p
	if len(p.Channels) == 0 {
		placed = nil // it is searched for
	}
	if is.Left > 0 {
		out.Left = review.Channel{Recording: p.Recording, Placement: placed, Number: is.Left}
	}
	if is.Right > 0 {
		out.Right = review.Channel{Recording: p.Recording, Placement: placed, Number: is.Right}
	}
	return out
}

// thinned returns the curve at points a sixth of an octave apart, enough for a median over
// frequency.
func thinned(c response.Curve) response.Curve {
	var at []int
	for i, f := range c.Frequency {
		if len(at) == 0 || f >= c.Frequency[at[len(at)-1]]*math.Pow(2, 1./6) {
			at = append(at, i)
		}
	}
	few := func(x []float64) (out []float64) {
		if x == nil {
			return nil
		}
		for _, i := range at {
			out = append(out, x[i])
		}
		return out
	}
	components := c.Components
	c.Frequency, c.Level, c.Uncertainty, c.Components = few(c.Frequency), few(c.Level), few(c.Uncertainty), nil
	for _, component := range components {
		effects := make([][]float64, len(component.Effects))
		for k, effect := range component.Effects {
			effects[k] = few(effect)
		}
		component.Effects = effects
		c.Components = append(c.Components, component)
	}
	return c
}

// bassLost returns the loss in dB of a seating's bass, 40 to 150 Hz re 300 Hz to 2 kHz, relative to
// the best seating before; NaN if there is none.
func bassLost(c response.Curve, before []response.Curve) float64 {
	bass := func(c response.Curve) float64 {
		return c.MeanOver(response.Band{Low: 40, High: 150}) - c.MeanOver(response.Band{Low: 300, High: 2000})
	}
	most := math.NaN()
	for _, b := range before {
		most = statistic.Largest(most, bass(b)-bass(c))
	}
	return most
}

const (
	softest  = -30 // dBFS peak: 14 bits of 24 are left, and a room's noise 30 dB below
	mostLost = 4   // dB; seatings differ by 1.5 dB there (package response, usualScatter)
)
