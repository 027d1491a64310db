package placement

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/search"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

const (
	// minProminence is the level in dB by which the best match of the sweep must stand above the
	// median of all; noise reaches 17 dB.
	minProminence = 26
	// markStanding is the level in dB by which a mark must stand above the values around it; noise
	// reaches 17 dB.
	markStanding = 24
	// near is the distance in thinned samples within which the peak of a match is searched for.
	near = 2
	// farDrift is the largest difference of clocks, in parts per million, at which sounds are
	// searched for: larger than capture.MaxDrift, so that a larger one is measured and named.
	farDrift = 3 * capture.MaxDrift
)

// reference is a stimulus prepared for the search.
type reference struct {
	stimulus    *sweep.Stimulus
	step        int       // number of samples that are averaged into one
	length      int       // of the sweep, or of the sound played in its place, in samples
	sweep, mark []float64 // thinned; mark is nil if the stimulus has none
	// height and markHeight are the heights of the matches of sweep and mark with themselves, for
	// an amplitude of 1.
	height, markHeight float64
	later              []int // thinned samples from a side's first sweep to each of its repeats
	sounds             *search.Sounds
	chirps             func() *chirps // returns nil if less than one octave is compared
}

func newReference(st *sweep.Stimulus) *reference {
	s := st.Signal()
	step, samples := search.Step(s.SampleRate()), s.Samples()
	ref := &reference{stimulus: st, step: step, markHeight: 1, length: len(samples), sweep: search.Thin(samples, step)}
	// A sweep is as strong as a sine of this amplitude, except for its fades.
	amplitude := math.Sqrt(2 * statistic.MeanSquare(samples))
	if law := s.Law(); law != nil {
		amplitude = law.Amplitude()
	}
	ref.height = search.Self(ref.sweep) / amplitude
	repeats := st.Sweeps(sweep.Left)
	for _, r := range repeats[1:] {
		ref.later = append(ref.later, (r.Start-repeats[0].Start)/step)
	}
	if len(st.Find(sweep.Mark)) > 0 {
		ref.mark = search.Thin(st.Sweep().Mark(), step)
		ref.markHeight = search.Self(ref.mark) / amplitude
	}
	ref.sounds = search.NewSounds(ref.sweep, ref.mark)
	ref.chirps = sync.OnceValue(func() *chirps { return newChirps(st) })
	return ref
}

// match matches a channel with the sweep and with the mark. It returns nil if the channel is too
// short or constant.
func (ref *reference) match(x []float64) *match {
	if len(x) < ref.step || constant(x) {
		return nil
	}
	m := ref.sounds.Match(x, ref.step)
	return newMatch(m[0], m[1])
}

// check returns an error for a channel that is too short for a sweep, or in which every sample has
// the same value.
func (ref *reference) check(x []float64) error {
	if fs := float64(ref.stimulus.Signal().SampleRate()); len(x) < ref.length/2 {
		return fmt.Errorf("%w: %.2f s of recording, %.2f s of sweep; record the whole stimulus",
			response.ErrTooShort, float64(len(x))/fs, float64(ref.length)/fs)
	}
	if constant(x) {
		return fmt.Errorf("%w: every sample has the same value; check that the input was connected and armed",
			response.ErrSilent)
	}
	return nil
}

// place finds the stimulus in a channel by its match, which may be nil.
func (ref *reference) place(x []float64, m *match) Place {
	p := Place{Sweep: nowhere, Marks: [2]float64{nowhere, nowhere}, LoneMark: nowhere, match: m}
	if p.err = ref.check(x); p.err == nil {
		p.firsts, p.err = ref.firsts(m)
	}
	if m == nil {
		return p
	}
	l := newListener(ref, x, m)
	best, height := l.sweep()
	if !(decibel.OfAmplitude(height/m.median) >= minProminence) {
		if at, standing := ref.markIn(m.marks, 0, len(m.marks)); standing >= markStanding {
			p.LoneMark = float64(at * ref.step)
		}
		return p
	}
	p.Sweep = float64(ref.step) * search.Peak(m.sweep, best)
	reach := duration.Samples(responseReach, ref.stimulus.Signal().SampleRate()) / ref.step
	p.Response = search.Cut(m.sweep, best-reach, best+reach+1)
	if m.marks != nil {
		p.findMarks(m.marks, ref)
	}
	return p
}

// firsts returns the positions of the first sweep of the left and of the right side: the earliest
// and the latest of the matches of similar height (within 6 dB), which tells the sides apart if one
// channel holds both, each at the highest match within 20 ms.
func (ref *reference) firsts(m *match) (at [2]float64, err error) {
	match := m.sweep
	top := search.Magnitude(match, search.Strongest(match, 0, len(match)))
	if p := decibel.OfAmplitude(top / m.median); !(p >= minProminence) {
		return at, fmt.Errorf("%w: the best match for the sweep stands %.0f dB above the rest, "+
			"a sweep's stands %d dB and more; "+
			"check that this is a recording of the stimulus, and of the side it is said to be",
			response.ErrNoPeak, p, minProminence)
	}
	least := m.median * decibel.Amplitude(minProminence-1)
	most := least
	score := func(i int) float64 { return ref.weakest(match, i, search.Magnitude(match, i), 0.49*most) }
	peaks := peaksOf(match)
	for _, i := range peaks {
		most = max(most, score(i))
	}
	if most == least {
		return at, fmt.Errorf("%w: the sweep is there, but not %d times at the distances of the stimulus; "+
			"check that the whole stimulus was recorded, and that no samples are missing",
			response.ErrNoPeak, len(ref.later)+1)
	}
	similar := func(i int) bool { return score(i) >= most/2 }
	earliest := peaks[slices.IndexFunc(peaks, similar)]
	slices.Reverse(peaks)
	latest := peaks[slices.IndexFunc(peaks, similar)]
	for k, pick := range []int{earliest, latest} {
		peak := search.Strongest(match, pick-peakApart, pick+peakApart)
		at[k] = float64(ref.step) * search.Peak(match, peak)
	}
	return at, nil
}

// weakest returns the height of the weakest of a side's repeats, the first of which begins at i and
// has the height first. (A shift by one repeat matches all but one.) It may stop once the result is
// at most enough.
func (ref *reference) weakest(match []float64, i int, first, enough float64) float64 {
	for _, later := range ref.later {
		if first <= enough {
			break
		}
		first = min(first, highest(match, i+later, drifted(later)))
	}
	return first
}

// best returns the position at which the sweeps of a side match best, and the height of the weakest
// of the repeats there. It returns 0 if no height exceeds least.
func (ref *reference) best(match []float64, least float64) (best int, height float64) {
	height = least
	for _, i := range peaksOf(match) {
		if low := ref.weakest(match, i, math.Abs(match[i]), height); low > height {
			best, height = i, low
		}
	}
	if height == least {
		return 0, 0
	}
	return best, height
}

// markIn returns the best match of the mark within a stretch, and the level in dB by which it
// stands above the values within 0.2 s of it.
func (ref *reference) markIn(match []float64, from, to int) (at int, standing float64) {
	if at = search.Strongest(match, from, to); at < 0 {
		return at, 0
	}
	return at, search.Standing(match, at, ref.stimulus.Signal().SampleRate()/5/ref.step)
}

// otherSide returns the level in dB of the other side's sweep in a channel, re that of its own.
func (ref *reference) otherSide(p Place, m *match) float64 {
	if p.Side == 0 || p.Response == nil {
		return nowhere
	}
	left, right := ref.stimulus.Sweeps(sweep.Left)[0].Start, ref.stimulus.Sweeps(sweep.Right)[0].Start
	apart := right - left
	if p.Side == sweep.Right {
		apart = -apart
	}
	at, reach := (int(p.Sweep)+apart)/ref.step, drifted(apart/ref.step)
	if peak := search.Strongest(m.sweep, at-reach, at+reach+1); peak >= 0 {
		at = peak
	}
	other := ref.weakest(m.sweep, at, highest(m.sweep, at, near), 0)
	if apart == 0 || !(decibel.OfAmplitude(other/m.median) >= minProminence) {
		return nowhere
	}
	return decibel.OfAmplitude(other / math.Abs(p.Response[len(p.Response)/2]))
}

// listener is a channel in which the first sweep is searched for.
type listener struct {
	ref  *reference
	x    []float64
	mean float64
	*match
}

func newListener(ref *reference, x []float64, m *match) *listener {
	l := &listener{ref: ref, x: x, match: m}
	l.mean = floats.Sum(x) / float64(len(x))
	return l
}

// sweep returns the position of the best match with the sweep, and the height of its weakest
// repeat. A mark also matches, weakly, and may be all that a channel holds. So a match is rejected
// if a stronger timing mark lies inside it, or if the level for most of a sweep's length is more
// than 20 dB below the level that the match implies.
func (l *listener) sweep() (best int, height float64) {
	const tries = 4
	ref, left := l.ref, l.match.sweep
	least := l.median * decibel.Amplitude(minProminence-1)
	// On another clock the match is spread over the difference in the sweep's length.
	reach := near + int(capture.MaxDrift*1e-6*float64(len(ref.sweep)))
	for range tries {
		if best, height = ref.best(left, least); height == 0 {
			return 0, 0
		}
		during := l.levelDuring(best*ref.step, ref.length)
		expected := floats.Norm(search.Within(l.match.sweep, best-reach, best+reach+1), 2) / ref.height / math.Sqrt2
		at, standing := ref.markIn(l.marks, best, best+len(ref.sweep))
		mark := search.Magnitude(l.marks, at) / ref.markHeight / math.Sqrt2
		// The sweep itself matches a mark, smeared in time, and through some filters strongly.
		smeared := standing < markStanding && expected > during/2
		switch {
		case 3*expected < mark && !smeared || during < expected/10:
		case expected < during/2 && l.otherRate(decibel.OfAmplitude(height/l.median)+6) != 0:
			return 0, 0 // it matches, but another speed matches better
		default:
			return best, height
		}
		beside := ref.stimulus.Signal().SampleRate() / 4 / ref.step
		rejected := search.Within(left, best-beside, best+beside)
		defer copy(rejected, slices.Clone(rejected)) // its values are needed after the search
		clear(rejected)
	}
	return 0, 0
}

// levelDuring returns the median rms of the frames of 10 ms in a stretch, about the mean of the
// channel, or NaN if there are no frames.
func (l *listener) levelDuring(from, length int) float64 {
	frame := max(1, l.ref.stimulus.Signal().SampleRate()/100)
	var levels []float64
	first := from / frame
	for k := first; k < min(len(l.x)/frame, first+length/frame); k++ {
		var square float64
		for _, v := range l.x[k*frame : (k+1)*frame] {
			square += (v - l.mean) * (v - l.mean)
		}
		levels = append(levels, math.Sqrt(square/float64(frame)))
	}
	return statistic.Median(levels)
}

// otherRate returns the rate at which the sweep stands out by more than least dB and is as strong
// as the sound there, or 0 if there is none.
func (l *listener) otherRate(least float64) (rate int) {
	s, step := l.ref.stimulus.Sweep(), l.ref.step
	if s == nil || len(l.x) < step {
		return 0
	}
	for _, recorded := range []int{44100, 48000, 88200, 96000} {
		speed := float64(s.SampleRate()) / float64(recorded)
		if speed == 1 || speed > 2 || speed < 0.5 {
			continue
		}
		stop := min(s.Stop()*speed, float64(s.SampleRate())/2)
		lasts := s.TimeConstant() / speed * math.Log(stop/(s.Start()*speed))
		other, err := sweep.New(sweep.Config{Start: s.Start() * speed, Stop: stop, SampleRate: s.SampleRate(),
			Duration: time.Duration(lasts * float64(time.Second))})
		if err != nil {
			continue
		}
		sound := search.Thin(other.Samples(), step)
		match := search.NewSounds(sound).Match(l.x, step)[0]
		at := search.Strongest(match, 0, len(match))
		expected := search.Magnitude(match, at) / search.Self(sound) / math.Sqrt2 // Self is for an amplitude of 1
		p := decibel.OfAmplitude(search.Magnitude(match, at) / search.MedianMagnitude(match))
		during := l.levelDuring(at*step, other.Len())
		// A chance match with a sweep's edge or a mark is far weaker than the sound there, or lies
		// in silence.
		if p > least && during/2 < expected && expected < 2*during {
			rate, least = recorded, p
		}
	}
	return rate
}

// findMarks looks for the timing marks twice: at their places around the left sweep, and at their
// places around the right sweep. It allows for 0.1 s, since missing blocks between the marks move
// them, and for a drift. The side with the more prominent marks is that of the sweep.
func (p *Place) findMarks(match []float64, ref *reference) {
	slack := ref.stimulus.Signal().SampleRate() / 10 / ref.step
	most := 0.0
	for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
		marks, sum := [2]float64{nowhere, nowhere}, 0.0
		for k, m := range ref.stimulus.Find(sweep.Mark) {
			apart := m.Start - ref.stimulus.Sweeps(side)[0].Start
			expected, reach := (int(p.Sweep)+apart)/ref.step, slack+drifted(apart/ref.step)
			i, height := ref.markIn(match, expected-reach, expected+reach)
			if height >= markStanding {
				marks[k] = float64(ref.step) * search.Peak(match, i)
				sum += height
			}
		}
		if sum > most {
			most, p.Side, p.Marks = sum, side, marks
		}
	}
}

// OtherRate looks in a channel, counted from 1, for the sweep at another speed: the file is
// labelled with a sample rate at which it was not recorded. It returns the rate in Hz at which it
// was recorded. It returns 0 if no rate fits, and for a stimulus that was not searched for. A
// channel that is not there panics.
func (p *Placement) OtherRate(channel int) int {
	if p.ref == nil {
		return 0
	}
	x := p.Recording.Channels[channel-1]
	if rate := p.ref.rateByRepeats(x); rate != 0 && rate != p.Recording.SampleRate {
		return rate
	}
	return newListener(p.ref, x, nil).otherRate(minProminence)
}

// lastReference is the reference of the latest stimulus. All recordings of a session have the same
// one.
var lastReference atomic.Pointer[reference]

// referenceOf returns the reference of a stimulus, made anew if it is not that of the last one.
func referenceOf(st *sweep.Stimulus) *reference {
	if ref := lastReference.Load(); ref != nil && ref.stimulus == st {
		return ref
	}
	ref := newReference(st)
	lastReference.Store(ref)
	return ref
}

func newMatch(sweep, marks []float64) *match {
	return &match{sweep, marks, search.MedianMagnitude(sweep)}
}

func constant(x []float64) bool {
	return !slices.ContainsFunc(x, func(v float64) bool { return v != x[0] })
}

// peakApart is the distance of peaks that are told apart, in thinned samples: 20 ms.
const peakApart = 120

// peaksOf returns the highest sample of every 20 ms of a match.
func peaksOf(match []float64) (at []int) {
	for from := 0; from < len(match); from += peakApart {
		at = append(at, search.Strongest(match, from, from+peakApart))
	}
	return at
}

// drifted returns by how many thinned samples a sound may be off its place if it was played `apart`
// after another one.
func drifted(apart int) int { return near + int(farDrift*1e-6*math.Abs(float64(apart))) }

// highest returns the largest magnitude within reach of i.
func highest(x []float64, i, reach int) float64 {
	top := 0.0
	for _, v := range search.Within(x, i-reach, i+reach+1) {
		top = max(top, math.Abs(v))
	}
	return top
}
