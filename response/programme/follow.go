package programme

import (
	"math"

	"example.com/earnest/response/capture"
)

const (
	// mostAnchors is at how many places the delay is followed.
	mostAnchors = 16
	// jumpReach is how far in seconds a piece may have moved and still be
	// found nearby, where it costs little.
	jumpReach = 2.0
	// nearby is the slack in seconds within which a place is first looked for.
	nearby = 0.05
)

// follow goes from the first match to both ends of what is shared and returns
// the line on which the delays lie, to within a thinned sample or so.
//
// It gives a *CutError when they do not lie on one.
func (t *thinned) follow(first match, name string, sampleRate int) (line, error) {
	found := t.matches(first, sampleRate)
	fs := float64(sampleRate)
	missing := 0
	var last *match
	var fromHere, lags []float64
	for i := range found {
		m := &found[i]
		if m.prominence < minProminence-4 {
			missing++
			continue
		}
		if last != nil && t.jumped(*last, *m) {
			return line{}, t.cut(*last, *m, name, fs)
		}
		if missing >= 2 && last == nil || missing >= 4 {
			return line{}, &CutError{Name: name, At: float64(m.at) / fs, Within: float64(t.excerpt*t.step) / fs, Jump: math.NaN()}
		}
		missing, last = 0, m
		fromHere, lags = append(fromHere, float64(m.at)), append(lags, m.lag)
	}
	if missing >= 2 && last != nil {
		return line{}, &CutError{Name: name, At: float64(last.at+t.excerpt*t.step/2) / fs, Within: float64(t.excerpt*t.step) / fs, Jump: math.NaN()}
	}
	if len(lags) < 2 {
		return line{lag: first.lag}, nil
	}
	l, _ := straight(fromHere, lags, nil)
	if math.Abs(l.slope) > 2*capture.MaxDrift*1e-6 || (fromHere[len(lags)-1]-fromHere[0])*1e-5 < 1 {
		// Too near each other to tell a drift from the coarseness of the lags.
		l = line{lag: mean(lags)}
	}
	return l, nil
}

// matches seeks places spread evenly over what is shared, the quiet ones left
// out, in their order.
func (t *thinned) matches(first match, sampleRate int) []match {
	lag := first.lag / float64(t.step)
	begin, end := max(0, int(-lag)), min(len(t.direct), int(float64(len(t.through))-lag))
	n := min(mostAnchors, (end-begin)/t.excerpt)
	if n < 2 {
		return []match{first}
	}
	var loudest float64
	starts := make([]int, n)
	for i := range starts {
		starts[i] = begin + (end-begin-t.excerpt)*i/(n-1)
		loudest = max(loudest, t.energy(starts[i]))
	}
	var found []match
	for _, start := range starts {
		if t.energy(start) < 1e-4*loudest {
			continue
		}
		at := (start + t.excerpt/2) * t.step
		drift := capture.MaxDrift * 1e-6 * math.Abs(float64(at-first.at))
		m := t.near(at, first.lag, int(drift+nearby*float64(sampleRate)))
		if m.prominence < minProminence-4 {
			m = t.near(at, first.lag, int(jumpReach*float64(sampleRate)))
		}
		if m.prominence < minProminence {
			if far := t.find(start, 0, len(t.through)); far.prominence >= minProminence {
				m = far
			}
		}
		found = append(found, m)
	}
	return found
}

// jumped tells whether the delay changes more from one match to the next than
// a drift does.
func (t *thinned) jumped(a, b match) bool {
	return math.Abs(b.lag-a.lag) > 1.5*capture.MaxDrift*1e-6*float64(b.at-a.at)+2*float64(t.step)
}

// cut finds where between two matches the recording jumps, by halving the
// stretch between them.
func (t *thinned) cut(a, b match, name string, fs float64) error {
	short := *t
	short.excerpt = max(64, min(t.excerpt, int(fs)/t.step/2)) // half a second
	reach := int(math.Abs(b.lag-a.lag)) + 20*t.step
	for b.at-a.at > short.excerpt*t.step {
		m := short.near((a.at+b.at)/2, a.lag, reach)
		if m.prominence < minProminence-6 {
			break
		}
		if m.at = (a.at + b.at) / 2; math.Abs(m.lag-a.lag) < math.Abs(m.lag-b.lag) {
			a.at = m.at
		} else {
			b.at = m.at
		}
	}
	return &CutError{Name: name, At: float64(a.at+b.at) / 2 / fs,
		Within: float64(b.at-a.at)/2/fs + float64(short.excerpt*t.step)/2/fs, Jump: (b.lag - a.lag) / fs}
}

func mean(x []float64) (m float64) {
	for _, v := range x {
		m += v / float64(len(x))
	}
	return m
}
