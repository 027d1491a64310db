package programme

import (
	"math"
	"slices"

	"example.com/earnest/response/capture"
)

// otherSpeeds are the speeds at which files are played by mistake: one sample rate for another, and
// television for film.
var otherSpeeds = []float64{48 / 44.1, 44.1 / 48, 2, 0.5, 32 / 44.1, 44.1 / 32, 32. / 48, 48. / 32, 25. / 24, 24. / 25}

const (
	// slightest and mostSlight are shares of the time by which the delay moves where the speed
	// differs slightly: by more than clocks do, and so little that short stretches still match.
	slightest, mostSlight = 0.8 * capture.MaxDrift * 1e-6, 0.01
	// speedSeconds is the length of these stretches. They are speedHop apart, or more where there
	// would be more than speedStretches. A match stands speedProminence dB above the few lags that
	// are searched. At least speedFewest matches, and two thirds of all, have to lie within
	// speedNear seconds of one line.
	speedSeconds    = 0.6
	speedHop        = 0.5
	speedStretches  = 100
	speedProminence = 14
	speedFewest     = 6
	speedNear       = 0.001
	// likelierSpeed is the least ratio of two residuals: that of two constant lags, which missing
	// samples would give, to that of a line, which another speed gives.
	likelierSpeed = 1.5
)

// otherSpeed returns the speed of the through recording relative to the direct one, or 0 if none of
// otherSpeeds fits.
func (t *decimated) otherSpeed() float64 {
	if len(t.through) < 2 {
		return 0
	}
	for _, speed := range otherSpeeds {
		if t.atSpeed(speed).anchor().prominence >= minProminence {
			return speed
		}
	}
	return 0
}

// anySpeed returns the same if the speeds differ by up to a ninth, or 0 if they do not. Short
// stretches of the direct recording then lie on a line in the other one, once it is brought near
// its speed; and at the speed that the line gives, all of it follows without a jump.
func (t *decimated) anySpeed(name string, sampleRate int) float64 {
	if len(t.through) < 2 {
		return 0
	}
	for _, guess := range []float64{1, 1.0015, 1 / 1.0015, 1.003, 1 / 1.003} {
		if speed := t.speedNear(guess, name, sampleRate); speed > 0 {
			return speed
		}
	}
	guess := t.spectralSpeed(sampleRate)
	if math.Abs(guess-1) > slightest && guess > 0 && t.atSpeed(guess).anchor().prominence >= minProminence {
		if speed := t.speedNear(guess, name, sampleRate); speed > 0 {
			return speed
		}
		return guess
	}
	return 0
}

// speedNear returns the speed if it is within a few hundredths of a per cent of a guess, or 0 if it
// is not, or is that of the direct recording.
func (t *decimated) speedNear(guess float64, name string, sampleRate int) float64 {
	near := t
	if guess != 1 {
		near = t.atSpeed(guess)
	}
	slope, found := near.slope(sampleRate, guess-1)
	speed := guess / (1 + slope)
	if !found || math.Abs(speed-1) < slightest {
		return 0
	}
	same := t.atSpeed(speed)
	first := same.anchor()
	if first.prominence < minProminence {
		return 0
	}
	rest, err := same.follow(first, name, sampleRate)
	if err != nil {
		return 0
	}
	return speed / (1 + rest.slope)
}

// slope returns the slope of the line on which short stretches of the direct recording lie in the
// other one. Two lags at equal speeds, which have a slope of equal here, must not explain the
// places as well: samples are then missing.
func (t *decimated) slope(sampleRate int, equal float64) (slope float64, found bool) {
	short := *t
	short.excerpt = min(t.excerpt, int(speedSeconds*float64(sampleRate))/t.step)
	first := short.anchor()
	if first.prominence < speedProminence {
		return 0, false
	}
	hop := max(speedHop*float64(sampleRate), float64(len(t.direct)*t.step)/speedStretches)
	at, lag := short.track(first, hop, float64(sampleRate))
	before, lagBefore := short.track(first, -hop, float64(sampleRate))
	slices.Reverse(before) // in order of time
	slices.Reverse(lagBefore)
	at, lag = append(before, at...), append(lagBefore, lag...)
	l, x, y, left := commonLine(at, lag, speedNear*float64(sampleRate))
	if len(y) < speedFewest || 3*len(y) < 2*len(at) {
		return 0, false
	}
	for i := range y {
		y[i] -= equal * x[i]
	}
	if _, ofSteps := split(y, 1); ofSteps < likelierSpeed*left {
		return 0, false
	}
	return l.slope, true
}

// track follows the delay from a match on, a hop in samples at a time, and returns places and lags.
// It searches where the line through the matches so far leads.
func (t *decimated) track(first match, hop, sampleRate float64) (at, lag []float64) {
	var l line
	for place, last := float64(first.at), first; place >= 0 && place < float64(len(t.direct)*t.step); place += hop {
		away := math.Abs(place - float64(last.at))
		m := t.near(int(place), last.lag+l.slope*(place-float64(last.at)), int(mostSlight*away+nearby*sampleRate))
		if m.prominence < speedProminence {
			continue
		}
		at, lag, last = append(at, float64(m.at)), append(lag, m.lag), m
		if len(at) > 3 {
			l, _ = straight(at, lag, nil)
		}
	}
	return at, lag
}

// atSpeed returns both recordings with the other one brought from a speed to that of the direct
// one, by straight lines between its samples.
func (t *decimated) atSpeed(speed float64) *decimated {
	out := &decimated{direct: t.direct, through: make([]float64, int(float64(len(t.through))*speed)), step: t.step}
	for i := range out.through {
		at := float64(i) / speed
		k := min(int(at), len(t.through)-2)
		out.through[i] = t.through[k] + (at-float64(k))*(t.through[k+1]-t.through[k])
	}
	out.excerpt = min(t.excerpt, len(out.through)/2)
	return out
}

// commonLine returns the line near which most of the lags lie, the places x and lags y of these,
// and the sum of their deviations from it.
func commonLine(at, lag []float64, near float64) (l line, x, y []float64, left float64) {
	for i := range at {
		for j := range i {
			l := line{slope: (lag[i] - lag[j]) / (at[i] - at[j])}
			if l.lag = lag[i] - l.slope*at[i]; !(math.Abs(l.slope) <= mostSlight) {
				continue
			}
			var a, b []float64
			for k, v := range lag {
				if math.Abs(v-l.at(at[k])) < near {
					a, b = append(a, at[k]), append(b, v)
				}
			}
			if len(a) > len(x) {
				x, y = a, b
			}
		}
	}
	if len(x) < 2 {
		return l, nil, nil, 0
	}
	l, _ = straight(x, y, nil)
	for i, v := range y {
		left += math.Abs(v - l.at(x[i]))
	}
	return l, x, y, left
}
