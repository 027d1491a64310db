package fitness

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/search"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// A speed that wavers moves the sweep by D(t), and with it the phase of the deconvolved response by
// −2π f D(t(f)), t(f) being when the sweep passes f. The headphones' own phase is the minimum phase
// that belongs to their magnitude, or nearly; what is left is fitted, over the middle of the band,
// by a constant, a delay and
//
//	−2π f A sin(2π r t(f) + θ)
//
// for each rate r. A speed that wavers by 2πrA changes how long the sweep stays near a frequency,
// and so the response, by
//
//	10/ln 10 · 2πrA √(1 + (2πrL)²) dB
//
// either way: τ = t + D + L D' is when the frequency of time t arrives, and dτ/dt is the factor on
// its power.
const (
	wowReach   = 40 * time.Millisecond // to both sides of the peak; a Place's Response goes as far
	wowLow     = 200.0                 // Hz
	wowHigh    = 2000.0                // Hz; little of thinning is left of it there
	wowFastest = 20.0                  // Hz
	wowShare   = 0.5                   // of the phase that is neither constant nor delay, which one rate has to explain
	wowSure    = 6                     // standard uncertainties
)

// waver is a speed that wavers sinusoidally.
type waver struct {
	rate             float64 // Hz
	speed, uncertain float64 // peak, as a share of the speed, and its standard uncertainty
	explains         float64 // share of the phase that is neither constant nor delay
	error            float64 // of the response, in dB
}

// detectWow finds a speed that wavers while the sweep plays, by the phase of the response where it
// is valid.
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
			"for what converts rates on the way may follow another clock, and record again",
		Figures: figures{"speed": figure(100*w.speed, "%"), "rate": figure(w.rate, "Hz"), "error": figure(w.error, "dB")}})
}

// phases are those in excess of the minimum phase, in radians, by the frequency that the sweep
// passes.
type phases struct {
	sweep                    *sweep.Sweep
	frequency, excess, level []float64 // Hz, rad, dB
}

// phases returns those of the sweep that matched best; nil if its band is too narrow.
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

// waver tries every rate, and returns the one that explains most.
func (p *phases) waver() (best waver) {
	low, high := p.frequency[0], p.frequency[len(p.frequency)-1]
	lasts := p.sweep.TimeAt(high) - p.sweep.TimeAt(low)
	fastest := min(wowFastest, wowReach.Seconds()*low/p.sweep.TimeConstant())
	_, _, plain := p.fit(0)
	for rate := 1 / lasts; rate <= fastest; rate += 0.25 / lasts {
		a, uncertain, left := p.fit(rate)
		if explains := 1 - left/plain; explains > best.explains {
			turn := 2 * math.Pi * rate
			best = waver{rate, turn * a, turn * uncertain, explains,
				decibel.PerNeper / 2 * turn * a * math.Hypot(1, turn*p.sweep.TimeConstant())}
		}
	}
	return best
}

// fit returns A in seconds for a rate in Hz, its standard uncertainty, and the weighted sum of
// squares that is left. Rate 0 fits no A.
func (p *phases) fit(rate float64) (a, uncertain, left float64) {
	columns := 4
	if rate == 0 {
		columns = 2
	}
	n := len(p.frequency)
	terms, known := mat.NewDense(n, columns, nil), mat.NewDense(n, 1, nil)
	usual := floats.Sum(p.level) / float64(n)
	var square float64
	for i, f := range p.frequency {
		w := decibel.Amplitude(min(0, p.level[i]-usual)) // noise turns the phase of a dip by more
		sin, cos := math.Sincos(2 * math.Pi * rate * p.sweep.TimeAt(f))
		terms.SetRow(i, []float64{w, w * f, w * f * sin, w * f * cos}[:columns])
		known.Set(i, 0, w*p.excess[i])
		square += w * w * f * f / 2
	}
	var of mat.Dense
	if err := of.Solve(terms, known); err != nil {
		return 0, math.Inf(1), math.Inf(1)
	}
	var fitted mat.Dense
	fitted.Mul(terms, &of)
	known.Sub(known, &fitted)
	left = math.Pow(mat.Norm(known, 2), 2)
	if rate == 0 {
		return 0, 0, left
	}
	return math.Hypot(of.At(2, 0), of.At(3, 0)) / (2 * math.Pi),
		math.Sqrt(left/float64(n-columns)/square) / (2 * math.Pi), left
}
