package review_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// noise is white, of an rms.
func noise(seed uint64, rms float64, seconds int) []float64 {
	random := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, seconds*48000)
	for i := range x {
		x[i] = rms * random.NormFloat64()
	}
	return x
}

func scaled(x []float64, by float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = by * v
	}
	return y
}

// In sound pressure: a calibrator, a voltage, a resistor for a load, noise from outside.
func TestSoundPressureImpedanceAndNoise(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	tone := make([]float64, 5*48000)
	for i := range tone {
		tone[i] = math.Sqrt2 * math.Pow(10, -24.0/20) * math.Sin(2*math.Pi*1000*float64(i)/48000)
	}
	s.config.CalibratorTone = review.Channel{Recording: s.recording("calibrator.wav", [][]float64{tone})}
	s.config.Calibrator = &level.Calibrator{Level: 94, Frequency: 1000, Tolerance: level.Class2}
	b := s.bench()
	p, err := s.seated(b, asItIs)
	require.NoError(t, err)
	p.Drive(review.Drive{
		Voltage: response.Figure{Value: 0.5, Uncertainty: 0.005, Unit: level.Volt}, Peak: -12,
		Amplifier: level.Amplifier{
			MaxVoltage: response.Figure{Value: 2, Unit: level.Volt}, MaxCurrent: response.Figure{Value: 0.1, Unit: level.Ampere},
			OutputImpedance: response.Figure{Value: 10, Unit: level.Ohm},
		},
	})
	source := noise(1, 0.1, 10)
	voltages := func(load float64) *capture.Recording {
		return s.recording("impedance.wav", [][]float64{source, scaled(source, load/(load+100))})
	}
	ohms := func(v float64) response.Figure {
		return response.Figure{Value: v, Uncertainty: v / 1000, Unit: level.Ohm}
	}
	load, known := voltages(32), voltages(50)
	require.NoError(t, p.Impedance(review.ImpedanceRecordings{
		Source: review.Channel{Recording: load}, Load: review.Channel{Recording: load}, Series: ohms(100),
		ReferenceSource: review.Channel{Recording: known}, ReferenceLoad: review.Channel{Recording: known}, Known: ohms(50),
	}))
	one := func(x []float64) review.Channel {
		return review.Channel{Recording: s.recording("noise.wav", [][]float64{x})}
	}
	open := noise(2, 0.05, 10)
	require.NoError(t, p.Isolation(one(open), one(scaled(open, 0.1)), review.Channel{}))
	music := rig.Music(48000, 4, 1)
	require.NoError(t, p.Play(review.Material{Name: "tune", Kind: "music",
		Direct: review.Channel{Recording: s.recording("a.wav", s.rig.Direct(music))}, Through: review.Channel{Recording: s.recording("b.wav", s.rig.Through(s.pair, 0, music))}}))
	require.NoError(t, p.SoundLeakage(one(open), one(scaled(open, 0.001)), response.Figure{Value: 0.5, Uncertainty: 0.02, Unit: level.Metre}))
	r, err := p.Measure()
	require.NoError(t, err)

	// 94 dB SPL is −24 dBFS rms, and the sweep is −12 dBFS peak, −15.01 dBFS rms.
	mean := (s.truth(rig.Left, 1000, 0, 1, 2) + s.truth(rig.Right, 1000, 0, 1, 2)) / 2
	assert.InDelta(t, 94+24-15.01+mean, r.Sound.SweepLevel.Value, 1.5, "dB SPL; the interface's own gain is about 0 dB")
	assert.InDelta(t, r.Sound.SweepLevel.Value-20*math.Log10(0.5), r.Sound.PerVolt.Value, 1e-9, "dB SPL/V; rounding")
	assert.InDelta(t, 32, r.Sound.Impedance.Value, 0.1, "Ω; white noise through a divider")
	assert.InDelta(t, r.Sound.PerVolt.Value-10*math.Log10(1000.0/32), r.Sound.PerMilliwatt.Value, 0.05, "dB SPL/mW, dB SPL/V − 10 log10(1000/Z)")
	at500 := (s.truth(rig.Left, 500, 0, 1, 2) + s.truth(rig.Right, 500, 0, 1, 2)) / 2
	assert.InDelta(t, at500-mean, r.Sound.PerVolt500.Value-r.Sound.PerVolt.Value, nearTruth, "dB; the pair as it is simulated")
	assert.InDelta(t, r.Sound.PerVolt500.Value-10*math.Log10(1000.0/32), r.Sound.PerMilliwatt500.Value, 0.05, "dB SPL/mW, dB SPL/V − 10 log10(1000/Z)")
	assert.Equal(t, 1, strings.Count(strings.Join(r.Notes, " "), "recorded by two microphones, and the calibrator by one"), "both sides are in one recording")
	require.NotNil(t, r.Sound.MaxSPL)
	assert.InDelta(t, r.Sound.PerVolt.Value+20*math.Log10(2*32.0/42), r.Sound.MaxSPL.Level.Value, 0.05, "dB SPL; 2 V divided by 10 Ω and 32 Ω")
	assert.InDelta(t, 20*math.Log10(32.0/42), r.OutputLoss.At(1000), 0.05, "dB; circuit theory")
	assert.InDelta(t, 20, r.Isolation.Curve.At(1000), 0.01, "dB; a tenth")
	assert.True(t, r.SoundLeakage.A.Known())
	require.NotNil(t, r.Programmes[0].Level)
	assert.True(t, r.Programmes[0].Level.A.Known())
	assert.Len(t, r.Programmes[0].Allowance, 3, "two rules, one of them for sensitive listeners too")
	require.NoError(t, r.Judge(review.Criteria{Claims: []claim.Claim{
		claim.Impedance{Ohms: 32, At: 1000, Tolerance: 10}, claim.MaximumLevel{Level: 80, At: 1000, Percent: 10},
		claim.Sensitivity{Value: r.Sound.PerMilliwatt.Value, Unit: claim.PerMilliwatt, At: 1000, Tolerance: 3},
		claim.Sensitivity{Value: r.Sound.PerVolt500.Value, Unit: claim.PerVolt, At: 500, Tolerance: 3},
		claim.Sensitivity{Value: 100, Unit: claim.PerVolt, At: 300, Tolerance: 3}, claim.Impedance{Ohms: 32, At: 85, Tolerance: 5},
	}}))
	for _, v := range r.Judgement.Claims[:1] {
		assert.Equal(t, claim.Met, v.Outcome, v.Reason)
	}
	at300 := (s.truth(rig.Left, 300, 0, 1, 2) + s.truth(rig.Right, 300, 0, 1, 2)) / 2
	assert.InDelta(t, at300-mean, r.Judgement.Claims[4].Measured.Value-r.Sound.PerVolt.Value, nearTruth, "dB; the pair as it is simulated, at the claim's own frequency")
	assert.InDelta(t, 32, r.Judgement.Claims[5].Measured.Value, 0.1, "Ω; white noise through a divider")
	assert.ErrorContains(t, r.Judge(review.Criteria{Chosen: 1}), "the chosen rival is number 1 of 0")
	assert.ErrorContains(t, r.Judge(review.Criteria{Chosen: -1, Rivals: []target.Pair{r.Pair()}}), "number -1 of 1")
	assert.ErrorContains(t, p.Impedance(review.ImpedanceRecordings{
		Source: review.Channel{Recording: load}, Load: review.Channel{Recording: load}, Series: ohms(100), ReferenceLoad: review.Channel{Recording: known}, Known: ohms(50),
	}), "there is no recording", "half of a reference is not the same as no reference")
	assert.InDelta(t, r.Sound.PerVolt500.Value, r.Judgement.Claims[3].Measured.Value, 1e-9, "compared with the sensitivity at its own frequency; rounding")
	assert.False(t, math.IsNaN(r.Left.THD(1000).Value))

	assert.ErrorContains(t, p.Isolation(one(open), review.Channel{}, review.Channel{}), "there is no recording of the noise under the cup")
	assert.ErrorContains(t, p.SoundLeakage(one(open), review.Channel{}, response.Figure{}), "while they are silent")
	beyond := one(open)
	beyond.Number = 2
	for _, err := range []error{
		p.SoundLeakage(beyond, one(open), response.Figure{Value: 0.5, Unit: level.Metre}),
		p.SoundLeakage(one(open), beyond, response.Figure{Value: 0.5, Unit: level.Metre}),
	} {
		assert.ErrorIs(t, err, capture.ErrChannel)
	}
	p = b.Pair(review.About{Name: "no impedance"})
	_, err = p.Seat(review.Seating{Channels: review.Both(s.through(0))})
	require.NoError(t, err)
	p.Drive(review.Drive{Voltage: response.Figure{Value: 0.5, Uncertainty: 0.005, Unit: level.Volt}, Peak: -12})
	r, err = p.Measure()
	require.NoError(t, err)
	assert.True(t, r.Sound.PerVolt.Known())
	assert.False(t, r.Sound.PerMilliwatt.Known(), "no impedance")
	assert.Nil(t, r.Sound.MaxSPL)
	setting := func(r *review.Results) (found []response.Finding) {
		for _, f := range r.Findings {
			if f.Kind == review.WrongSetting && f.Severity == response.Warning {
				found = append(found, f)
			}
		}
		return found
	}
	assert.Empty(t, setting(r))
	p.Drive(review.Drive{Voltage: response.Figure{Value: 500, Uncertainty: 5, Unit: level.Volt}, Peak: -12}) // 500 mV
	r, err = p.Measure()
	require.NoError(t, err)
	require.Len(t, setting(r), 1)
	assert.Contains(t, setting(r)[0].Remedy, "in V and not in mV")
	for says, d := range map[string]review.Drive{
		"-32 Ω is not above zero":                              {Impedance: response.Figure{Value: -32, Unit: level.Ohm}},
		"impedance cannot be used: it is given without a unit": {Impedance: response.Figure{Value: 32}},
		"-2 V is not above zero":                               {Amplifier: level.Amplifier{MaxVoltage: response.Figure{Value: -2, Unit: level.Volt}}},
		"output impedance cannot be used":                      {Amplifier: level.Amplifier{MaxVoltage: response.Figure{Value: 2, Unit: level.Volt}}},
	} {
		p.Drive(d)
		_, err := p.Measure()
		assert.ErrorContains(t, err, says)
	}

	without := simulate(t).bench().Pair(review.About{})
	assert.ErrorContains(t, without.SoundLeakage(one(open), one(open), response.Figure{}), "[calibrator]")
}
