package fitness

import (
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/search"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// A wavering speed moves the sweep by D(t), and with it the phase of the deconvolved response by
// −2π f D(t(f)), t(f) being the time at which the sweep passes f. The headphones' own phase is
// nearly the minimum phase of their magnitude. The rest is fitted, over the middle of the band, by
// a constant, a delay and
//
//	−2π f A sin(2π r t(f) + θ)
//
// for each rate r. A speed that wavers by 2πrA changes the time that the sweep stays near a
// frequency, and so the response, by
//
//	10/ln 10 · 2πrA √(1 + (2πrL)²) dB
//
// up and down: the frequency of time t arrives at τ = t + D + L D', and dτ/dt is the factor on its
// power.
const (
	wowReach   = 40 * time.Millisecond // to both sides of the peak; a Place's Response goes as far
	wowLow     = 200.0                 // Hz
	wowHigh    = 2000.0                // Hz; thinning leaves little above
	wowFastest = 20.0                  // Hz
	wowShare   = 0.5                   // least share of the phase, beyond constant and delay, that one rate has to explain
	wowSure    = 6                     // standard uncertainties
)

// waver is a speed that wavers sinusoidally.
type waver struct {
	rate             float64 // Hz
	speed, uncertain float64 // peak, as a share of the speed, and its standard uncertainty
	explains         float64 // share of the phase beyond constant and delay
	error            float64 // of the response, in dB
}

// phases are those in excess of the minimum phase, in radians, by the frequency of the sweep.
type phases struct {
	sweep                    *sweep.Sweep
	frequency, excess, level []float64 // Hz, rad, dB
}

// waver tries every rate, and returns the one that explains most.
func (p *phases) waver() (best waver) {
	low, high := p.frequency[0], p.frequency[len(p.frequency)-1]
	lasts := p.sweep.TimeAt(high) - p.sweep.TimeAt(low)
	fastest := min(wowFastest, wowReach.Seconds()*low/p.sweep.TimeConstant())
	t := p.terms()
	plain := floats.Dot(t.left, t.left)
	for rate := 1 / lasts; rate <= fastest; rate += 0.25 / lasts {
		a, uncertain, left := t.fit(rate)
		if explains := 1 - left/plain; explains > best.explains {
			turn := 2 * math.Pi * rate
			best = waver{rate, turn * a, turn * uncertain, explains,
				decibel.PerNeper / 2 * turn * a * math.Hypot(1, turn*p.sweep.TimeConstant())}
		}
	}
	return best
}

func (p *phases) terms() *terms {
	n := len(p.frequency)
	column := func() []float64 { return make([]float64, n) }
	t := &terms{time: column(), slope: column(), constant: column(), left: column(), sin: column(), cos: column(),
		rest: column()}
	usual := floats.Sum(p.level) / float64(n)
	for i, f := range p.frequency {
		w := decibel.Amplitude(min(0, p.level[i]-usual)) // noise turns the phase of a dip by more
		t.time[i], t.constant[i], t.slope[i], t.left[i] = p.sweep.TimeAt(f), w, w*f, w*p.excess[i]
		t.square += w * w * f * f / 2
	}
	t.delays = slices.Clone(t.slope)
	floats.Scale(1/floats.Norm(t.constant, 2), t.constant)
	without(t.delays, t.constant)
	floats.Scale(1/floats.Norm(t.delays, 2), t.delays)
	without(t.left, t.constant, t.delays)
	return t
}

// terms are the terms of the weighted least-squares fit, as orthogonal columns (Gram–Schmidt, each
// subtracted twice, which is as accurate as Householder's reflections: Björck, Numerical Methods
// for Least Squares Problems, from memory): the constant and the delay once for all rates, the sine
// and the cosine of each.
type terms struct {
	time, slope      []float64 // s, at which the sweep passes a frequency; of the phase by a delay, weighted
	constant, delays []float64
	left             []float64 // of the phase, without constant and delay
	sin, cos, rest   []float64 // room to work in
	square           float64   // mean of the squares of sin and cos, times their number
}

// fit returns A in seconds for a rate in Hz, its standard uncertainty, and the weighted residual
// sum of squares.
func (t *terms) fit(rate float64) (a, uncertain, left float64) {
	for i, at := range t.time {
		sin, cos := math.Sincos(2 * math.Pi * rate * at)
		t.sin[i], t.cos[i] = t.slope[i]*sin, t.slope[i]*cos
	}
	without(t.sin, t.constant, t.delays)
	ofSin := floats.Norm(t.sin, 2)
	floats.Scale(1/ofSin, t.sin)
	without(t.cos, t.constant, t.delays)
	both := floats.Dot(t.cos, t.sin)
	without(t.cos, t.sin)
	ofCos := floats.Norm(t.cos, 2)
	floats.Scale(1/ofCos, t.cos)
	if !(ofSin*ofCos > 0) {
		return 0, math.Inf(1), math.Inf(1)
	}
	cos := floats.Dot(t.left, t.cos) / ofCos
	sin := (floats.Dot(t.left, t.sin) - both*cos) / ofSin
	copy(t.rest, t.left)
	without(t.rest, t.sin, t.cos)
	left = floats.Dot(t.rest, t.rest)
	return math.Hypot(sin, cos) / (2 * math.Pi),
		math.Sqrt(left/float64(len(t.time)-4)/t.square) / (2 * math.Pi), left
}

// phases returns those of the sweep that matched best, or nil if its band is too narrow.
func (c *channel) phases(valid response.Band) *phases {
	s := c.Stimulus.Sweep()
	h := &response.Impulse{Samples: c.placed.Response,
		SampleRate: c.Recording.SampleRate / search.Step(c.Recording.SampleRate), Zero: len(c.placed.Response) / 2,
		Valid: valid.Intersect(response.Band{Low: max(wowLow, s.Start()*thirdOctave),
			High: min(wowHigh, s.Stop()/thirdOctave)})}
	if h.Valid.Octaves() < 1 {
		return nil
	}
	t := h.WindowAt(0, wowReach, wowReach).TransferAbout(0, 2*(h.SampleRate/10)) // bins of 5 Hz
	excess, _ := t.ExcessPhase()
	return &phases{s, t.Frequencies(), excess, t.Magnitude().Level}
}

// detectWow finds a wavering speed while the sweep plays, from the phase of the response in its
// valid band.
func detectWow(c *channel, valid response.Band) []response.Finding {
	p := c.phases(valid)
	if p == nil {
		return nil
	}
	w := p.waver()
	severity := grade(w.error, noticeableError, worstError)
	if !(w.explains > wowShare && w.speed > wowSure*w.uncertain) || severity == response.Note {
		return nil
	}
	return c.finding(response.Finding{Kind: Wow, Severity: severity, Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("wavers in speed by %.2g %%, %.1f times a second; the response is off by %.2g dB or more",
			100*w.speed, w.rate, w.error),
		Remedy: "play from a file at the session's rate and over a cable, " +
			"since a rate converter on the way may follow another clock, and record again",
		Figures: figures{"speed": figure(100*w.speed, "%"), "rate": figure(w.rate, "Hz"), "error": figure(w.error, "dB")}})
}

// without subtracts the parts along orthogonal columns of length 1 from x.
func without(x []float64, columns ...[]float64) {
	for range 2 {
		for _, c := range columns {
			floats.AddScaled(x, -floats.Dot(x, c), c)
		}
	}
}
