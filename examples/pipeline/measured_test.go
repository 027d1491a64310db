package main

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response/capture"
)

// wellEquipped is the tiny session with a calibrator, noise for impedance, isolation and spill, and
// claims.
func wellEquipped(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	const rate, seconds = 48000, 6
	save := func(name string, channels ...[]float64) {
		r := &capture.Recording{SampleRate: rate, Format: capture.Format{Bits: 24}, Channels: channels}
		require.NoError(t, capture.Write(filepath.Join(folder, name), r, capture.WriteConfig{}))
	}
	random := rand.New(rand.NewPCG(1, 2))
	noise := func(rms float64) []float64 {
		x := make([]float64, rate*seconds)
		for i := range x {
			x[i] = rms * random.NormFloat64()
		}
		return x
	}
	times := func(x []float64, gain float64) []float64 {
		out := make([]float64, len(x))
		for i, v := range x {
			out[i] = gain * v
		}
		return out
	}
	tone := make([]float64, rate*seconds) // −20 dBFS rms
	for i := range tone {
		tone[i] = 0.1 * math.Sqrt2 * math.Sin(2*math.Pi*1000*float64(i)/rate)
	}
	source, open := noise(0.1), noise(0.05)
	save("calibrator.wav", tone)
	save("impedance.wav", source, times(source, 38./138))
	save("open.wav", open)
	save("covered.wav", times(open, 0.1))
	save("beside.wav", noise(0.01))
	save("away.wav", noise(0.0001))
	text, err := os.ReadFile(filepath.Join(tinySession(t), "session.toml"))
	require.NoError(t, err)
	for _, name := range []string{"direct.wav", "seating.wav"} {
		require.NoError(t, os.Symlink(filepath.Join(tinySession(t), name), filepath.Join(folder, name)))
	}
	require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), append(text, `
[calibrator]
file = "calibrator.wav"
[impedance]
file = "impedance.wav"
series = 100
[isolation]
open = "open.wav"
covered = "covered.wav"
[spill]
beside = "beside.wav"
background = "away.wav"
metres = 1
[amplifier]
name = "a small player"
output_ohms = 2
[[claim]]
what = "maximum level"
value = 120
at = 1000
[[claim]]
what = "impedance"
value = 38
`...), 0o666))
	return folder
}

// figures are the parts of a line's results that the test below looks at. A null reads as 0 here,
// so no figure may be 0.
type figures struct {
	Response struct {
		Frequency []float64 `json:"frequency_hz"`
	}
	Impedance *struct {
		At1kHz      figure    `json:"at_1_khz"`
		Frequency   []float64 `json:"frequency_hz"`
		Magnitude   []float64 `json:"magnitude_ohm"`
		Uncertainty []float64 `json:"uncertainty_ohm"`
		HalfWidth95 []float64 `json:"half_width_95_ohm"`
		Output      *struct {
			Amplifier string
			Change    []float64 `json:"change_db"`
		}
	}
	Isolation *struct {
		Bands   []bandLevel
		Remarks []string
	}
	Spill *struct {
		Distance  figure
		AWeighted figure `json:"a_weighted"`
		Bands     []bandLevel
	}
	Claims []struct {
		Reason   string
		Warnings []string
	}
}

type figure struct {
	Value, Uncertainty float64
	HalfWidth95        float64 `json:"half_width_95"`
	Unit               string
}

type bandLevel struct {
	Nominal     float64 `json:"nominal_hz"`
	Level       float64 `json:"level_db"`
	Uncertainty float64 `json:"uncertainty_db"`
	HalfWidth95 float64 `json:"half_width_95_db"`
}

// What was measured beside the response is in the line, and follows the schema. Expected are the
// circuit and the gains that the recordings were made with.
func TestLinesHaveImpedanceIsolationAndSpill(t *testing.T) {
	race.Skip(t)
	line, err := json.Marshal(new(measurer).measure(wellEquipped(t)))
	require.NoError(t, err)
	require.NoError(t, validator(t)(line))
	var back Record
	require.NoError(t, json.Unmarshal(line, &back))
	require.Empty(t, back.Error)
	var r figures
	require.NoError(t, json.Unmarshal(back.Results, &r))

	z := r.Impedance
	require.NotNil(t, z)
	assert.InDelta(t, 38, z.At1kHz.Value, 0.01, "24 bits")
	assert.InDelta(t, 0.2194, z.At1kHz.Uncertainty, 0.0005, "38 Ω of 1 %/√3, by the resistor; that of the noise is far below")
	assert.InDelta(t, 1.96*0.2194, z.At1kHz.HalfWidth95, 0.001, "the same")
	require.Len(t, z.Frequency, len(r.Response.Frequency))
	for i, f := range z.Frequency {
		if f > 20 && f < 20000 {
			assert.InDelta(t, 38, z.Magnitude[i], 0.01, "%v Hz; 24 bits", f)
			assert.Positive(t, z.Uncertainty[i])
			assert.InDelta(t, 1.96*z.Uncertainty[i], z.HalfWidth95[i], 1e-4, "1.95996")
			assert.InDelta(t, 20*math.Log10(38./40), z.Output.Change[i], 1e-4, "a voltage divider of 38 Ω and 2 Ω; 24 bits")
		}
	}
	assert.Equal(t, "a small player", z.Output.Amplifier)

	require.NotNil(t, r.Isolation)
	assert.NotEmpty(t, r.Isolation.Bands)
	for _, b := range r.Isolation.Bands {
		assert.InDelta(t, 20, b.Level, 0.001, "a gain of 0.1, at %v Hz; 24 bits", b.Nominal)
		assert.Positive(t, b.Uncertainty)
		// Student's t: 1.95996 for many degrees of freedom, 2.201 for 11; the lowest band has the
		// fewest averages.
		assert.GreaterOrEqual(t, b.HalfWidth95/b.Uncertainty, 1.9599, "%v Hz", b.Nominal)
		assert.LessOrEqual(t, b.HalfWidth95/b.Uncertainty, 2.201, "%v Hz", b.Nominal)
	}
	assert.Contains(t, r.Isolation.Remarks[0], "no background was recorded")

	require.NotNil(t, r.Spill)
	assert.Equal(t, 1.0, r.Spill.Distance.Value)
	for _, b := range r.Spill.Bands {
		if b.Nominal == 1000 {
			// White noise of rms 0.01 has 2·0.01²/48000 a hertz, and the band is 10^0.05 − 10^−0.05
			// kHz wide; full scale rms is 114 dB SPL.
			want := 114 + 10*math.Log10(2*0.01*0.01/48000*1000*(math.Pow(10, 0.05)-math.Pow(10, -0.05)))
			assert.InDelta(t, want, b.Level, 1, "six seconds of a band of 231 Hz scatter by 0.12 dB")
		}
	}
	assert.Equal(t, "dB(A)", r.Spill.AWeighted.Unit)

	require.Len(t, r.Claims, 2)
	assert.Contains(t, r.Claims[0].Warnings[0], "harm hearing")
	assert.Contains(t, r.Claims[1].Reason, "38.00 Ω (95 % confidence: 37.57 to 38.43 Ω)", "38 ± 1.96·0.2194")
}

// Where they were not measured the line says so, and a line of before they were added is still one.
func TestLinesNameMissingMeasurements(t *testing.T) {
	race.Skip(t)
	line, err := json.Marshal(new(measurer).measure(tinySession(t)))
	require.NoError(t, err)
	valid := validator(t)
	require.NoError(t, valid(line))
	var whole map[string]any
	require.NoError(t, json.Unmarshal(line, &whole))
	results := whole["results"].(map[string]any)
	for _, name := range []string{"impedance", "isolation", "spill"} {
		value, there := results[name]
		assert.True(t, there && value == nil, "%s is null", name)
		delete(results, name)
	}
	delete(results, "ranking_warnings")
	before, err := json.Marshal(whole)
	require.NoError(t, err)
	assert.NoError(t, valid(before))
	results["impedance"] = map[string]any{"magnitude_ohm": 38}
	wrong, err := json.Marshal(whole)
	require.NoError(t, err)
	assert.Error(t, valid(wrong))
}
