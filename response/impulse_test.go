package response_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/taper"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A sweep delayed by a fraction of a sample, by its formula.
func TestDelayToAFractionOfASample(t *testing.T) {
	race.Skip(t)
	d := mustDeconvolver(t, mustSweep(t, sweep.Config{Duration: 2 * time.Second}), response.DeconvolverConfig{})
	for _, samples := range []float64{0, 0.1, 0.25, 0.5, 100.37, 4800.9} {
		for name, gain := range map[string]float64{"": 1, "reversed polarity, quiet": -0.01} {
			h, err := d.Impulse(delayed(d.Sweep(), samples, gain))
			require.NoError(t, err)
			delay, err := h.Delay()
			require.NoError(t, err)
			assert.InDelta(t, samples, delay*48000, 0.005, "samples; %s four times better than required", name)
		}
	}
}

func TestDelayInNoise(t *testing.T) {
	d := common()
	for seed := range uint64(3) {
		x := delayed(d.Sweep(), 100.37, -1)
		addNoise(x, d.Sweep(), -40, "white", rand.New(rand.NewPCG(seed, 2)))
		h, err := d.Impulse(x)
		require.NoError(t, err)
		delay, err := h.Delay()
		require.NoError(t, err)
		assert.InDelta(t, 100.37, delay*48000, 0.02, "samples; the required accuracy, with noise 40 dB below the sweep")
	}
}

func TestDelayOfAnOddBand(t *testing.T) {
	d := mustDeconvolver(t, mustSweep(t, sweep.Config{Start: 100, Stop: 8000, Duration: 2 * time.Second, SampleRate: 44100}), response.DeconvolverConfig{})
	h, err := d.Impulse(delayed(d.Sweep(), 33.7, 1))
	require.NoError(t, err)
	delay, err := h.Delay()
	require.NoError(t, err)
	assert.InDelta(t, 33.7, delay*44100, 0.02, "samples; as wanted")
}

func TestWindowKeepsTimeAndTapersItsEnds(t *testing.T) {
	h := &response.Impulse{Samples: make([]float64, 4000), SampleRate: 1000, Zero: 500, Valid: response.Band{Low: 1, High: 500}}
	for i := range h.Samples {
		h.Samples[i] = 1
	}
	w := h.WindowAt(1, 200*time.Millisecond, 400*time.Millisecond) // around sample 1500
	require.Len(t, w.Samples, 601)
	assert.InDelta(t, 0.8, w.Time(0), exact, "it begins 0.2 s before 1 s")
	assert.InDelta(t, 1.4, w.Time(600), exact, "and ends 0.4 s after it")
	for i, v := range w.Samples {
		want := 1.0
		if i < 100 { // the first half of the part before
			want = math.Pow(math.Sin(math.Pi/2*(float64(i)+0.5)/100), 2)
		}
		if left := 600 - i; left < 100 { // the last quarter of the part after
			want = math.Pow(math.Sin(math.Pi/2*(float64(left)+0.5)/100), 2)
		}
		require.InDelta(t, want, v, 1e-12, "sample %d; double precision", i)
	}
	assert.InDelta(t, 4*1000.0/401, w.Valid.Low, exact, "four periods in the part after")
	assert.Equal(t, 500.0, w.Valid.High)
	var power float64
	for _, v := range w.Samples {
		power += v * v / 601
	}
	assert.InDelta(t, taper.WindowPower(200*time.Millisecond, 400*time.Millisecond), power, 0.001, "of 601 samples")

	outside := h.WindowAt(-0.6, 100*time.Millisecond, 200*time.Millisecond)
	assert.Equal(t, 0.0, outside.Samples[0], "what lies outside the samples is zero")
	assert.Greater(t, outside.Samples[230], 0.5)
}

func TestWindowDefaultsAndErrors(t *testing.T) {
	d := common()
	h, err := d.Impulse(played(d.Sweep(), 4800))
	require.NoError(t, err)
	w, err := h.Window(0, 0)
	require.NoError(t, err)
	assert.Len(t, w.Samples, 9600+24000+1)
	peak, err := w.Peak()
	require.NoError(t, err)
	assert.InDelta(t, 0.1, w.Time(peak), 1e-9, "time zero stays where it was")
	assert.Equal(t, 20.0, w.Valid.Low)
	short, err := h.Window(5*time.Millisecond, 5*time.Millisecond)
	require.NoError(t, err)
	assert.InDelta(t, 800, short.Valid.Low, 4, "5 ms after the peak hold four periods of 800 Hz")
	peak, err = short.Peak()
	require.NoError(t, err, "a response too short to have a rest has its peak")
	assert.Equal(t, 240, peak)
	_, err = h.Window(-1, 0)
	assert.ErrorContains(t, err, "give two lengths above zero")
	_, err = h.Window(0, -1)
	assert.ErrorContains(t, err, "give two lengths above zero")
}

func TestResponseWithoutAPeak(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	noise, broken := make([]float64, 48000), make([]float64, 48000)
	for i := range noise {
		noise[i] = random.NormFloat64()
	}
	broken[30000], broken[5] = 1, math.NaN()
	for name, x := range map[string][]float64{"noise": noise, "zeros": make([]float64, 48000), "nothing": nil, "not a number": broken} {
		h := &response.Impulse{Samples: x, SampleRate: 48000, Valid: response.AllFrequencies}
		_, err := h.Peak()
		require.ErrorIs(t, err, response.ErrNoPeak, name)
		_, err = h.Delay()
		require.ErrorIs(t, err, response.ErrNoPeak, name)
		_, err = h.Window(0, 0)
		require.ErrorIs(t, err, response.ErrNoPeak, name)
	}
}

// A unit impulse at a time has the transfer function exp(−j2πfτ).
func TestTransferOfAnImpulse(t *testing.T) {
	h := &response.Impulse{Samples: make([]float64, 480), SampleRate: 48000, Zero: 100, Valid: response.Band{Low: 20, High: 20000}}
	h.Samples[148] = 2 // 1 ms after time zero
	tr := h.TransferAbout(0, 480)
	assert.Equal(t, 480, tr.Len)
	assert.GreaterOrEqual(t, h.Transfer().Len, 2*48000, "bins of half a hertz or finer by default")
	for k, v := range tr.Bins {
		f := tr.Frequency(k)
		assert.InDelta(t, 2*math.Cos(2*math.Pi*f/1000), real(v), 1e-9, "%g Hz; double precision", f)
		assert.InDelta(t, -2*math.Sin(2*math.Pi*f/1000), imag(v), 1e-9, "%g Hz; double precision", f)
	}
	fine := h.TransferAbout(0, 4800)
	assert.InDelta(t, 0, real(fine.Bins[10]-tr.Bins[1]), 1e-9, "more points interpolate")
	assert.Panics(t, func() { h.TransferAbout(0, 479) })
	back := tr.Delayed(-0.001)
	assert.InDelta(t, 2, real(back.Bins[7]), 1e-9, "the delay taken out")
	assert.InDelta(t, 0, imag(back.Bins[7]), 1e-9, "the delay taken out")
}

// The impulse response of a transfer function has the delay and the shape of the one from which it
// came.
func TestImpulseOfATransfer(t *testing.T) {
	d := common()
	x := delayed(d.Sweep(), 300.25, 1)
	biquad.New(biquad.Peaking, 3000, 3, 6, 48000).Apply(x)
	h, err := d.Impulse(x)
	require.NoError(t, err)
	w, err := h.Window(0, 0)
	require.NoError(t, err)
	want, err := w.Delay()
	require.NoError(t, err)
	back := w.Transfer().Delayed(-0.005).Impulse()
	got, err := back.Delay()
	require.NoError(t, err)
	assert.InDelta(t, want-0.005, got, 0.05/48000, "a twentieth of a sample; the skirt above the band is cut off")
	assert.Equal(t, w.Valid, back.Valid)
}

// A unit pulse with the phase counted from its own time is 1 at every frequency. Counted from d
// seconds earlier its phase is −2πfd.
func TestPhaseIsCountedFromTheTimeGiven(t *testing.T) {
	h := &response.Impulse{Samples: make([]float64, 100), SampleRate: 8000, Zero: 10, Valid: response.AllFrequencies}
	h.Samples[37] = 1
	at := h.Time(37)
	const d = 0.00123
	early := h.TransferAbout(at-d, 1200)
	for k, v := range h.TransferAbout(at, 1200).Bins {
		require.InDelta(t, 0, cmplx.Abs(v-1), 1e-13, "rounding of the angle of some 10 turns")
		want := cmplx.Rect(1, -2*math.Pi*early.Frequency(k)*d)
		require.InDelta(t, 0, cmplx.Abs(early.Bins[k]-want), 1e-13, "the same")
	}
}
