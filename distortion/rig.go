package distortion

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
)

// ErrOtherSweep is returned when harmonics are put together that do not belong
// together: of different sweeps, at different levels, on different grids.
var ErrOtherSweep = errors.New("the harmonics are not of the same sweep")

// RigShare says what was done about the rig's own distortion.
type RigShare int

// The harmonics of a recording are the device's and the rig's together.
const (
	// RigUnknown: no direct recording was given, so a part of the harmonics of
	// unknown size is the rig's.
	RigUnknown RigShare = iota
	// RigInFloor: the rig's own harmonics are in the floor.
	RigInFloor
	// RigSubtracted: the rig's own harmonics were subtracted as complex
	// numbers; a tenth of each still counts in the floor.
	RigSubtracted
)

// String says it in words.
func (r RigShare) String() string {
	switch r {
	case RigInFloor:
		return "the rig's own distortion is in the floor"
	case RigSubtracted:
		return "the rig's own distortion was subtracted"
	}
	return "the rig's own distortion is not known"
}

// Stage is where in the rig its distortion arises. The direct recording does not tell, but the
// headphones change the two kinds differently. R below is their response: the ratio of the linear
// responses through and direct.
type Stage int

const (
	// BeforeDevice: in the converter or the amplifier that drives the device. The device passes the
	// harmonic like any other signal, at its frequency:
	//
	//	D_n(nf) · R(nf).
	//
	// It is known up to the stop frequency of the sweep, as R(nf) is.
	BeforeDevice Stage = iota
	// AfterDevice: in the microphone's amplifier or the converter that records. Their input is the
	// fundamental as the device passes it, and the n-th harmonic of a weak nonlinearity grows with
	// its n-th power (the leading term of the power series):
	//
	//	D_n(nf) · R(f)^n.
	AfterDevice
)

// String says it in words.
func (s Stage) String() string {
	if s == AfterDevice {
		return "after the device"
	}
	return "before the device"
}

// remainder is the share of the rig's amplitude that still counts as floor after it was subtracted,
// −20 dB: a gain that drifted by 1 dB between the recordings leaves that much.
const remainder = 0.1

// WithRig returns the set with the rig's own harmonics, as the direct
// recording shows them, in its Rig and Floor. The readings stay as they are.
//
// Both recordings are of one sweep at one level and through the same gains;
// otherwise it gives ErrOtherSweep.
func (hs *HarmonicSet) WithRig(direct *HarmonicSet, stage Stage) (*HarmonicSet, error) {
	return hs.against(direct, stage, RigInFloor)
}

// Subtract returns the set with the rig's own harmonics, as the direct
// recording shows them, subtracted as complex numbers. A synchronised sweep allows that. The set says
// so in its Rig, and Order.Rig keeps what was subtracted. A tenth of it counts in the floor, and so
// does the noise of the direct recording if its silence was given.
//
// The result is right only if the stage is. Where the rig's share is not known (BeforeDevice, above
// the sweep's stop frequency) nothing is subtracted, and neither Rig nor Floor is known.
//
// Errors are as for WithRig.
func (hs *HarmonicSet) Subtract(direct *HarmonicSet, stage Stage) (*HarmonicSet, error) {
	return hs.against(direct, stage, RigSubtracted)
}

func (hs *HarmonicSet) against(direct *HarmonicSet, stage Stage, share RigShare) (*HarmonicSet, error) {
	if err := hs.comparable(direct); err != nil {
		return nil, err
	}
	out := *hs
	out.Fundamental, out.Linear, out.LinearUncertainty = slices.Clone(hs.Fundamental), slices.Clone(hs.Linear), slices.Clone(hs.LinearUncertainty)
	out.Rig, out.Stage = share, stage
	out.Orders = make([]Order, len(hs.Orders))
	for i, o := range hs.Orders {
		out.Orders[i] = out.read(hs.orderAgainst(o, direct, direct.Orders[i], stage, share))
	}
	return &out, nil
}

// orderAgainst returns order o with the rig's share from order d of the direct recording.
func (hs *HarmonicSet) orderAgainst(o Order, direct *HarmonicSet, d Order, stage Stage, share RigShare) Order {
	passed := hs.passage(direct, stage, o.N)
	noise := o.noise
	o.rig = func(f float64) float64 {
		h := d.at(f)
		power := real(h)*real(h) + imag(h)*imag(h)
		if d.noise != nil {
			power = max(0, power-d.noise(f)*d.noise(f)) // NaN stays
		}
		return math.Sqrt(power) * cmplx.Abs(passed(f))
	}
	if share != RigSubtracted {
		return o
	}
	o.remains = remainder
	measured := o.spectrum
	o.spectrum = func(f float64) complex128 {
		own := d.at(f) * passed(f)
		if cmplx.IsNaN(own) {
			return measured(f)
		}
		return measured(f) - own
	}
	if noise != nil && d.noise != nil {
		o.noise = func(f float64) float64 { return math.Hypot(noise(f), d.noise(f)*cmplx.Abs(passed(f))) }
	}
	return o
}

// passage is what the device makes of the rig's n-th harmonic at the
// harmonic's frequency f.
func (hs *HarmonicSet) passage(direct *HarmonicSet, stage Stage, n int) func(f float64) complex128 {
	ratio := func(f float64) complex128 {
		through, straight := hs.linear.at(f), direct.linear.at(f)
		if straight == 0 {
			return cmplx.NaN()
		}
		return through / straight
	}
	if stage == AfterDevice {
		return func(f float64) complex128 {
			r, product := ratio(f/float64(n)), complex(1, 0)
			for range n {
				product *= r
			}
			return product
		}
	}
	return ratio
}

// comparable tells whether direct is of the same sweep and taken the same way.
func (hs *HarmonicSet) comparable(direct *HarmonicSet) error {
	switch {
	case hs.Rig != RigUnknown || direct.Rig != RigUnknown:
		return fmt.Errorf("distortion: the rig was compared with already; give the sets as Harmonics returned them")
	case !sameSweep(hs, direct):
		return fmt.Errorf("distortion: %w: make the direct recording with the sweep that the device was measured with", ErrOtherSweep)
	case hs.Sweep.Level() != direct.Sweep.Level():
		return fmt.Errorf("distortion: %w: through the device it was at %g dBFS, direct at %g dBFS; record both at one level",
			ErrOtherSweep, hs.Sweep.Level(), direct.Sweep.Level())
	case len(hs.Orders) > len(direct.Orders) || !slices.Equal(hs.Fundamental, direct.Fundamental) || hs.maxFrequency != direct.maxFrequency:
		return fmt.Errorf("distortion: %w: orders up to %d against %d, %d points against %d, maxFrequencys of %g Hz and %g Hz; take both with one Config",
			ErrOtherSweep, len(hs.Orders)+1, len(direct.Orders)+1, len(hs.Fundamental), len(direct.Fundamental), hs.maxFrequency, direct.maxFrequency)
	}
	return nil
}

// sameSweep tells whether both sets are of one sweep, whatever its level.
func sameSweep(a, b *HarmonicSet) bool {
	s, t := a.Sweep, b.Sweep
	return s.SampleRate() == t.SampleRate() && s.Start() == t.Start() && s.Stop() == t.Stop() && s.TimeConstant() == t.TimeConstant()
}
