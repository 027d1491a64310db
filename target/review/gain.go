package review

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// A part of sweep.AskGain is compared with the sweep in third octaves from gainLow Hz up, where it
// is gainAbove dB above the noise. The window excludes the second harmonic, which comes later. Of
// 23 limiters in drawn recordings 21 are found, 19 by the timing marks alone; none is reported in
// 60 sound recordings.
const (
	gainBefore = 5 * time.Millisecond
	gainAfter  = 100 * time.Millisecond
	gainLow    = 60.0 // Hz
	gainAbove  = 20.0
	gainOff    = 0.25 // dB
	gainSure   = 4    // standard uncertainties

	leakBelow = 1000.0 // Hz: a leak of a cushion changes little from here on
	mostLeak  = 3.0    // dB, more than seatings usually differ by
)

// askGain compares the response to a softer, falling sweep with that to the stimulus's own sweep.
// The two are equal if no gain follows the level.
func (b *Bench) askGain(f *Further, u use, part sweep.Part, s swept) error {
	if part.Kind != sweep.LeftSweep+sweep.Kind(u.side-sweep.Left) || s.silence == nil || u.controlled {
		return nil // another side's part, unknown noise, or already done
	}
	if s.mean == nil {
		return errors.New("the sweep of that side, with which it is compared, is cut off")
	}
	rate := float64(u.recording.SampleRate)
	x, err := u.parts.Cut(u.channel, part, int(0.05*rate), int(0.5*rate))
	if err != nil {
		return err
	}
	if clipped(x) {
		return errClipped
	}
	floats.AddConst(-stat.Mean(x, nil), x) // an offset would begin and end with a step
	// A noise that began after the silence of the take sounds in what follows the falling sweep.
	noise, err := response.NewNoise(s.silence, u.recording.SampleRate)
	if err != nil {
		return err
	}
	if tail := x[len(x)-int(0.25*rate):]; stat.Variance(tail, nil) > 2*stat.Variance(s.silence, nil) {
		if noise, err = response.NewNoise(tail, u.recording.SampleRate); err != nil {
			return err
		}
	}
	// Reversed in time, the recording is that of a rising sweep with a reversed response.
	slices.Reverse(x)
	rising := part.Rising(b.config.Stimulus.Sweep())
	d, err := response.NewDeconvolver(rising,
		response.DeconvolverConfig{Longest: time.Duration(float64(len(x)) / rate * float64(time.Second))})
	if err != nil {
		return err
	}
	falling, err := d.Impulse(x)
	if err != nil {
		return err
	}
	own, err := b.deconvolver.Impulse(s.mean)
	if err != nil {
		return err
	}
	var thirds []float64
	signal := b.config.Stimulus.Sweep()
	for g := 1000 * math.Pow(10, -3); g < 0.8*signal.Stop(); g *= math.Pow(10, 0.1) {
		if g > max(gainLow, 1.5*signal.Start()) {
			thirds = append(thirds, g)
		}
	}
	off, unsure, err := gainBy(falling, own, noise, thirds)
	if err != nil {
		return err
	}
	worst, pairs := -1, compression(s.harmonics, thirds)
	var up, down bool
	for i := range thirds {
		if over := math.Abs(off[i]) - gainOff - gainSure*unsure[i] - pairs[i]; over > 0 {
			up, down = up || off[i] > 0, down || off[i] < 0
			if worst < 0 || math.Abs(off[i]) > math.Abs(off[worst]) {
				worst = i
			}
		}
	}
	if worst < 0 {
		return nil
	}
	one := doubt(u.recording.Name, fitness.LevelControl, response.Warning)
	one.Channel = u.channel
	why := "a gain in player, recorder or pair follows the level, or the pair moved in between"
	if up && down { // a gain that follows the level raises or lowers all soft parts
		why = "higher at some frequencies and lower at others, so an effect such as a chorus, a flanger or a tremolo " +
			"moves the sound or its level"
	}
	one.What = fmt.Sprintf("%v side: a falling sweep, %.0f dB softer, gives a response %+.2g dB at %s from "+
		"that of the stimulus's sweep: %s, and the response is off by at least as much",
		u.side, b.config.Stimulus.Level()-part.Level, off[worst], response.FormatFrequency(thirds[worst]), why)
	one.Remedy = "switch off automatic gain, limiters, gates, noise suppression and effects in player and recorder, " +
		"and record again; " +
		"if all of them are off, the pair itself compresses: measure it at a lower level"
	one.Figures = map[string]response.Figure{"falling re sweep": {Value: off[worst], Unit: "dB",
		Uncertainty: unsure[worst]}}
	if off[worst] < 0 && leaks(thirds, off, unsure) {
		one.Kind, one.Severity = Moved, unfitIf(off[worst] < -mostLeak)
		one.What = fmt.Sprintf("%v side: in the falling sweep after the stimulus the response is %.2g dB lower at %s than in the "+
			"stimulus, and the same above %s: the pair moved and a cushion leaks, or noise cancelling adapts, and the "+
			"bass of both sides in this seating may be off by as much", u.side, -off[worst], response.FormatFrequency(thirds[worst]),
			response.FormatFrequency(leakBelow))
		one.Remedy = "seat the pair again, let nobody touch it, switch off noise cancelling, and record again"
	}
	f.findings = append(f.findings, one)
	return nil
}

// leaks reports whether a loss is one of the bass alone: nothing is different from leakBelow on.
func leaks(thirds, off, unsure []float64) bool {
	known := false
	for i, f := range thirds {
		if f < leakBelow || math.IsNaN(off[i]) {
			continue
		}
		if known = true; math.Abs(off[i]) > 2*gainOff+gainSure*unsure[i] {
			return false
		}
	}
	return known
}

// unfitIf returns Unfit or Warning.
func unfitIf(b bool) response.Severity {
	if b {
		return response.Unfit
	}
	return response.Warning
}

// compression returns, at each frequency, twice the change of the fundamental in dB that goes with
// the third harmonic. For a cube it is three times the harmonic: sin³x = (3 sin x − sin 3x)/4. It
// is never less than the median over all frequencies, which also stands in where the harmonic is
// not known; 0 if none is known.
func compression(hs *distortion.HarmonicSet, thirds []float64) []float64 {
	out, known := make([]float64, len(thirds)), []float64(nil)
	if len(hs.Orders) < 2 {
		return out
	}
	for i, f := range thirds {
		if third := hs.Harmonic(3, f); third.Known() {
			out[i] = 2 * decibel.PerNeper * 3 * decibel.Amplitude(third.Value)
			known = append(known, out[i])
		}
	}
	if known != nil {
		usual := statistic.Median(known)
		for i := range out {
			out[i] = max(out[i], usual)
		}
	}
	return out
}

// gainBy returns the level in dB at each frequency of the reversed response to the falling sweep
// relative to the other response, with its standard uncertainty from noise; NaN where noise hides
// it.
func gainBy(
	falling, own *response.Impulse, noise *response.Noise, thirds []float64) (off, unsure []float64, err error) {
	back := *falling
	back.Samples = slices.Clone(falling.Samples)
	slices.Reverse(back.Samples)
	back.Zero = len(back.Samples) - 1 - falling.Zero
	var levels [2]response.Curve
	for i, h := range []*response.Impulse{&back, own} {
		w, err := h.Window(gainBefore, gainAfter)
		if err != nil {
			return nil, nil, err
		}
		if levels[i], err = w.Transfer().Smoothed(thirds, 3); err != nil {
			return nil, nil, err
		}
	}
	w, err := falling.Window(gainAfter, gainBefore)
	if err != nil {
		return nil, nil, err
	}
	floor, err := w.Floor(noise, thirds)
	if err != nil {
		return nil, nil, err
	}
	off, unsure = make([]float64, len(thirds)), make([]float64, len(thirds))
	for i, g := range thirds {
		off[i], unsure[i] = math.NaN(), math.NaN()
		above := levels[0].Level[i] - floor.Level[i]
		if !(above > gainAbove) {
			continue
		}
		off[i] = levels[0].Level[i] - levels[1].Level[i]
		bins := max(1, 0.23*g*gainAfter.Seconds()) // independent bins in a third octave
		unsure[i] = decibel.PerNeper * math.Pow(10, -above/20) / math.Sqrt(2*bins)
	}
	return off, unsure, nil
}
