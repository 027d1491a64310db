package distortion

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
)

// ErrOtherSweep means that harmonics cannot be combined: they are of different sweeps, at different
// levels, or on different grids.
var ErrOtherSweep = errors.New("the harmonics are not of the same sweep")

// The treatment of the rig's own distortion, in words: the harmonics of a recording are those of
// the device and the rig together.
const (
	RigUnknown    = "the rig's own distortion is not known" // no direct recording was given
	RigInFloor    = "the rig's own distortion is in the floor"
	RigSubtracted = "the rig's own distortion was subtracted" // a tenth of it still counts in the floor
)

// remainder is the part of the rig's amplitude that still counts as floor after it was subtracted,
// −20 dB: the error from a gain that drifted by 1 dB between the recordings.
const remainder = 0.1

// WithRig returns the set with the rig's own harmonics, from the direct recording, in its Rig and
// Floor. The readings do not change.
//
// The rig's distortion is assumed to arise before the device, in the converter or the amplifier
// that drives it, so that the device passes the harmonic like any other signal. With R, the ratio
// of the linear responses through and direct, the rig's n-th harmonic is
//
//	D_n(nf) · R(nf),
//
// known up to the stop frequency of the sweep, as R(nf) is. The direct recording does not show the
// distortion that arises behind the device, in the recorder: that grows with R(f)ⁿ.
//
// Both recordings have to be of one sweep at one level and through the same gains; otherwise the
// error is ErrOtherSweep.
func (hs *HarmonicSet) WithRig(direct *HarmonicSet) (*HarmonicSet, error) {
	return hs.against(direct, RigInFloor)
}

// Subtract returns the set with the rig's own harmonics, from the direct recording, subtracted as
// complex numbers. A synchronised sweep allows that. Order.Rig keeps the subtracted level. A tenth
// of it counts in the floor, and so does the noise of the direct recording if its silence was
// given. Where the rig's part is not known (above the sweep's stop frequency) nothing is
// subtracted, and neither Rig nor Floor is known.
//
// Errors are as for WithRig.
func (hs *HarmonicSet) Subtract(direct *HarmonicSet) (*HarmonicSet, error) {
	return hs.against(direct, RigSubtracted)
}

func (hs *HarmonicSet) against(direct *HarmonicSet, rig string) (*HarmonicSet, error) {
	if err := hs.comparable(direct); err != nil {
		return nil, err
	}
	out := *hs
	out.Fundamental, out.Linear = slices.Clone(hs.Fundamental), slices.Clone(hs.Linear)
	out.LinearUncertainty = slices.Clone(hs.LinearUncertainty)
	out.Rig = rig
	out.Orders = make([]Order, len(hs.Orders))
	for i, o := range hs.Orders {
		out.Orders[i] = out.read(hs.orderAgainst(o, direct, direct.Orders[i], rig == RigSubtracted))
	}
	return &out, nil
}

// orderAgainst returns order o with the rig's part from order d of the direct recording.
func (hs *HarmonicSet) orderAgainst(o Order, direct *HarmonicSet, d Order, subtract bool) Order {
	passed := func(f float64) complex128 {
		through, straight := hs.linear.at(f), direct.linear.at(f)
		if straight == 0 {
			return cmplx.NaN()
		}
		return through / straight
	}
	noise := o.noise
	o.rig = func(f float64) float64 {
		h := d.at(f)
		power := real(h)*real(h) + imag(h)*imag(h)
		if d.noise != nil {
			power = max(0, power-d.noise(f)*d.noise(f)) // NaN stays NaN
		}
		return math.Sqrt(power) * cmplx.Abs(passed(f))
	}
	if !subtract {
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

// comparable returns an error unless direct is of the same sweep and was measured the same way.
func (hs *HarmonicSet) comparable(direct *HarmonicSet) error {
	switch {
	case hs.Rig != RigUnknown || direct.Rig != RigUnknown:
		return fmt.Errorf("distortion: the rig's distortion is already in the set; give the sets as Harmonics returned them")
	case !sameSweep(hs, direct):
		return fmt.Errorf("distortion: %w: make the direct recording with the sweep that the device was measured with",
			ErrOtherSweep)
	case hs.Sweep.Level() != direct.Sweep.Level():
		return fmt.Errorf("distortion: %w: through the device it was at %g dBFS, direct at %g dBFS; record both at one level",
			ErrOtherSweep, hs.Sweep.Level(), direct.Sweep.Level())
	case len(hs.Orders) > len(direct.Orders) || !slices.Equal(hs.Fundamental, direct.Fundamental) ||
		hs.maxFrequency != direct.maxFrequency:
		return fmt.Errorf("distortion: %w: orders up to %d against %d, %d points against %d, "+
			"maximum frequencies of %g Hz and %g Hz; measure both with one Config", ErrOtherSweep,
			len(hs.Orders)+1, len(direct.Orders)+1, len(hs.Fundamental), len(direct.Fundamental), hs.maxFrequency,
			direct.maxFrequency)
	}
	return nil
}

// sameSweep reports whether both sets are of one sweep, at any level.
func sameSweep(a, b *HarmonicSet) bool {
	s, t := a.Sweep, b.Sweep
	return s.SampleRate() == t.SampleRate() && s.Start() == t.Start() && s.Stop() == t.Stop() &&
		s.TimeConstant() == t.TimeConstant()
}
