package level

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// NoiseRecordings are recordings of one microphone at one gain. The noise comes from outside, from
// all directions as far as the room allows, and is the same in each recording.
type NoiseRecordings struct {
	SampleRate int // Hz
	// Open is the noise at the ear without headphones, Covered the same under the cup.
	Open, Covered []float64
	// Background is recorded under the cup while the noise is off: the noise of the microphone and
	// the room. Without it the result is only a lower bound, and a finding says so.
	Background []float64
	// OpenBackground is the same without headphones; nil means Background.
	OpenBackground []float64
	// Margin is the least level in dB of each recording re its background; 0 means 10. ISO 3744
	// corrects down to 6 (from memory), and less than 6 is an error.
	Margin float64
	// Band limits the third octaves, in Hz; 0 at either end means 50 Hz and 10 kHz.
	Band response.Band
}

// BandLevels are levels by third octave, by IEC 61260-1.
type BandLevels struct {
	Bands []smoothing.Band
	// Curve is the level at the centre of each band, NaN where it is not known.
	Curve response.Curve
	// Reason says for each band why its level is not known; it is empty if the level is known.
	Reason   []string
	Findings []response.Finding
}

// InsertionLoss measures the passive isolation of a cup by third octave: the level of the outside
// noise at the ear without the headphones, less that under the cup, in dB. It is positive where the
// cup attenuates sound.
//
// The power of each background is subtracted from that of its recording, as in ISO 3744 (from
// memory). Where a recording is less than Margin above its background, the loss is not known, and
// Reason names the recording. The uncertainty is that of the four means, each from the scatter of
// one-second segments (overlapping by half, Welch 1967); for a steady noise in a band of B Hz it is
// about 4.3/√(B T) dB after T seconds, with as many degrees of freedom as there are segments, less
// one. It does not contain the variation from seating to seating:
// measure several seatings.
//
// Errors: ErrInput for a margin below 6 dB, a band outside the recording, and a recording that is
// clipped or has a sample that is not finite; ErrNoSignal for a recording that is silent or shorter
// than 3 s; ErrUnequal if one recording is given twice, or if the noise under the cup or a
// background is louder than the noise that it is compared with. Findings name a noise that is not
// steady.
func InsertionLoss(r NoiseRecordings) (BandLevels, error) {
	margin, bands, err := setUp(r.Margin, r.Band, r.SampleRate)
	if err != nil {
		return BandLevels{}, err
	}
	a := newBandAnalysis(r.SampleRate, bands)
	shared := r.OpenBackground == nil
	if shared {
		r.OpenBackground = r.Background
	}
	open, err := a.above(recorded{"without headphones", r.Open}, recorded{"the background without headphones",
		r.OpenBackground}, margin)
	if err != nil {
		return BandLevels{}, err
	}
	covered, err := a.above(recorded{"under the cup", r.Covered}, recorded{"the background under the cup",
		r.Background}, margin)
	if err != nil {
		return BandLevels{}, err
	}
	if slices.Equal(r.Open, r.Covered) {
		return BandLevels{}, sameRecording("without headphones", "under the cup")
	}
	out := newBandLevels(bands, "level under the cup")
	if shared {
		open.findings = slices.DeleteFunc(open.findings, func(f response.Finding) bool { return f.Kind == NoBackground })
	}
	out.Findings = slices.Concat(open.findings, covered.findings)
	if r.Background == nil {
		out.Findings = append(out.Findings, remark(NoBackground,
			"no background was recorded: what is under the cup may be the microphone's own noise, so each loss is a lower bound",
			""))
	}
	var sum float64
	known := 0
	for i := range bands {
		out.Reason[i] = open.reason[i]
		if out.Reason[i] == "" {
			out.Reason[i] = covered.reason[i]
		}
		if out.Reason[i] == "" {
			out.Curve.Level[i] = open.level[i] - covered.level[i]
			sum += out.Curve.Level[i]
			known++
		}
	}
	const louder = -3 // dB; a cup can resonate, but over all bands it does not amplify (common practice)
	if mean := sum / float64(known); mean < louder && known > len(bands)/3 {
		return BandLevels{}, fmt.Errorf("level: isolation: %w: the noise under the cup is %.1f dB louder than without "+
			"headphones, by the mean over frequency; exchange the two recordings, or record them again at one gain and "+
			"one noise", ErrUnequal, -mean)
	}
	out.Curve = covered.scattering(open.scattering(out.Curve, "noise without headphones"), "noise under the cup")
	return out, nil
}

func newBandLevels(bands []smoothing.Band, reference string) BandLevels {
	n := len(bands)
	out := BandLevels{Bands: bands, Reason: make([]string, n), Curve: response.Curve{
		Frequency: make([]float64, n), Level: make([]float64, n), Reference: reference,
		Valid: response.Band{Low: bands[0].Low, High: bands[n-1].High},
	}}
	for i, b := range bands {
		out.Curve.Frequency[i], out.Curve.Level[i] = b.Centre, math.NaN()
	}
	return out
}

// setUp returns the margin and the third octaves for isolation and leakage, with defaults filled
// in.
func setUp(margin float64, limits response.Band, sampleRate int) (float64, []smoothing.Band, error) {
	const usual, least = 10, 6 // dB
	if margin == 0 {
		margin = usual
	}
	if !(margin >= least) {
		return 0, nil, fmt.Errorf("level: margin above the background %w: %v dB; with less than %d dB the level of the sound is not known",
			ErrInput, margin, least)
	}
	if err := checkRate(sampleRate); err != nil {
		return 0, nil, err
	}
	low, high := limits.Low, limits.High
	if low == 0 {
		low = 50
	}
	top := 0.45 * float64(sampleRate)
	if high == 0 {
		high = min(10000, top/1.2)
	}
	if low < 20 || !(low < high) {
		return 0, nil, fmt.Errorf("level: bands from %v to %v Hz: %w: they lie between 20 Hz and %.0f Hz, low before high",
			low, high, ErrInput, top)
	}
	bands, err := smoothing.Bands(3, low, high)
	if err != nil {
		return 0, nil, fmt.Errorf("level: %w", err)
	}
	if bands[len(bands)-1].High > top {
		return 0, nil, fmt.Errorf(
			"level: bands up to %v Hz: %w: the recording holds no more than %.0f Hz; lower Band.High or record at a higher rate",
			high, ErrInput, top)
	}
	return margin, bands, nil
}
