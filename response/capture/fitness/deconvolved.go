package fitness

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/internal/taper"
	"example.com/earnest/sweep"
)

// swept is the first sweep of a channel's side, as recorded: its spectrum, and the quotient by the
// sweep that was played.
type swept struct {
	*spectrum
	linear         []float64 // the response, from linearBefore before its beginning on
	near           []float64 // the part before the response, up to half-way to the second harmonic's
	third, between []float64 // the third harmonic's, and the part between it and the second, from harmonicBefore before
	// thirdLate is the number of samples by which the third harmonic's response begins later than
	// the sample at harmonicBefore.
	thirdLate float64
}

// The lengths of the parts in seconds. The time before zero leaves room for ringing before the
// peak.
const (
	linearBefore   = 0.03
	linearAfter    = 0.55
	harmonicBefore = 0.015
	harmonicAfter  = 0.045
	// regularised is added to the power spectrum of the divisor, re its value at the end of the
	// sweep. It moves a response within the band by less than 0.001 dB.
	regularised = 1e-4
)

// inverses holds those of the sweep, by the length of the transform.
type inverses struct {
	lock sync.Mutex
	of   map[inverseKey][]complex128
}

// get returns the regularised inverse of the sweep's spectrum.
func (all *inverses) get(s *sweep.Sweep, plan *fft.Plan) []complex128 {
	all.lock.Lock()
	defer all.lock.Unlock()
	key := inverseKey{s, plan.Len()}
	if all.of[key] == nil {
		level := s.SpectrumLevel(s.Stop())
		if all.of == nil {
			all.of = map[inverseKey][]complex128{}
		}
		all.of[key] = inverted(plan.Forward(nil, s.Samples()), regularised*level*level)
	}
	return all.of[key]
}

type inverseKey struct {
	sweep  *sweep.Sweep
	length int
}

// computeSwept transforms the first sweep and the recording after it, up to the next sound.
func (c *channel) computeSwept() *swept {
	s, lead := c.Stimulus.Sweep(), int(c.fs/20)
	after := int(min(linearAfter, c.shortestGap()-0.01) * c.fs)
	at := int(c.placed.Sweep)
	x := search.Cut(c.x, at-lead, at+s.Len()+after)
	if c.offsetStands {
		floats.AddConst(-c.offset, search.Within(x, lead-at, len(c.x)-at+lead))
	}
	plan := c.plans.Plan(fft.FastLen(len(x)))
	bins := plan.Forward(nil, x)
	out := &swept{spectrum: &spectrum{make([]float64, plan.Bins()), c.fs / float64(plan.Len()), float64(len(x))}}
	for k, v := range bins {
		out.power[k] = fft.Power(v)
	}
	for k, v := range c.inverses.get(s, plan) {
		bins[k] *= v
	}
	h := plan.Inverse(nil, bins)
	part := func(from, seconds float64) []float64 {
		first, out := lead+int(math.Floor(from*c.fs)), make([]float64, int(seconds*c.fs))
		for i := range out {
			out[i] = h[((first+i)%len(h)+len(h))%len(h)]
		}
		return out
	}
	out.linear = part(-linearBefore, linearBefore+float64(after)/c.fs)
	third := -s.HarmonicAdvance(3) - harmonicBefore
	out.third = part(third, harmonicBefore+harmonicAfter)
	out.thirdLate = third*c.fs - math.Floor(third*c.fs)
	out.between = part(-s.TimeConstant()*math.Log(2.5)-harmonicBefore, harmonicBefore+harmonicAfter)
	out.near = part(-s.TimeConstant()*math.Log(nearFarthest), s.TimeConstant()*math.Log(nearFarthest/nearClosest))
	return out
}

// gate cuts out x from `before` seconds before a sample to `after` seconds after it: it rises over
// the first half of the part before, and falls over the last quarter of the part after.
func (c *channel) gate(x []float64, at int, before, after float64) (gated []float64, energy float64) {
	gated = make([]float64, len(x))
	b, a := before*c.fs, after*c.fs
	for i := max(0, at-int(b)); i < min(len(x), at+int(a)); i++ {
		w := taper.Rise((float64(i-at)+b+0.5)/(b/2)) * taper.Rise((a-float64(i-at)-0.5)/(a/4))
		gated[i] = w * x[i]
		energy += w * w
	}
	return gated, energy
}

// shortestGap returns the shortest silence between two sounds of the stimulus, in seconds.
func (c *channel) shortestGap() float64 {
	shortest := math.Inf(1)
	segments := c.Stimulus.Segments()
	for i, s := range segments {
		if s.Kind == sweep.Silence && i > 0 && i < len(segments)-1 {
			shortest = min(shortest, float64(s.Len)/c.fs)
		}
	}
	return shortest
}

// inverted replaces a spectrum by its inverse. A little power is added, so that the inverse stays
// small where the spectrum is empty.
func inverted(spectrum []complex128, little float64) []complex128 {
	for k, v := range spectrum {
		p := fft.Power(v) + little
		spectrum[k] = complex(real(v)/p, -imag(v)/p)
	}
	return spectrum
}
