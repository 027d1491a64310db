package sweep_test

import (
	"math"
	"testing"
	"time"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func mustNew(t testing.TB, c sweep.Config) *sweep.Sweep {
	t.Helper()
	s, err := sweep.New(c)
	require.NoError(t, err)
	return s
}

// scipy.signal.chirp(method='logarithmic', phi=-90), by
// testdata/reference/sweep.py.
func TestSamplesEqualSciPyLogarithmicChirp(t *testing.T) {
	var cases []struct {
		Name             string
		SampleRate       int
		Start, Stop      float64
		Wanted, Duration float64 // seconds
		Samples          int
		Index            []int
		Value            []float64
	}
	known.Values(t, "sweep.json", &cases)
	require.NotEmpty(t, cases)
	for _, c := range cases {
		t.Run(c.Name, func(t *testing.T) {
			const level = -6.5
			s := mustNew(t, sweep.Config{
				Start: c.Start, Stop: c.Stop, SampleRate: c.SampleRate, Level: level,
				Duration: time.Duration(c.Wanted * float64(time.Second)),
				FadeIn:   -1, FadeOut: -1,
			})
			require.Equal(t, c.Samples, s.Len())
			assert.InDelta(t, c.Duration, s.Duration(), 1e-12, "the same formula in double precision")
			x, amplitude := s.Samples(), math.Pow(10, level/20)
			for i, k := range c.Index {
				require.InDelta(t, amplitude*c.Value[i], x[k], 1e-9, "sample %d; up to 10^6 rad in double precision", k)
			}
		})
	}
}

// A sweep of another program is reproduced exactly: t1, f0, f1 and phi of scipy.signal.chirp.
func TestTimeConstantAndPhaseAreTaken(t *testing.T) {
	const lasts, phase = 6.0, 2.34
	s := mustNew(t, sweep.Config{TimeConstant: lasts / math.Log(1000), Phase: phase, FadeIn: -1, FadeOut: -1})
	assert.InDelta(t, lasts, s.Duration(), 1e-12, "double precision")
	assert.Equal(t, 288000, s.Len())
	assert.InDelta(t, math.Sin(phase), s.Samples()[0], 1e-12, "double precision")
	turns := phase/(2*math.Pi) - 20*s.TimeConstant()
	assert.InDelta(t, 2*math.Pi*(turns-math.Round(turns)), s.Asynchrony(), 1e-12, "φ0 − 2π f1 L; double precision")
	assert.InDelta(t, 0, mustNew(t, sweep.Config{}).Asynchrony(), 1e-12, "synchronised; double precision")
}

func TestFadesAreRaisedCosinesAndLeaveTheRestAlone(t *testing.T) {
	for name, c := range map[string]struct {
		in, out         time.Duration
		wantIn, wantOut float64 // seconds
	}{
		"one period of the start and 5 ms by default": {0, 0, 1.0 / 50, 0.005},
		"as told": {100 * time.Millisecond, 30 * time.Millisecond, 0.1, 0.03},
		"none":    {-1, -1, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			config := sweep.Config{Start: 50, Stop: 15000, Duration: 2 * time.Second}
			config.FadeIn, config.FadeOut = c.in, c.out
			x := mustNew(t, config).Samples()
			config.FadeIn, config.FadeOut = -1, -1
			plain := mustNew(t, config)
			worst := 0.0
			for i, v := range plain.Samples() {
				at := float64(i) / 48000
				w := 1.0
				if at < c.wantIn {
					w = math.Pow(math.Sin(math.Pi/2*at/c.wantIn), 2)
				}
				if rest := plain.Duration() - at; rest < c.wantOut {
					w = math.Pow(math.Sin(math.Pi/2*rest/c.wantOut), 2)
				}
				worst = max(worst, math.Abs(x[i]-w*v))
			}
			assert.Less(t, worst, 1e-12, "double precision")
		})
	}
}

func TestPeakIsTheLevelIndBFS(t *testing.T) {
	for _, level := range []float64{0, -3, -12, -60, -120} {
		s := mustNew(t, sweep.Config{Level: level, Duration: time.Second})
		var peak float64
		for _, v := range s.Samples() {
			peak = max(peak, math.Abs(v))
		}
		assert.LessOrEqual(t, peak, s.Amplitude(), "a full-scale sweep does not clip")
		assert.InDelta(t, level, 20*math.Log10(peak), 0.001, "some sample falls within 0.9° of a crest")
		assert.Equal(t, level, s.Level())
	}
}

func TestZeroConfigIsTheCommonCase(t *testing.T) {
	s := mustNew(t, sweep.Config{})
	assert.Equal(t, 20.0, s.Start())
	assert.Equal(t, 20000.0, s.Stop())
	assert.Equal(t, 48000, s.SampleRate())
	assert.Equal(t, 1.0, s.Amplitude())
	assert.InDelta(t, 6, s.Duration(), math.Log(1000)/20/2, "half of the step that synchronising rounds to")
	low := mustNew(t, sweep.Config{SampleRate: 8000})
	assert.Equal(t, 3600.0, low.Stop(), "0.45 of the sample rate")
}

func TestSamplesAreTheCallers(t *testing.T) {
	s := mustNew(t, sweep.Config{Duration: time.Second})
	x := s.Samples()
	want := x[1000]
	x[1000] = 17
	assert.Equal(t, want, s.Samples()[1000])
}

func TestImpossibleConfig(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		config sweep.Config
		says   string
	}{
		"sample rate too low":           {sweep.Config{SampleRate: 7999}, "sample rate 7999 Hz; choose one from 8000 to 384000 Hz"},
		"sample rate too high":          {sweep.Config{SampleRate: 384001}, "sample rate 384001 Hz"},
		"negative sample rate":          {sweep.Config{SampleRate: -48000}, "sample rate -48000 Hz"},
		"start below 0.1 Hz":            {sweep.Config{Start: 0.09}, "start frequency 0.09 Hz"},
		"negative start":                {sweep.Config{Start: -20}, "start frequency -20 Hz"},
		"start is not a number":         {sweep.Config{Start: nan}, "start frequency NaN Hz"},
		"infinite start":                {sweep.Config{Start: inf}, "start frequency +Inf Hz"},
		"stop below start":              {sweep.Config{Start: 200, Stop: 100}, "stop frequency 100 Hz is not above the start, 200 Hz"},
		"stop at start":                 {sweep.Config{Start: 200, Stop: 200}, "not above the start"},
		"negative stop":                 {sweep.Config{Stop: -1}, "not above the start"},
		"stop is not a number":          {sweep.Config{Stop: nan}, "stop frequency NaN Hz"},
		"stop above half the rate":      {sweep.Config{Stop: 24001}, "stop frequency 24001 Hz is above half the sample rate, 24000 Hz"},
		"infinite stop":                 {sweep.Config{Stop: inf}, "above half the sample rate"},
		"negative duration":             {sweep.Config{Duration: -time.Second}, "duration -1s"},
		"duration beyond 10 min":        {sweep.Config{Duration: 601 * time.Second}, "duration 10m1s"},
		"too short for its start":       {sweep.Config{Duration: 100 * time.Millisecond}, "100ms is too short to start at 20 Hz and stop at 20000 Hz; take at least 0.345 s"},
		"no time constant":              {sweep.Config{TimeConstant: -1}, "time constant of -1 s"},
		"too large a time constant":     {sweep.Config{TimeConstant: 90}, "time constant of 90 s"},
		"time constant is not a number": {sweep.Config{TimeConstant: nan}, "time constant of NaN s"},
		"phase is not a number":         {sweep.Config{Phase: inf}, "starting phase of +Inf"},
		"level above full scale":        {sweep.Config{Level: 0.1}, "level 0.1 dBFS"},
		"level below all converters":    {sweep.Config{Level: -121}, "level -121 dBFS"},
		"level is not a number":         {sweep.Config{Level: nan}, "level NaN dBFS"},
		"fades longer than sweep":       {sweep.Config{Duration: time.Second, FadeIn: time.Second, FadeOut: time.Second}, "fades of 1s and 1s do not fit into a sweep of 1.04 s"},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := sweep.New(c.config)
			require.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "sweep: ")
			assert.Nil(t, s)
		})
	}
}

func TestLowestStartIsAccepted(t *testing.T) {
	assert.InDelta(t, 0.1, mustNew(t, sweep.Config{Start: 0.1, Duration: 10 * time.Minute}).Start(), 1e-15)
}

// The length that the message proposes is accepted.
func TestShortestDurationThatTheErrorOffersIsAccepted(t *testing.T) {
	_, err := sweep.New(sweep.Config{Duration: 172 * time.Millisecond})
	require.ErrorContains(t, err, "take at least 0.345 s")
	s := mustNew(t, sweep.Config{Duration: 345 * time.Millisecond})
	assert.InDelta(t, 1, s.Start()*s.TimeConstant(), 1e-12, "one turn of the first frequency per e-fold; double precision")
}

func BenchmarkSamples(b *testing.B) {
	s := mustNew(b, sweep.Config{SampleRate: 96000, Duration: 10 * time.Second})
	b.SetBytes(int64(8 * s.Len()))
	b.ReportAllocs()
	for b.Loop() {
		s.Samples()
	}
}
