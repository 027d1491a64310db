package tone_test

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
)

func TestRecordingsThatAreNotOneTone(t *testing.T) {
	const fs = 48000
	second := func(p ...partial) []float64 { return noisy(sum(fs, fs, p...), 1e-5, 1) }
	constant := func(v float64) []float64 {
		x := make([]float64, fs)
		for i := range x {
			x[i] = v
		}
		return x
	}
	broken := second(partial{1000, 0.5, 0})
	broken[480] = math.NaN()
	late := second()
	copy(late[fs/2:], second(partial{1000, 0.5, 0}))
	rows := []struct {
		name  string
		x     []float64
		o     tone.Config
		is    error
		words []string
	}{
		{"another tone", second(partial{440, 0.5, 0}), tone.Config{Frequency: 1000}, tone.ErrAbsent, []string{"no tone stands out at 1 kHz", "440 Hz at -6.0 dBFS"}},
		{"a tone close by", second(partial{1050, 0.5, 0}), tone.Config{Frequency: 1000}, tone.ErrAbsent, []string{"1.05 kHz"}},
		{"noise", noisy(make([]float64, fs), 0.1, 2), tone.Config{}, tone.ErrAbsent, []string{"no tone stands out above the noise"}},
		{"noise where a tone was wanted", noisy(make([]float64, fs), 0.1, 2), tone.Config{Frequency: 1000}, tone.ErrAbsent, []string{"no tone stands out at 1 kHz above the noise"}},
		{"silence", make([]float64, fs), tone.Config{}, tone.ErrAbsent, []string{"something was played"}},
		{"an offset", constant(0.25), tone.Config{}, tone.ErrAbsent, []string{"offset is 0.25"}},
		{"an offset where a tone was wanted", constant(0.25), tone.Config{Frequency: 1000}, tone.ErrAbsent, []string{"offset is 0.25"}},
		{"two tones", second(partial{1000, 0.5, 0}, partial{1500, 0.3, 0}), tone.Config{}, tone.ErrTwoTones, []string{"1 kHz", "1.5 kHz at -4.4 dB"}},
		{"two tones, the softer wanted", second(partial{1000, 0.5, 0}, partial{1333, 0.3, 0}), tone.Config{Frequency: 1333}, tone.ErrTwoTones, []string{"1.33 kHz", "1 kHz at +4.4 dB"}},
		{"60 Hz and 7 kHz", second(partial{60, 0.4, 0}, partial{7000, 0.1, 0}), tone.Config{}, tone.ErrTwoTones, []string{"7 kHz at -12.0 dB"}},
		{"250 Hz and 8 kHz, its 32nd multiple", second(partial{250, 0.4, 0}, partial{8000, 0.1, 0}), tone.Config{}, tone.ErrTwoTones, []string{"8 kHz at -12.0 dB"}},
		{"250 Hz and 8 kHz, all orders asked for", second(partial{250, 0.4, 0}, partial{8000, 0.1, 0}), tone.Config{Orders: 90}, tone.ErrTwoTones, []string{"8 kHz at -12.0 dB"}},
		{"19 kHz and 20 kHz", second(partial{19000, 0.4, 0}, partial{20000, 0.4, 0}), tone.Config{}, tone.ErrTwoTones, nil},
		{"two tones that beat", second(partial{1000, 0.4, 0}, partial{1001.3, 0.2, 0}), tone.Config{}, tone.ErrUnsteady, nil},
		{"half of it silence", late, tone.Config{}, tone.ErrUnsteady, []string{"from about 0.5 s to 1 s"}},
		{"nine periods", sum(fs*9/100, fs, partial{100, 0.5, 0}), tone.Config{}, tone.ErrTooShort, []string{"0.09 s", "at least 0.1 s", "10 periods of 100 Hz"}},
		{"two hundred samples", sum(200, fs, partial{5000, 0.5, 0}), tone.Config{}, tone.ErrTooShort, []string{"256 samples"}},
		{"nothing", nil, tone.Config{}, tone.ErrTooShort, nil},
		{"no number", broken, tone.Config{}, tone.ErrNotFinite, []string{"sample 480, at 0.01 s"}},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			r, err := tone.Analyse(row.x, fs, row.o)
			require.ErrorIs(t, err, row.is, "%+v", r)
			for _, words := range row.words {
				assert.ErrorContains(t, err, words)
			}
		})
	}
}

func TestAsLongAsTheErrorAsksForIsEnough(t *testing.T) {
	_, err := tone.Analyse(sum(4700, 48000, partial{100, 0.1, 0}), 48000, tone.Config{})
	require.ErrorIs(t, err, tone.ErrTooShort)
	assert.ErrorContains(t, err, "at least 0.1 s", "ten periods of 100 Hz")
	_, err = tone.Analyse(sum(4800, 48000, partial{100, 0.1, 0}), 48000, tone.Config{})
	assert.NoError(t, err)
}

func TestImpossibleOptions(t *testing.T) {
	x := sum(48000, 48000, partial{1000, 0.5, 0})
	for name, o := range map[string]tone.Config{
		"frequency above half the rate": {Frequency: 25000},
		"negative frequency":            {Frequency: -1},
		"no frequency":                  {Frequency: math.NaN()},
		"one order":                     {Orders: 1},
		"a million orders":              {Orders: 1e6},
		"negative ceiling":              {MaxFrequency: -1},
		"band upside down":              {Band: response.Band{Low: 100, High: 50}},
		"band above half the rate":      {Band: response.Band{Low: 30000, High: 50000}},
	} {
		_, err := tone.Analyse(x, 48000, o)
		assert.ErrorContains(t, err, "tone: ", name)
	}
	_, err := tone.Analyse(x, 0, tone.Config{})
	assert.ErrorContains(t, err, "sample rate 0 Hz")
}

// Hum and noise at the levels of a bad cable do not count as a second tone.
func TestHumIsNoSecondTone(t *testing.T) {
	x := noisy(sum(48000, 48000, partial{1000, 0.5, 0}, partial{50, 0.04, 0}), 0.01, 3)
	_, err := tone.Analyse(x, 48000, tone.Config{})
	assert.NoError(t, err)
}

func TestOffsetIsFoundAndNotCounted(t *testing.T) {
	x := sum(48000, 48000, partial{1000.3, 0.5, 0}, partial{2000.6, 0.0005, 0})
	for i := range x {
		x[i] += 0.1
	}
	r, err := tone.Analyse(x, 48000, tone.Config{Band: response.Band{High: 24000}})
	require.NoError(t, err)
	assert.InDelta(t, 0.1, r.Offset, 1e-10, "double precision")
	assert.InDelta(t, 0.001, r.THDPlusN.Value/100, 1e-9, "double precision")
	require.Len(t, r.Findings, 1)
	assert.Equal(t, tone.Offset, r.Findings[0].Kind)
	assert.Regexp(t, "^an offset", r.Findings[0].String(), "without a name of the recording")
	assert.Contains(t, r.Findings[0].String(), "offset of 0.1 of full scale, 20 %")
}

func TestClipping(t *testing.T) {
	clip := func(x []float64, limit float64) []float64 {
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = max(-limit, min(limit, v))
		}
		return y
	}
	const full = 1 - 1./32768
	cases := []struct {
		name  string
		x     []float64
		level float64 // 0: not clipped
	}{
		{"16 bits at full scale, 1 dB over", quantised(clip(sum(48000, 48000, partial{997, 1.12, 0}), full), 16, false, 1), full},
		{"16 bits at full scale, 0.1 dB over, 50 Hz", quantised(clip(sum(48000, 48000, partial{50, 1.012, 0}), full), 16, false, 1), full},
		{"24 bits, 9 kHz, 1 dB over", quantised(clip(sum(48000, 48000, partial{9001, 1.12, 0}), full), 24, false, 1), full},
		{"float, clipped at half", clip(sum(48000, 48000, partial{440, 0.6, 0}), 0.5), 0.5},
		{"negative half only", func() []float64 {
			x := sum(48000, 48000, partial{440, 0.6, 0})
			for i, v := range x {
				x[i] = max(v, -0.5)
			}
			return x
		}(), 0.5},
		{"16 bits, full scale", quantised(sum(48000, 48000, partial{997, full, 0}), 16, false, 1), 0},
		{"16 bits, full scale, dithered", quantised(sum(48000, 48000, partial{997, full - 2./32768, 0}), 16, true, 1), 0},
		{"16 bits, slow", quantised(sum(48000, 48000, partial{20, 0.5, 0}), 16, false, 1), 0},
		{"16 bits, soft and slow", quantised(sum(48000, 48000, partial{20, 0.01, 0}), 16, false, 1), 0},
		{"8 bits", quantised(sum(48000, 48000, partial{100, 0.9, 0}), 8, false, 1), 0},
		{"float, on the grid", sum(48000, 48000, partial{1000, 1, math.Pi / 48}), 0},
		{"float, a twelfth of the rate", sum(48000, 48000, partial{4000, 1, math.Pi / 12}), 0},
		{"soft saturation", through(sum(48000, 48000, partial{440, 0.9, 0}), 0, 1, 0, -0.25), 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r, err := tone.Analyse(c.x, 48000, tone.Config{})
			require.NoError(t, err)
			if c.level == 0 {
				assert.Empty(t, r.Findings)
				return
			}
			require.NotEmpty(t, r.Findings)
			found := r.Findings[0]
			assert.Equal(t, tone.Clipping, found.Kind)
			assert.Equal(t, response.Unfit, found.Severity)
			assert.InDelta(t, c.level, found.Figures["level"].Value, 1e-4, "two steps of 16 bits")
			count := 0
			for _, v := range c.x {
				if math.Abs(v) == found.Figures["level"].Value {
					count++
				}
			}
			assert.Contains(t, []int{count, count / 2, count - count/2}, int(found.Figures["samples"].Value), "the samples at the limit, at least those of one sign")
			assert.Contains(t, found.String(), "the distortion is the clipping's")
		})
	}
}

// For any recording, Analyse returns an error or a valid result.
func FuzzAnalyse(f *testing.F) {
	seed := func(x []float64) {
		var b []byte
		for _, v := range x {
			b = binary.LittleEndian.AppendUint16(b, uint16(int16(v*32767)))
		}
		f.Add(b)
	}
	seed(sum(600, 48000, partial{2000, 0.5, 0}))
	seed(sum(600, 48000, partial{2000, 0.5, 0}, partial{7100, 0.5, 0}))
	seed(noisy(make([]float64, 600), 0.1, 1))
	seed(make([]float64, 300))
	f.Fuzz(func(t *testing.T, b []byte) {
		x := make([]float64, min(len(b)/2, 4000))
		for i := range x {
			x[i] = float64(int16(binary.LittleEndian.Uint16(b[2*i:]))) / 32768
		}
		r, err := tone.Analyse(x, 48000, tone.Config{})
		if err != nil {
			return
		}
		if !(!math.IsNaN(r.Level.Value) && r.Frequency.Value > 0 && r.Frequency.Value < 24000) {
			t.Fatalf("%+v", r)
		}
		for _, h := range r.Harmonics {
			if h.Known() && !(h.Value <= h.AsRead && h.Value > h.Floor) {
				t.Fatalf("%+v", h)
			}
		}
	})
}
