package response_test

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/internal/wav"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The cookbook's filters have a closed form. The required accuracy is 0.02 dB from 25 Hz to 18 kHz,
// 0.1 dB from 20 Hz to 20 kHz, and 0.2°.
func TestKnownFilters(t *testing.T) {
	race.Skip(t)
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
			assert.Less(t, level, 0.001, "dB; 20 times better than required, for regularisation and the ends of the window")
			assert.Less(t, phase, 0.01, "degrees; 20 times better than required")
			level, phase = errorsOver(tr, 20, 20000, truth)
			assert.Less(t, level, 0.003, "dB at the ends of the band, where the sweep fades and regularisation matters")
			assert.Less(t, phase, 0.01, "degrees")
		})
	}
}

// sox has its own implementation of the cookbook's filters, and reads and writes the files: a
// device independent of this project.
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
	file, err := wav.Read(recorded, info.Size(), 1<<30)
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
	enormous := played(s, 0)
	for i := range enormous {
		enormous[i] = math.MaxFloat64
	}
	enormous[0] = 0
	for name, c := range map[string]struct {
		recording []float64
		want      error
		says      string
	}{
		"enormous":        {enormous, response.ErrNotFinite, "too large; export them with full scale 1"},
		"too long":        {make([]float64, 3*48000+1), response.ErrTooLong, "3.000 s, made for 3.000 s"},
		"too short":       {s.Samples()[1:], response.ErrTooShort, "record the whole sweep and its decay"},
		"half of it":      {s.Samples()[:24000], response.ErrTooShort, "0.500 s of recording, 1.0"},
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

func TestImpossibleDeconvolvers(t *testing.T) {
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

// The recorder was started late, or stopped early. Division would still give a response, wrong at
// one end of the band.
func TestRecordingThatIsCutOff(t *testing.T) {
	race.Skip(t)
	d := common()
	s := d.Sweep()
	whole := played(s, 4800)
	second := make([]float64, 48000)
	for name, c := range map[string]struct {
		recording []float64
		says      string // empty: the recording is accepted
	}{
		"whole":                   {whole, ""},
		"not a sample too much":   {s.Samples(), ""},
		"5 ms late":               {whole[4800+240:], ""},
		"0.2 s late":              {whole[4800+9600:], "the sweep begins 0.200 s before the recording does; start the recorder first"},
		"1.9 s late, cut short":   {slices.Concat(whole[4800+91200:], second, second)[:s.Len()], "the sweep begins 1.900 s before"},
		"4 s late":                {slices.Concat(whole[4800+4*48000:], second, second, second), "the sweep begins 4.000 s before"},
		"2 s of it at the end":    {slices.Concat(second, second, second, second, second, s.Samples()[:s.Len()-4*48000]), "the recording ends 4.000 s before"},
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

// TestDeconvolverOfTheSameSweepAtAnotherLevel: the spectra that are shared change nothing; those of
// a sweep that differs otherwise are not shared.
func TestDeconvolverOfTheSameSweepAtAnotherLevel(t *testing.T) {
	long.Skip(t)
	made := func(c sweep.Config) *sweep.Sweep {
		c.Duration = 500 * time.Millisecond
		s, err := sweep.New(c)
		require.NoError(t, err)
		return s
	}
	first := made(sweep.Config{Level: -12})
	like, err := response.NewDeconvolver(first, response.DeconvolverConfig{})
	require.NoError(t, err)
	for name, s := range map[string]*sweep.Sweep{
		"the same":      first,
		"softer":        first.AtLevel(-40),
		"louder":        first.AtLevel(0),
		"made anew":     made(sweep.Config{Level: -20}),
		"another phase": made(sweep.Config{Level: -12, Phase: 1}),
		"other fades":   made(sweep.Config{Level: -12, FadeIn: 100 * time.Millisecond}),
	} {
		t.Run(name, func(t *testing.T) {
			x := make([]float64, s.Len()+48000)
			for i, v := range s.Samples() {
				x[4800+i] = 0.5*v + 0.1*v*v
			}
			x[100] += 1e-3 // noise
			var got []*response.Deconvolved
			for _, c := range []response.DeconvolverConfig{{Like: like}, {}} {
				d, err := response.NewDeconvolver(s, c)
				require.NoError(t, err)
				parts, err := d.Separate(x)
				require.NoError(t, err)
				got = append(got, parts)
			}
			assert.InDeltaSlice(t, got[1].Linear.Samples, got[0].Linear.Samples, 1e-10, "double precision")
			assert.InDeltaSlice(t, got[1].Harmonics.Samples, got[0].Harmonics.Samples, 1e-10)
			assert.InEpsilon(t, got[1].Unexplained, got[0].Unexplained, 1e-9)
			noise, err := response.NewNoise(x[:4800], 48000)
			require.NoError(t, err)
			floor := func(i int) []float64 {
				window, err := got[i].Linear.Window(0, 0)
				require.NoError(t, err)
				curve, err := window.Floor(noise, []float64{50, 1000, 10000})
				require.NoError(t, err)
				return curve.Level
			}
			assert.InDeltaSlice(t, floor(1), floor(0), 1e-9, "dB")
		})
	}
}
