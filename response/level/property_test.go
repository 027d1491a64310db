package level_test

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

func drawFigure(t *rapid.T, label, unit string, low, high float64) response.Figure {
	return response.Figure{Value: rapid.Float64Range(low, high).Draw(t, label), Uncertainty: rapid.Float64Range(0, 0.05*low).Draw(t, label+": uncertainty"), Unit: unit}
}

func TestPropertyUnitsThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := drawFigure(t, "ohms", level.Ohm, 4, 1000)
		volt := drawFigure(t, "dB SPL/V", level.SoundPerVolt, 70, 130)
		milliwatt, err := level.PerMilliwatt(volt, z)
		require.NoError(t, err)
		require.InDelta(t, volt.Value, milliwatt.Value+10*math.Log10(1000/z.Value), 1e-11, "rounding")
		require.GreaterOrEqual(t, milliwatt.Uncertainty+1e-9, volt.Uncertainty, "a conversion never lowers the uncertainty")

		volts := drawFigure(t, "volts", level.Volt, 0.01, 10)
		peak := rapid.Float64Range(-60, 0).Draw(t, "peak")
		full, err := level.OutputVoltage(volts, peak)
		require.NoError(t, err)
		require.InEpsilon(t, volts.Value, full.Value*math.Pow(10, peak/20)/math.Sqrt2, 1e-12, "rounding")
	})
}

func TestPropertyNotKnownNeverBecomesANumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		known := drawFigure(t, "known", level.Ohm, 4, 1000)
		unknown := response.Figure{Value: math.NaN(), Uncertainty: known.Uncertainty, Unit: known.Unit}
		as := func(f response.Figure, unit string) response.Figure { f.Unit = unit; return f }
		for what, err := range map[string]error{
			"per milliwatt":  second(level.PerMilliwatt(as(unknown, level.SoundPerVolt), known)),
			"output voltage": second(level.OutputVoltage(as(unknown, level.Volt), 0)),
			"output loss":    second(level.OutputLoss(level.Impedance{Frequency: []float64{20, 20000}, Ohms: []complex128{32, 32}, Valid: response.AllFrequencies}, as(unknown, level.Ohm))),
			"allowance":      second(level.Occupational.Allow(as(unknown, level.AWeighted))),
		} {
			require.Error(t, err, what)
		}
	})
}

func second[T any](_ T, err error) error { return err }

func TestPropertyMaxSPLIsThatOfTheVoltage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sensitivity, impedance := drawFigure(t, "dB SPL/V", level.SoundPerVolt, 70, 130), drawFigure(t, "ohms", level.Ohm, 4, 1000)
		volts := drawFigure(t, "volts", level.Volt, 0.01, 10)
		r, err := level.Amplifier{MaxVoltage: volts, OutputImpedance: response.Figure{Unit: level.Ohm}}.MaxSPL(sensitivity, impedance)
		require.NoError(t, err)
		require.InDelta(t, r.Level.Value, sensitivity.Value+20*math.Log10(volts.Value), 1e-11, "rounding; an output of no impedance")
	})
}

func TestPropertyLouderIsShorter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.SampledFrom([]level.Limit{level.Occupational, level.Recreational, level.RecreationalSensitive}).Draw(t, "limit")
		l := response.Figure{Value: rapid.Float64Range(limit.Level, limit.Level+30).Draw(t, "level"), Unit: level.AWeighted}
		a, err := limit.Allow(l)
		require.NoError(t, err)
		l.Value += rapid.Float64Range(0.01, 20).Draw(t, "more")
		less, err := limit.Allow(l)
		require.NoError(t, err)
		require.Less(t, less.Hours, a.Hours)
	})
}

func TestPropertyImpedanceOfADividerThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		series := response.Figure{Value: rapid.Float64Range(5, 500).Draw(t, "series"), Unit: level.Ohm}
		f, ratio, want := []float64{20, 200, 2000, 20000}, &level.Ratio{Valid: response.Band{Low: 20, High: 20000}}, []complex128{}
		resistance := rapid.Float64Range(8, 600).Draw(t, "resistance")
		for range f {
			z := complex(resistance*rapid.Float64Range(1, 2).Draw(t, "real"), resistance*rapid.Float64Range(-0.5, 0.5).Draw(t, "imaginary"))
			want = append(want, z)
			ratio.T = append(ratio.T, z/(z+complex(series.Value, 0)))
		}
		ratio.Frequency = f
		z, err := level.Divider{Series: series}.Impedance(ratio)
		require.NoError(t, err)
		magnitude, curve := z.Magnitude(), z.Curve()
		for i := range f {
			require.Less(t, cmplx.Abs(z.Ohms[i]-want[i]), 1e-9*cmplx.Abs(want[i]), "rounding")
			require.InEpsilon(t, cmplx.Abs(want[i]), magnitude[i], 1e-9, "rounding")
			require.InDelta(t, 20*math.Log10(magnitude[i]), curve.Level[i], 1e-9, "rounding")
		}
		lowest, at := z.Lowest(response.AllFrequencies)
		require.InDelta(t, floats.Min(magnitude), lowest.Value, 1e-9)
		require.Equal(t, f[floats.MinIdx(magnitude)], at)
		none, err := level.OutputLoss(z, response.Figure{Unit: level.Ohm})
		require.NoError(t, err)
		loss, err := level.OutputLoss(z, response.Figure{Value: series.Value, Unit: level.Ohm})
		require.NoError(t, err)
		for i := range f {
			require.InDelta(t, 0, none.Level[i], 1e-12, "no output impedance, no loss")
			require.InDelta(t, 20*math.Log10(cmplx.Abs(ratio.T[i])), loss.Level[i], 1e-9, "the divider's own ratio")
		}
	})
}

// The level follows a gain in the recording, whatever the polarity.
func TestPropertyMeterFollowsGain(t *testing.T) {
	s, err := level.Calibrator{Level: 94, Frequency: 1000, Tolerance: 0.4}.Sensitivity(response.Figure{Value: -20, Unit: level.RecordedLevel})
	require.NoError(t, err)
	m := level.Meter{SampleRate: 8000, Sensitivity: s}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-0.1, 0.1), 100, 300).Draw(t, "samples")
		x[0] = 0.05 // not silence
		gain := rapid.Float64Range(0.01, 10).Draw(t, "gain") * []float64{1, -1}[rapid.IntRange(0, 1).Draw(t, "polarity")]
		a, err := m.Measure(x)
		require.NoError(t, err)
		floats.Scale(gain, x)
		b, err := m.Measure(x)
		require.NoError(t, err)
		shift := 20 * math.Log10(math.Abs(gain))
		require.InDelta(t, a.A.Value+shift, b.A.Value, 1e-9, "rounding")
		require.InDelta(t, a.Plain.Value+shift, b.Plain.Value, 1e-9, "rounding")
		require.InDelta(t, a.Peak.Value+shift, b.Peak.Value, 1e-9, "rounding")
		require.InDelta(t, a.Crest.Value, b.Crest.Value, 1e-9, "rounding")
	})
}

// A calibration that is subtracted and added again leaves the measurement unchanged.
func TestPropertyCalibrationOffAndOn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := []float64{20, 100, 1000, 5000, 20000}
		draw := func(label string) response.Curve {
			c, err := response.NewCurve(f, rapid.SliceOfN(rapid.Float64Range(-20, 20), len(f), len(f)).Draw(t, label))
			require.NoError(t, err)
			return c
		}
		cal, measured := level.Calibration{Response: draw("microphone")}, draw("measured")
		off, err := cal.Correct(measured)
		require.NoError(t, err)
		on, err := cal.Inverted().Correct(off)
		require.NoError(t, err)
		require.InDeltaSlice(t, measured.Level, on.Level, 1e-12, "rounding")
		require.InDeltaSlice(t, cal.Response.Level, cal.Inverted().Inverted().Response.Level, 0)
		added, err := measured.Add(*cal.Correction())
		require.NoError(t, err)
		require.InDeltaSlice(t, off.Level, added.Level, 1e-12, "the same by addition; rounding")
		at := rapid.SampledFrom(f).Draw(t, "calibrator")
		relative, err := cal.Response.NormaliseAt(at)
		require.NoError(t, err)
		require.InDelta(t, 0, relative.At(at), 1e-12, "rounding")
	})
}
