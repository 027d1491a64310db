package level

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// SoundLeakageRecordings are recordings made beside a pair of headphones that plays.
type SoundLeakageRecordings struct {
	SampleRate  int // Hz
	Sensitivity Sensitivity
	// Beside is recorded while the headphones, on a head or a dummy, play a steady noise or a long
	// piece of programme.
	Beside []float64
	// Background is recorded in the same place while the headphones are silent. It is required, to
	// separate the headphones from the room.
	Background []float64
	// Correction, in dB, is added to the level of each band; nil means none. For a microphone it is
	// Calibration.Correction. A band in which it is not known is not known.
	Correction *response.Curve
	// Distance is from the outside of the cup to the microphone, in m.
	Distance response.Figure
	// Margin is the least level in dB re the background: 0 means 10, and the lowest value is 6.
	Margin float64
	// Band limits the third octaves, in Hz; 0 at either end means 50 Hz and 10 kHz.
	Band response.Band
}

// correction returns the correction at f Hz in dB, and its standard uncertainty, which is zero
// where it is not stated.
func (r SoundLeakageRecordings) correction(f float64) (gain, uncertainty float64) {
	if r.Correction == nil {
		return 0, 0
	}
	if uncertainty = r.Correction.UncertaintyAt(f); math.IsNaN(uncertainty) {
		uncertainty = 0
	}
	return r.Correction.At(f), uncertainty
}

// SoundLeakage is the sound that a pair of headphones radiates to others, at the distance at which
// it was recorded.
type SoundLeakage struct {
	BandLevels                 // dB SPL by third octave
	Distance   response.Figure // m
	// A is the A-weighted level of the bands that are known, in dB(A). Bands that are not known
	// would add at most Unknown dB to it.
	A       response.Figure
	Unknown float64
}

// MeasureSoundLeakage measures the sound that leaks from the cups, at one distance. Backgrounds,
// margin, errors and uncertainty are as for InsertionLoss, with the uncertainty of the sensitivity
// added. In the sum over bands, the uncertainties of the bands are independent except for those of
// the sensitivity and the correction, which are taken as fully correlated.
//
// State beside the figure how loud the headphones play.
func MeasureSoundLeakage(r SoundLeakageRecordings) (SoundLeakage, error) {
	margin, bands, err := setUp(r.Margin, r.Band, r.SampleRate)
	if err != nil {
		return SoundLeakage{}, err
	}
	full := r.Sensitivity.FullScale
	if err := check(full, "sensitivity of the recording", SoundPressure); err != nil {
		return SoundLeakage{}, err
	}
	if err := checkPositive(r.Distance, "distance", Metre); err != nil {
		return SoundLeakage{}, err
	}
	if r.Background == nil {
		return SoundLeakage{}, fmt.Errorf(
			"level: sound leakage: %w: no background; record the same place while the headphones are silent", ErrNoSignal)
	}
	a := newBandAnalysis(r.SampleRate, bands)
	beside, err := a.above(recorded{"beside the headphones", r.Beside}, recorded{"the background beside the headphones",
		r.Background}, margin)
	if err != nil {
		return SoundLeakage{}, err
	}
	out := SoundLeakage{BandLevels: newBandLevels(bands, "20 µPa"), Distance: r.Distance}
	out.Reason, out.Findings = beside.reason, slices.DeleteFunc(beside.findings,
		func(f response.Finding) bool { return f.Kind == Wandering }) // programme is not steady
	var known, unknown, variance, common float64
	for i, b := range bands {
		gain, u := r.correction(b.Centre)
		if math.IsNaN(gain) && out.Reason[i] == "" {
			out.Reason[i] = "beside the headphones: the response of the microphone is not known at " +
				response.FormatFrequency(b.Centre)
		}
		weight := decibel.Power(smoothing.AWeighting(b.Centre))
		if beside.reason[i] != "" {
			unknown += weight * beside.power[i]
			continue
		}
		out.Curve.Level[i] = beside.level[i] + gain + full.Value
		part := weight * decibel.Power(beside.level[i]+gain)
		known += part
		common += part * u
		variance += math.Pow(2*part*beside.uncertainty[i]/decibel.PerNeper, 2)
	}
	out.Curve = beside.scattering(out.Curve, "noise beside the headphones").
		With(response.Cause{Name: "calibrator", CommonTo: response.OneMicrophone, DegreesOfFreedom: full.DegreesOfFreedom},
			func(float64) float64 { return full.Uncertainty }, math.Inf(1))
	if r.Correction != nil {
		microphone := response.Cause{Name: "microphone", CommonTo: response.OneMicrophone}
		out.Curve = out.Curve.With(microphone, func(f float64) float64 { _, u := r.correction(f); return u }, 1)
	}
	out.A, out.Unknown = response.NotKnown(AWeighted), math.NaN()
	if known > 0 {
		out.A = response.Figure{Value: full.Value + decibel.OfPower(known),
			Uncertainty: math.Hypot(math.Hypot(full.Uncertainty, common/known),
				decibel.PerNeper/2*math.Sqrt(variance)/known),
			Unit: AWeighted}
		out.Unknown = decibel.OfPower(1 + unknown/known)
	}
	return out, nil
}
