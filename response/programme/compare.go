package programme

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Config says how to compare. The zero value asks for 20 Hz to 20 kHz.
type Config struct {
	// Band is the band to compare over, in Hz; 0 at either end means 20 Hz and 20 kHz. If Band.Low
	// is set, recordings that are too short for it give ErrTooShort; otherwise they give a finding.
	Band response.Band
	// MinCoherence, 0 to 1, is the coherence below which a result is not known; 0 means 0.5.
	MinCoherence float64
	// Rig describes in words the rig of the through recording. Curves carry it.
	Rig string
	// Correction is the level in dB to be added to the through recording at each frequency: minus
	// the microphone's response, as level.Calibration.Correction returns it. Nothing is known
	// outside its band, and its uncertainty is not included. Nil means none. It is read, never
	// changed.
	Correction *response.Curve
	// Alignment is that of another channel of the same two recordings, such as the other ear's.
	// With it, no search is needed. It is read, never changed.
	Alignment *Alignment
}

const (
	defaultLow       = 20
	defaultHigh      = 20000
	defaultCoherence = 0.5
	// minDensity is the least power density at which a bin counts as material, in dB re the
	// material's largest. Bins below it may hold the leakage of the window.
	minDensity = -110
)

func (c Config) withDefaults(sampleRate int) (Config, error) {
	b := &c.Band
	if !(b.Low >= 0 && b.High >= 0 && c.MinCoherence >= 0 && c.MinCoherence < 1) {
		return c, fmt.Errorf("programme: a band from %v to %v Hz with a coherence of at least %v; "+
			"frequencies are above zero and the coherence is below 1", b.Low, b.High, c.MinCoherence)
	}
	if b.Low == 0 {
		b.Low = defaultLow
	}
	if b.High == 0 {
		b.High = defaultHigh
	}
	if c.MinCoherence == 0 {
		c.MinCoherence = defaultCoherence
	}
	// The interpolator is accurate up to here.
	b.High = min(b.High, interpolateTop*float64(sampleRate)/2)
	if b.Low*2 > b.High {
		return c, fmt.Errorf("programme: the band from %s to %s is too narrow; give at least an octave",
			response.FormatFrequency(b.Low), response.FormatFrequency(b.High))
	}
	return c, nil
}

// Comparison is the result of comparing the direct recording of some material with the
// recording of the same material through the headphones. Nothing changes it once it is made, so
// goroutines may share it.
type Comparison struct {
	Config    Config // as used, with the defaults filled in
	Alignment *Alignment
	// Valid is the part of Config.Band for which the material is long enough and Config.Correction is
	// known.
	Valid response.Band
	// Direct and Through are the levels of the two recordings as they are, over the stretch that they
	// share.
	Direct, Through Levels
	// Covered is the share, 0 to 1, of the material's energy within Config.Band that lies at
	// frequencies where the response is known.
	Covered float64
	// ResidualLevel is the A-weighted level of the residual in dB re the A-weighted level of the
	// through recording, over the third octaves in which it is known.
	ResidualLevel float64
	// Attacks are the attacks of the material, compared with the through recording.
	Attacks Attacks
	// Bass is the extension and the level of the low end.
	Bass Bass
	// Voice is the effect on a voice. It has a meaning only for material that is a voice.
	Voice Voice
	// Findings are the remarks that a reader has to know, the gravest first.
	Findings []response.Finding

	direct, through string
	sampleRate      int
	resolutions     []*resolution
	tones           [2][]tone // direct and through, that are not part of the material
	gain            float64   // mean square of the through recording over that of the direct one
	top             float64   // largest power density of the material
	thirds          []BandLevel
}

// Compare compares the two recordings over all of the material that they share.
//
// Errors: ErrRate, ErrSilent and capture.ErrNotFinite; ErrDifferent; ErrCut; ErrTooShort if both
// share less than a second, or less than Config.Band.Low needs if that is set; an error for a drift
// beyond capture.MaxDrift or a band narrower than an octave.
func Compare(direct, through Channel, c Config) (*Comparison, error) {
	if err := checkBoth(direct, through); err != nil {
		return nil, err
	}
	low := c.Band.Low
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
		return nil, withOffsetJumps(err, direct, through)
	}
	p := newPass(direct, through, a, c.Band.High)
	short := shortage{c.Band.Low, math.NaN(), a.shared(), needed(c.Band.Low)}
	if len(p.resolutions) == 0 {
		return nil, short.err()
	}
	short.reached = p.resolutions[len(p.resolutions)-1].lowest()
	if low > 0 && short.reached > low*(1+1e-9) {
		return nil, short.err()
	}
	p.run()
	out := &Comparison{Config: c, Alignment: a,
		direct: direct.Name, through: through.Name, sampleRate: direct.SampleRate,
		resolutions: p.resolutions, tones: p.tones}
	out.Valid = c.Band.Intersect(response.Band{Low: short.reached, High: c.Band.High})
	out.gain = p.levels[1].power / p.levels[0].power
	out.setLevels(p)
	out.correct()
	out.thirds = out.fractions(3)
	out.Covered, out.ResidualLevel = out.covered(), out.residualLevel()
	out.Attacks = attacks(p.steps, float64(p.step)/float64(direct.SampleRate))
	out.Bass, out.Voice = lowEnd(out.thirds), voice(out.thirds)
	for i, c := range []Channel{direct, through} {
		if len(p.jumps[i]) > 0 {
			out.Findings = append(out.Findings, offsetFinding(c, p.jumps[i]))
		}
	}
	out.find(direct, through, short)
	return out, nil
}

// known reports whether an estimate counts. Its coherence has to reach Config.MinCoherence, and
// also the coherence that n averages of unrelated noise exceed once in 20 times, 1 − 0.05^(1/(n−1))
// (Bendat & Piersol). The material has to have energy there.
func (c *Comparison) known(e estimate) bool {
	if !(e.averages > 1) {
		return false
	}
	chance := 1 - math.Pow(0.05, 1/(e.averages-1))
	return e.coherence >= max(c.Config.MinCoherence, chance) && e.density > c.top*decibel.Power(minDensity)
}

// needed returns the length of material in seconds that it takes to reach down to a frequency in
// Hz.
func needed(low float64) float64 { return leastSpan * periods / low }
