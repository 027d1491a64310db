package programme

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response/capture"
)

const (
	// mostAnchors is the greatest number of stretches at which the delay is followed.
	mostAnchors = 16
	// jumpReach is the largest jump in seconds that is searched for near the expected lag, which is
	// cheap.
	jumpReach = 2.0
	// followSeconds is the length of the stretches that are followed.
	followSeconds = 2.0
	// mostSearches is the greatest number of stretches that are searched for in the whole
	// recording when they are not found nearby.
	mostSearches = 4
	// nearby is the distance in seconds from the expected lag that is searched first.
	nearby = 0.05
)

// follow goes from the first match to both ends of the shared stretch and returns the line on which
// the delays lie, to within about a sample of the decimated recordings. The error is a *cutError if
// they do not lie on one line.
func (t *decimated) follow(first match, name string, sampleRate int) (line, error) {
	shorter := *t
	shorter.excerpt = min(t.excerpt, int(followSeconds*float64(sampleRate))/t.step)
	return shorter.followed(first, name, sampleRate, true)
}

// followed does the work of follow. It begins again, once, if another match explains the whole
// recording better.
func (t *decimated) followed(first match, name string, sampleRate int, mayMove bool) (line, error) {
	found := t.matches(first, sampleRate)
	fs := float64(sampleRate)
	missing := 0
	last := (*match)(nil)
	var fromHere, lags []float64
	for i := range found {
		m := &found[i]
		// The material has the same order in both recordings: a match that goes back in time is an
		// earlier passage that sounds the same.
		backwards := last != nil && float64(m.at)+m.lag < float64(last.at)+last.lag
		if m.prominence < minProminence-4 || backwards {
			missing++
			continue
		}
		if last != nil && t.jumped(*last, *m) {
			if i+1 < len(found) && t.jumped(*m, found[i+1]) {
				missing++ // the next match does not confirm it
				continue
			}
			cut, second := t.isCut(*last, *m, fs)
			switch {
			case cut:
				return line{}, t.cut(*last, *m, name, fs)
			case second && mayMove: // the first match was a repeat of this passage
				return t.followed(*m, name, sampleRate, false)
			}
			continue // a passage that sounds the same
		}
		if (missing >= 2 && last == nil || missing >= 4) && t.isMissing(found, i, fs) {
			return line{}, &cutError{Name: name, At: float64(m.at) / fs, Within: float64(t.excerpt*t.step) / fs,
				Jump: math.NaN()}
		}
		missing, last = 0, m
		fromHere, lags = append(fromHere, float64(m.at)), append(lags, m.lag)
	}
	if missing >= 2 && last != nil && t.isMissing(found, len(found), fs) {
		return line{}, &cutError{Name: name, At: float64(last.at+t.excerpt*t.step/2) / fs,
			Within: float64(t.excerpt*t.step) / fs, Jump: math.NaN()}
	}
	if len(lags) < 2 {
		return line{lag: first.lag}, nil
	}
	l, _ := straight(fromHere, lags, nil)
	if math.Abs(l.slope) > 2*capture.MaxDrift*1e-6 || (fromHere[len(lags)-1]-fromHere[0])*1e-5 < 1 {
		// The matches are too close together for an estimate of the drift.
		l = line{lag: stat.Mean(lags, nil)}
	}
	if at, ends := t.endIsMissing(l, fromHere[len(lags)/2], fs); ends {
		return line{}, &cutError{Name: name, At: at, Within: 2 * frameSeconds, Jump: math.NaN()}
	}
	return l, nil
}

// endIsMissing reports whether the recording goes on and does not hold the end of the material: two
// frames at least, loud ones, that the delays do not explain. Something is missing or doubled
// shortly before, or whole bars of a loop are missing somewhere. It also returns the time in
// seconds of the direct recording at which the end begins. If the recording sounds before the
// material begins, the material may be a loop that was matched a bar late, and nothing is missing.
func (t *decimated) endIsMissing(delays line, found, fs float64) (at float64, missing bool) {
	const fewest = 2
	rate := fs / float64(t.step)
	begins := min(len(t.through), max(0, int(delays.at(0))/t.step))
	before := t.through[max(0, begins-int(rate)):max(0, begins-int(rate/20))]
	if float64(len(before)) > rate/5 && statistic.MeanSquare(before) > 0.05*statistic.MeanSquare(t.through[begins:]) {
		return 0, false
	}
	e := t.explain(fs, delays, 0, math.MaxInt)
	nats, loud := e.nats(delays, found, math.MaxInt), e.standing()
	n := e.plan.Len()
	var of []float64
	for _, v := range nats {
		if v > 0 {
			of = append(of, v)
		}
	}
	if len(of) == 0 {
		return 0, false
	}
	usual, mean, frames := statistic.Median(of), floats.Sum(loud)/float64(len(loud)), 0
	for k := len(nats) - 1; k >= 0; k-- {
		end := (k + 1) * n
		if float64(end)+delays.at(float64(end*e.step))/float64(e.step) > float64(len(t.through)) ||
			!(loud[k] > max(mean/4, 0.2)) {
			continue
		}
		if nats[k] > usual/10 {
			break
		}
		frames, at = frames+1, float64(k*n*e.step)/fs
	}
	return at, frames >= fewest
}

// isMissing reports whether a part of the material was played but is not in the recording. The part
// is that from the last match before index before to the match at it, or to the end. It is missing
// if the lag of the best match explains fewer than half of the frames that should stand above the
// noise there.
func (t *decimated) isMissing(found []match, before int, fs float64) bool {
	var best match
	best.prominence = math.Inf(-1)
	for _, m := range found {
		if m.prominence > best.prominence {
			best = m
		}
	}
	e := t.explain(fs, line{lag: best.lag}, 0, math.MaxInt)
	nats := e.nats(line{lag: best.lag}, float64(best.at), math.MaxInt)
	n := e.plan.Len()
	loud := e.standing()
	var of []float64
	for _, v := range nats {
		if v > 0 {
			of = append(of, v)
		}
	}
	if len(of) == 0 {
		return true
	}
	usual, mean := statistic.Median(of), floats.Sum(loud)/float64(len(loud))
	held, all := 0, 0
	from, to := 0, len(nats)
	for i := before - 1; i >= 0; i-- {
		if found[i].prominence >= minProminence-4 {
			from = (found[i].at/t.step + t.excerpt/2) / n
			break
		}
	}
	if before < len(found) {
		to = min(to, found[before].at/t.step/n)
	}
	for k := from; k < to; k++ {
		if loud[k] > max(mean/4, 0.2) {
			all++
			if nats[k] > usual/10 {
				held++
			}
		}
	}
	return all > 0 && 2*held < all
}

// matches searches for stretches spread evenly over the shared part, except quiet ones, and returns
// them in order.
func (t *decimated) matches(first match, sampleRate int) []match {
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
	searches := 0
	for _, start := range starts {
		if t.energy(start) < 1e-4*loudest {
			continue
		}
		at := (start + t.excerpt/2) * t.step
		drift := capture.MaxDrift * 1e-6 * math.Abs(float64(at-first.at))
		m := t.near(at, first.lag, int(drift+nearby*float64(sampleRate)))
		if m.prominence < minProminence-4 {
			// A tune that repeats itself also matches in other places, but less well.
			enough := max(minProminence, first.prominence-6)
			moved := t.near(at, first.lag, int(jumpReach*float64(sampleRate)))
			if moved.prominence < enough && searches < mostSearches {
				searches++
				moved = t.find(start, 0, len(t.through))
			}
			if moved.prominence >= enough {
				m = moved
			}
		}
		found = append(found, m)
	}
	return found
}

// jumped reports whether the delay changes more between two matches than clocks can drift.
func (t *decimated) jumped(a, b match) bool {
	return math.Abs(b.lag-a.lag) > 1.5*capture.MaxDrift*1e-6*float64(b.at-a.at)+2*float64(t.step)
}

// cut returns the error for a jump between two matches. It finds the jump by bisection, as the last
// place at which the delay of the first match holds.
func (t *decimated) cut(a, b match, name string, fs float64) error {
	short := *t
	short.excerpt = max(64, min(t.excerpt, int(fs)/t.step/2)) // half a second
	holds, ends := a.at, b.at
	for ends-holds > short.excerpt*t.step/4 {
		middle := (holds + ends) / 2
		m := short.near(middle, a.lag, int(nearby*fs))
		if m.prominence >= minProminence-6 && math.Abs(m.lag-a.lag) < float64(3*t.step) {
			holds = middle
		} else {
			ends = middle
		}
	}
	return &cutError{Name: name, At: float64(holds+ends) / 2 / fs, Within: float64(short.excerpt*t.step) / 2 / fs,
		Jump: (b.lag - a.lag) / fs}
}
