package response_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/wav"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func mustSweep(t testing.TB, c sweep.Config) *sweep.Sweep {
	t.Helper()
	s, err := sweep.New(c)
	require.NoError(t, err)
	return s
}

func mustDeconvolver(t testing.TB, s *sweep.Sweep, c response.DeconvolverConfig) *response.Deconvolver {
	t.Helper()
	d, err := response.NewDeconvolver(s, c)
	require.NoError(t, err)
	return d
}

// common is the sweep of 20 Hz–20 kHz, 6 s, 48 kHz that most tests play, and
// its deconvolver, made once.
var common = sync.OnceValue(func() *response.Deconvolver {
	s, err := sweep.New(sweep.Config{})
	if err != nil {
		panic(err)
	}
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{})
	if err != nil {
		panic(err)
	}
	return d
})

// played is a recording of the sweep that begins after so many samples, with a
// second of silence at the end.
func played(s *sweep.Sweep, after int) []float64 {
	x := make([]float64, after+s.Len()+s.SampleRate())
	copy(x[after:], s.Samples())
	return x
}

// delayed is the sweep delayed by a fraction of a sample, by its formula.
func delayed(s *sweep.Sweep, samples, gain float64) []float64 {
	x := make([]float64, s.Len()+s.SampleRate())
	for i := range x {
		at := (float64(i) - samples) / float64(s.SampleRate())
		if at < 0 || at > s.Duration() {
			continue
		}
		x[i] = gain * math.Sin(s.PhaseAt(at))
		if rest := s.Duration() - at; rest < 0.005 { // the fades that come unless told otherwise
			x[i] *= math.Pow(math.Sin(math.Pi/2*rest/0.005), 2)
		}
		if fade := 1 / s.Start(); at < fade {
			x[i] *= math.Pow(math.Sin(math.Pi/2*at/fade), 2)
		}
	}
	return x
}

// device has a resonance, a weak bass and a falling treble.
func device(sampleRate float64) biquad.Chain {
	return biquad.Chain{
		biquad.New(biquad.Peaking, 3000, 3, 6, sampleRate),
		biquad.New(biquad.LowShelf, 120, 0.7, -5, sampleRate),
		biquad.New(biquad.HighShelf, 9000, 0.8, -4, sampleRate),
	}
}

// errorsOver returns the largest error of a transfer function against the
// truth over a band, in dB and in degrees.
func errorsOver(tr *response.Transfer, low, high float64, truth func(f float64) complex128) (level, phase float64) {
	for k, v := range tr.Bins {
		if f := tr.Frequency(k); f >= low && f <= high {
			e := v / truth(f)
			level = max(level, math.Abs(20*math.Log10(cmplx.Abs(e))))
			phase = max(phase, math.Abs(cmplx.Phase(e))*180/math.Pi)
		}
	}
	return level, phase
}

// The cookbook's filters have a closed form; the wanted accuracy is 0.02 dB
// from 25 Hz to 18 kHz, 0.1 dB from 20 Hz to 20 kHz and 0.2°.
func TestKnownFilters(t *testing.T) {
	const delay = 4800
	for name, c := range map[string]struct {
		sweep         sweep.Config
		before, after time.Duration
	}{
		"the common case":          {sweep.Config{}, 0, 0},
		"a longer window":          {sweep.Config{}, 240 * time.Millisecond, 900 * time.Millisecond},
		"3 s":                      {sweep.Config{Duration: 3 * time.Second}, 0, 0},
		"96 kHz, quiet":            {sweep.Config{SampleRate: 96000, Level: -40, Duration: 3 * time.Second}, 0, 0},
		"44.1 kHz to its very end": {sweep.Config{SampleRate: 44100, Stop: 22050, Duration: 3 * time.Second}, 0, 0},
	} {
		t.Run(name, func(t *testing.T) {
			s := mustSweep(t, c.sweep)
			fs := float64(s.SampleRate())
			filters := device(fs)
			x := played(s, delay)
			filters.Apply(x)
			h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(x)
			require.NoError(t, err)
			window, err := h.Window(c.before, c.after)
			require.NoError(t, err)
			assert.Equal(t, response.Band{Low: s.Start(), High: s.Stop()}, window.Valid)
			tr := window.Transfer().Delayed(-delay / fs)
			truth := func(f float64) complex128 { return filters.Response(f, fs) }
			level, phase := errorsOver(tr, 25, 18000, truth)
			assert.Less(t, level, 0.001, "dB; 20 times better than wanted, regularisation and the window's cut")
			assert.Less(t, phase, 0.01, "degrees; 20 times better than wanted")
			level, phase = errorsOver(tr, 20, 20000, truth)
			assert.Less(t, level, 0.003, "dB at the very ends; regularisation where the fades have taken the sweep's power")
			assert.Less(t, phase, 0.01, "degrees")
		})
	}
}

// sox implements the cookbook's filters by itself, and reads and writes the
// files: a device that nobody here wrote.
func TestSoxAsTheDevice(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("sox is not installed")
	}
	const delay = 2400
	d := common()
	s := d.Sweep()
	folder := t.TempDir()
	in, out := filepath.Join(folder, "played.wav"), filepath.Join(folder, "recorded.wav")
	var x []float64
	for _, v := range played(s, delay) {
		x = append(x, 0.25*v) // room for the device's gain
	}
	f, err := os.Create(in)
	require.NoError(t, err)
	require.NoError(t, wav.Write(f, s.SampleRate(), [][]float64{x}, wav.Options{Format: wav.Format{Bits: 32, Float: true}}))
	require.NoError(t, f.Close())
	said, err := exec.Command("sox", in, "-e", "floating-point", "-b", "32", out,
		"equalizer", "3000", "3q", "6", "bass", "-5", "120", "0.7q", "treble", "-4", "9000", "0.8q").CombinedOutput()
	require.NoError(t, err, string(said))
	recorded, err := os.Open(out)
	require.NoError(t, err)
	defer recorded.Close()
	info, err := recorded.Stat()
	require.NoError(t, err)
	file, err := wav.Read(recorded, info.Size())
	require.NoError(t, err)

	h, err := d.Impulse(file.Channels[0])
	require.NoError(t, err)
	window, err := h.Window(0, 0)
	require.NoError(t, err)
	tr := window.Transfer().Delayed(-delay / 48000.0)
	filters := device(48000)
	truth := func(f float64) complex128 { return 0.25 * filters.Response(f, 48000) }
	level, phase := errorsOver(tr, 25, 18000, truth)
	assert.Less(t, level, 0.02, "dB; as wanted")
	assert.Less(t, phase, 0.2, "degrees; as wanted")
	level, _ = errorsOver(tr, 20, 20000, truth)
	assert.Less(t, level, 0.1, "dB; as wanted")
}

// The impulse response of a wire is 1 at its delay over the band that the
// sweep covers.
func TestImpulseOfAWire(t *testing.T) {
	d := common()
	x := played(d.Sweep(), 1000)
	h, err := d.Impulse(x)
	require.NoError(t, err)
	peak, err := h.Peak()
	require.NoError(t, err)
	assert.Equal(t, 1000, peak-h.Zero)
	assert.InDelta(t, 1000/48000.0, h.Time(peak), 1e-12, "double precision")
	assert.InDelta(t, 2*20000.0/48000, h.Samples[peak], 0.01, "gain 1 over this share of the band, and 200 Hz of skirt")
	assert.Equal(t, 48000, h.SampleRate)
	assert.Greater(t, h.Prominence(), 100.0)
	again, err := d.Impulse(x)
	require.NoError(t, err)
	assert.Equal(t, h, again, "the recording and the deconvolver are left alone")
}

func TestDeconvolverIsSharedByGoroutines(t *testing.T) {
	d := mustDeconvolver(t, mustSweep(t, sweep.Config{Duration: 500 * time.Millisecond}), response.DeconvolverConfig{})
	x := played(d.Sweep(), 100)
	want, err := d.Impulse(x)
	require.NoError(t, err)
	parts, err := d.Separate(x)
	require.NoError(t, err)
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			h, err := d.Impulse(x)
			assert.NoError(t, err)
			assert.Equal(t, want.Samples, h.Samples)
			p, err := d.Separate(x)
			assert.NoError(t, err)
			assert.Equal(t, parts.Harmonics.Samples, p.Harmonics.Samples)
			window, err := h.Window(0, 0)
			assert.NoError(t, err)
			window.Transfer()
		})
	}
	wait.Wait()
}

// A memoryless device's n-th harmonic of the sweep is a sin(n φ(t)), exactly
// and without aliasing; it is faded out below half the sample rate.
func addHarmonic(x []float64, s *sweep.Sweep, after, n int, amplitude float64) {
	fs := float64(s.SampleRate())
	for i := range s.Len() {
		at := float64(i) / fs
		f := float64(n) * s.FrequencyAt(at)
		w := min(1, max(0, (0.48*fs-f)/(0.02*fs)))
		x[after+i] += amplitude * math.Pow(math.Sin(math.Pi/2*w), 2) * math.Sin(float64(n)*s.PhaseAt(at))
	}
}

func TestExactHarmonics(t *testing.T) {
	const delay = 4800
	d := common()
	s := d.Sweep()
	filters := device(48000)
	linear := played(s, delay)
	filters.Apply(linear) // its ringing reaches the places where harmonics stand
	for name, decibel := range map[string]float64{"40 dB down": -40, "90 dB down": -90, "110 dB down": -110} {
		t.Run(name, func(t *testing.T) {
			x := slices.Clone(linear)
			amplitude := math.Pow(10, decibel/20)
			for n := 2; n <= 5; n++ {
				addHarmonic(x, s, delay, n, amplitude)
			}
			parts, err := d.Separate(x)
			require.NoError(t, err)
			assert.Same(t, s, parts.Sweep)
			assert.Equal(t, 5, parts.Orders)
			for n := 2; n <= 5; n++ {
				at := delay/48000.0 - s.HarmonicAdvance(n)
				gap := func(n int) time.Duration {
					return time.Duration(0.45 * (s.HarmonicAdvance(n+1) - s.HarmonicAdvance(n)) * float64(time.Second))
				}
				tr := parts.Harmonics.WindowAt(at, gap(n), gap(n-1)).Transfer().Delayed(-at)
				top := min(21000, 20000*float64(n)) // above the sweep's own stop where n allows
				truth := func(float64) complex128 { return complex(amplitude, 0) }
				for _, band := range []struct{ from, worst float64 }{{40, 0.005}, {25, 0.16}} { // Hz of the fundamental; dB
					level, phase := errorsOver(tr, band.from*float64(n), top, truth)
					assert.Less(t, level, band.worst, "order %d from %g Hz; the sweep's beginning ripples", n, band.from)
					assert.Less(t, phase, 50*band.worst, "order %d from %g Hz, degrees", n, band.from)
				}
			}
			window, err := parts.Linear.Window(0, 0)
			require.NoError(t, err)
			level, _ := errorsOver(window.Transfer(), 25, 18000, func(f float64) complex128 { return filters.Response(f, 48000) })
			assert.Less(t, level, 0.02, "dB; the linear response is left as it is by harmonics 40 dB down")
		})
	}
}

func TestHarmonicsOfAWireAreNothing(t *testing.T) {
	d := common()
	parts, err := d.Separate(played(d.Sweep(), 300))
	require.NoError(t, err)
	largest := 0.0
	for i, v := range parts.Harmonics.Samples {
		if parts.Harmonics.Time(i) < -0.2 {
			largest = max(largest, math.Abs(v))
		}
	}
	assert.Less(t, 20*math.Log10(largest), -110.0, "dB under the linear peak of 1")
}

func TestRecordingThatIsUnfit(t *testing.T) {
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	d := mustDeconvolver(t, s, response.DeconvolverConfig{Longest: 3 * time.Second})
	constant := make([]float64, s.Len())
	for i := range constant {
		constant[i] = 0.25
	}
	broken := played(s, 0)
	broken[4800] = math.NaN()
	infinite := played(s, 0)
	infinite[0] = math.Inf(-1)
	for name, c := range map[string]struct {
		recording []float64
		want      error
		says      string
	}{
		"too long":        {make([]float64, 3*48000+1), response.ErrTooLong, "3.000 s, made for 3.000 s"},
		"too short":       {s.Samples()[1:], response.ErrTooShort, "record the whole sweep and its decay"},
		"nothing at all":  {nil, response.ErrTooShort, "0.000 s of recording"},
		"zeros":           {make([]float64, s.Len()), response.ErrSilent, "every sample has the same value"},
		"an input offset": {constant, response.ErrSilent, "check that the input was connected"},
		"not a number":    {broken, response.ErrNotFinite, "NaN at 0.100 s; export the recording again"},
		"infinite":        {infinite, response.ErrNotFinite, "-Inf at 0.000 s"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := d.Impulse(c.recording)
			require.ErrorIs(t, err, c.want)
			assert.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "response: ")
			_, err = d.Separate(c.recording)
			require.ErrorIs(t, err, c.want)
		})
	}
}

func TestDeconvolverThatCannotBe(t *testing.T) {
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	for name, c := range map[string]struct {
		config response.DeconvolverConfig
		says   string
	}{
		"no room for the sweep": {response.DeconvolverConfig{Longest: time.Second}, "recordings of 1s cannot hold a sweep of 1.04 s"},
		"negative room":         {response.DeconvolverConfig{Longest: -time.Second}, "recordings of -1s cannot hold"},
		"days":                  {response.DeconvolverConfig{Longest: 48 * time.Hour}, "at most 1h0m0s"},
		"negative orders":       {response.DeconvolverConfig{Orders: -1}, "room for -1 harmonics; choose 1 to 100"},
		"too many orders":       {response.DeconvolverConfig{Orders: 101}, "room for 101 harmonics"},
	} {
		_, err := response.NewDeconvolver(s, c.config)
		assert.ErrorContains(t, err, c.says, name)
	}
}

// Somebody started the recorder late, or stopped it early. Dividing would
// still give a response, wrong at one end of the band.
func TestRecordingThatIsCutOff(t *testing.T) {
	d := common()
	s := d.Sweep()
	whole := played(s, 4800)
	second := make([]float64, 48000)
	for name, c := range map[string]struct {
		recording []float64
		says      string // empty: it will do
	}{
		"whole":                   {whole, ""},
		"not a sample too much":   {s.Samples(), ""},
		"5 ms late":               {whole[4800+240:], ""},
		"0.2 s late":              {whole[4800+9600:], "the sweep begins 0.200 s before the recording does; start the recorder first"},
		"4 s late":                {slices.Concat(whole[4800+4*48000:], second, second, second), "the sweep begins 4.000 s before"},
		"5 ms early at the end":   {slices.Concat(second, s.Samples()[:s.Len()-240]), ""},
		"0.15 s early at the end": {slices.Concat(second, s.Samples()[:s.Len()-7200]), "the recording ends 0.150 s before the sweep does; let the recorder run on"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := d.Separate(c.recording)
			if c.says == "" {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, response.ErrCutOff)
			assert.ErrorContains(t, err, c.says)
		})
	}
}

// addNoise adds noise of a power relative to the sweep's. White noise is as it
// comes, blue its difference, pink nearly so a leaky sum.
func addNoise(x []float64, s *sweep.Sweep, decibel float64, colour string, random *rand.Rand) {
	noise := make([]float64, len(x))
	var last, sum float64
	for i := range noise {
		w := random.NormFloat64()
		switch colour {
		case "white":
			noise[i] = w
		case "blue":
			noise[i], last = w-last, w
		case "red":
			last = 0.999*last + w
			noise[i] = last
		}
		sum += noise[i] * noise[i]
	}
	rms := s.Amplitude() / math.Sqrt2 * math.Pow(10, decibel/20)
	gain := rms / math.Sqrt(sum/float64(len(x)))
	for i := range x {
		x[i] += gain * noise[i]
	}
}

// What minProminence says in its comment.
func TestSweepIsRecognisedInNoise(t *testing.T) {
	d := common()
	s := d.Sweep()
	for _, c := range []struct {
		noise   float64 // dB above the sweep
		colour  string
		expects float64 // dB of prominence
	}{
		{-10, "white", 56}, {0, "white", 46}, {10, "white", 36},
		{-10, "blue", 54}, {0, "blue", 44}, {10, "blue", 34},
		{-10, "red", 48}, {0, "red", 37},
	} {
		x := played(s, 4800)
		addNoise(x, s, c.noise, c.colour, rand.New(rand.NewPCG(7, 1)))
		h, err := d.Impulse(x)
		require.NoError(t, err)
		assert.InDelta(t, c.expects, h.Prominence(), 3, "%s noise at %g dB; it is random", c.colour, c.noise)
		delay, err := h.Delay()
		require.NoError(t, err, "%s noise at %g dB", c.colour, c.noise)
		assert.InDelta(t, 0.1, delay, 1.0/48000, "a sample")
	}
}

func TestWhatDoesNotHoldTheSweepHasNoPeak(t *testing.T) {
	d := common()
	s := d.Sweep()
	long := s.Len() + 48000
	other := func(c sweep.Config) []float64 { return played(mustSweep(t, c), 2400) }
	noise := func(colour string) []float64 {
		x := make([]float64, long)
		addNoise(x, s, 0, colour, rand.New(rand.NewPCG(3, 9)))
		return x
	}
	shape := func(f func(at float64) float64) []float64 {
		x := make([]float64, long)
		for i := range x {
			x[i] = f(float64(i) / 48000)
		}
		return x
	}
	reversed := played(s, 2400)
	slices.Reverse(reversed)
	for name, x := range map[string][]float64{
		"white noise":             noise("white"),
		"blue noise":              noise("blue"),
		"red noise":               noise("red"),
		"hum":                     shape(func(at float64) float64 { return math.Sin(2 * math.Pi * 50 * at) }),
		"a tone":                  shape(func(at float64) float64 { return math.Sin(2 * math.Pi * 1000 * at) }),
		"a step":                  shape(func(at float64) float64 { return math.Floor(at / 3) }),
		"the sweep reversed":      reversed,
		"a linear sweep":          shape(func(at float64) float64 { return math.Sin(2 * math.Pi * (20*at + 19980*at*at/12)) }),
		"a shorter sweep":         other(sweep.Config{Duration: 4 * time.Second}),
		"a sweep 6 % shorter":     other(sweep.Config{Duration: time.Duration((s.Duration() - 0.34) * float64(time.Second))}),
		"a sweep from 10 Hz":      other(sweep.Config{Start: 10}),
		"a sweep to 10 kHz":       other(sweep.Config{Stop: 10000}),
		"a sweep of 100 to 4 kHz": other(sweep.Config{Start: 100, Stop: 4000}),
		"the timing mark":         slices.Concat(make([]float64, 9600), s.Mark(), make([]float64, s.Len())),
	} {
		t.Run(name, func(t *testing.T) {
			if n := s.Len() - len(x); n > 0 {
				x = append(slices.Clone(x), make([]float64, n)...)
			}
			h, err := d.Impulse(x)
			require.NoError(t, err)
			_, err = h.Peak()
			require.ErrorIs(t, err, response.ErrNoPeak)
			assert.ErrorContains(t, err, "check that the recording is of this sweep")
			assert.Less(t, h.Prominence(), 22.0, "dB; 2 below what is asked of a sweep")
		})
	}
	_, err := d.Separate(noise("white"))
	require.ErrorIs(t, err, response.ErrNoPeak)
}

func BenchmarkNewDeconvolver(b *testing.B) {
	s := mustSweep(b, sweep.Config{})
	b.ReportAllocs()
	for b.Loop() {
		mustDeconvolver(b, s, response.DeconvolverConfig{})
	}
}

func BenchmarkImpulse(b *testing.B) {
	d := common()
	x := played(d.Sweep(), 4800)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.Impulse(x); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSeparate(b *testing.B) {
	d := common()
	x := played(d.Sweep(), 4800)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.Separate(x); err != nil {
			b.Fatal(err)
		}
	}
}
