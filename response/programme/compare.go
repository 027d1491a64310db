package programme

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Config says how to compare. The zero value asks for 20 Hz to 20 kHz.
type Config struct {
	// Low and High bound what is asked for, in Hz; 0 means 20 and 20000. With
	// a Low that is set, recordings too short for it are a *ShortError; with
	// the usual one, that is a finding.
	Low, High float64
	// Coherence is the least at which a result is known, 0 to 1; 0 means 0.5.
	Coherence float64
	// Rig says in words what the through recording was made on; curves carry it.
	Rig string
	// Alignment of another channel of the same two recordings, such as the
	// other ear's: the search is then spared.
	Alignment *Alignment
}

const (
	defaultLow       = 20
	defaultHigh      = 20000
	defaultCoherence = 0.5
	// emptyness is how far in dB below its largest density the material has
	// energy; what is below may be the window's leakage.
	emptyness = -110
)

func (c Config) withDefaults(sampleRate int) (Config, error) {
	if c.Low < 0 || c.High < 0 || c.Coherence < 0 || c.Coherence >= 1 || c.Low != c.Low || c.High != c.High || c.Coherence != c.Coherence {
		return c, fmt.Errorf("programme: a band from %v to %v Hz with a coherence of at least %v; frequencies are above zero and the coherence is below 1", c.Low, c.High, c.Coherence)
	}
	if c.Low == 0 {
		c.Low = defaultLow
	}
	if c.High == 0 {
		c.High = defaultHigh
	}
	if c.Coherence == 0 {
		c.Coherence = defaultCoherence
	}
	// Up to where the interpolator is right.
	c.High = min(c.High, interpolateTop*float64(sampleRate)/2)
	if c.Low*2 > c.High {
		return c, fmt.Errorf("programme: a band from %s to %s; it takes an octave at the least", response.FormatFrequency(c.Low), response.FormatFrequency(c.High))
	}
	return c, nil
}

// Comparison is what the direct recording of some material and the same
// through the headphones say together. Nothing changes it; it may be shared.
type Comparison struct {
	Config    Config // as used, with the defaults filled in
	Alignment *Alignment
	// Asked is the band asked for; Reached is what the length of the material
	// allows of it.
	Asked, Reached response.Band
	// Direct and Through are the levels of both, over what they share.
	Direct, Through Levels
	// Covered is the share of the material's energy, within Asked, at frequencies
	// where the response is known.
	Covered float64
	// Findings are what a reader has to know, the gravest first.
	Findings []response.Finding

	direct, through string
	sampleRate      int
	tiers           []*tier
	steps           [2][]float64 // mean squares
	step            float64      // seconds
	gain            float64      // mean square of through over direct
	top             float64      // largest density of the material
}

// needed is how many seconds of material a frequency takes.
func needed(low float64) float64 { return leastSpan * periods / low }

// Compare compares both recordings over all they share.
//
// Errors: ErrRate, ErrSilent and capture.ErrNotFinite; a *DifferentError; a *CutError; a
// *ShortError where both share less than a second, or less than Config.Low takes if that is
// set; a drift beyond capture.MaxDrift; a band narrower than an octave.
func Compare(direct, through Channel, c Config) (*Comparison, error) {
	if err := checkBoth(direct, through); err != nil {
		return nil, err
	}
	low := c.Low
	c, err := c.withDefaults(direct.SampleRate)
	if err != nil {
		return nil, err
	}
	var a *Alignment
	if c.Alignment != nil {
		a, err = c.Alignment.again(direct, through)
	} else {
		a, err = align(direct, through)
	}
	if err != nil {
		return nil, err
	}
	p := newPass(direct, through, a, c.High)
	short := ShortError{Low: c.Low, Reached: math.NaN(), Shared: a.shared(), Needed: needed(c.Low)}
	if len(p.tiers) == 0 {
		return nil, &short
	}
	short.Reached = p.tiers[len(p.tiers)-1].lowest()
	if low > 0 && short.Reached > low*(1+1e-9) {
		return nil, &short
	}
	p.run()
	out := &Comparison{Config: c, Alignment: a, Asked: response.Band{Low: c.Low, High: c.High},
		direct: direct.Name, through: through.Name, sampleRate: direct.SampleRate,
		tiers: p.tiers, steps: p.steps, step: float64(p.step) / float64(direct.SampleRate)}
	out.Reached = out.Asked.Intersect(response.Band{Low: short.Reached, High: c.High})
	out.gain = p.levels[1].power / p.levels[0].power
	out.setLevels(p)
	out.Covered = out.covered()
	out.find(direct, through, short)
	return out, nil
}

// known tells whether sums over bins are enough to say something: the
// coherence reaches what is asked for and what chance does not (19 in 20 times
// n averages of nothing stay below 1 − 0.05^(1/(n−1)); Bendat & Piersol), and
// the material has energy there.
func (c *Comparison) known(e estimate) bool {
	if !(e.averages > 1) {
		return false
	}
	chance := 1 - math.Pow(0.05, 1/(e.averages-1))
	return e.coherence >= max(c.Config.Coherence, chance) && e.density > c.top*decibel.Power(emptyness)
}
