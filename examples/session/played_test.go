package session_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/target/review"
)

// habit is a reviewer's own way of measuring: a file that was played, recorded straight back and
// through an invented pair.
type habit struct {
	*testing.T
	folder string
	pair   rig.Headphones
	rig    rig.Rig
}

func newHabit(t *testing.T) *habit {
	h := &habit{T: t, folder: t.TempDir()}
	h.pair, _, h.rig = rig.Demonstration()
	h.rig.Microphone, h.rig.Spill, h.rig.Drift = nil, rig.Spill{}, 0
	return h
}

func (h *habit) save(name string, channels [][]float64) {
	r := &capture.Recording{SampleRate: 48000, Format: capture.Format{Bits: 24}, Channels: channels}
	require.NoError(h, capture.Write(filepath.Join(h.folder, name), r, capture.WriteConfig{Overwrite: true}))
}

// play saves what is played and its two recordings, which are started a second early and run on for
// one.
func (h *habit) play(name string, channels [][]float64) {
	h.save(name, channels)
	if len(channels) == 1 {
		channels = [][]float64{channels[0], channels[0]}
	}
	around := make([][]float64, 2)
	for k, x := range channels {
		around[k] = append(append(make([]float64, 48000), x...), make([]float64, 48000)...)
	}
	h.save("direct.wav", h.rig.Direct(around))
	h.save("through.wav", h.rig.Through(h.pair, 0, around))
}

func (h *habit) review(file string) (*review.Results, error) {
	text := "[headphones]\nname = \"Finchale\"\n[rig]\nname = \"plate\"\n[stimulus]\nfile = \"" + file + "\"\n[direct]\nfile = \"direct.wav\"\n" +
		"[[seating]]\nleft = { file = \"through.wav\", channel = 1 }\nright = { file = \"through.wav\", channel = 2 }\n"
	require.NoError(h, os.WriteFile(filepath.Join(h.folder, "session.toml"), []byte(text), 0o600))
	s, err := session.Read(h.folder)
	require.NoError(h, err)
	return s.ReviewResponse(nil)
}

// sweepOf is a sweep as another program makes it: a second of silence, left, a second, right.
func sweepOf(law func(t float64) float64, seconds float64) []float64 {
	x := make([]float64, int(seconds*48000))
	for i := range x {
		turns := law(float64(i) / 48000)
		x[i] = 0.25 * math.Sin(2*math.Pi*(turns-math.Floor(turns)))
	}
	return x
}

func leftThenRight(x []float64) [][]float64 {
	pause := make([]float64, 48000)
	left := append(append(append([]float64{}, x...), pause...), make([]float64, len(x))...)
	right := append(append(make([]float64, len(x)), pause...), x...)
	return [][]float64{left, right}
}

func TestAFileThatWasPlayed(t *testing.T) {
	long.Skip(t)
	const seconds = 3.0
	l := seconds / math.Log(1000)
	exponential := sweepOf(func(t float64) float64 { return 0.372 + 20*l*math.Expm1(t/l) }, seconds)
	draw, noise := rand.New(rand.NewPCG(3, 4)), make([]float64, 10*48000)
	for i := range noise {
		noise[i] = 0.05 * draw.NormFloat64()
	}
	for name, c := range map[string]struct {
		channels [][]float64
		kind     string
		within   float64 // dB; the recorder's noise, and smoothing at the plate's reflection
	}{
		"left, then right":     {leftThenRight(exponential), "exponential sweep, 20 Hz to 20000 Hz", 0.5},
		"one channel for both": {[][]float64{exponential}, "exponential sweep, 20 Hz to 20000 Hz", 0.5},
		"linear":               {leftThenRight(sweepOf(func(t float64) float64 { return 20*t + 19980/6*t*t }, seconds)), "linear sweep", 0.5},
		"ten seconds of noise": {[][]float64{noise, noise}, "steady noise (white", 0.5},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHabit(t)
			h.play("played.wav", c.channels)
			r, err := h.review("played.wav")
			require.NoError(t, err)
			assert.Contains(t, strings.Join(r.Notes, "\n"), c.kind)
			require.Len(t, r.Sides(), 2)
			for k, side := range r.Sides() {
				for _, f := range []float64{50, 200, 1000, 4000, 12000} {
					want := 20 * math.Log10(cmplx.Abs(h.rig.Truth(h.pair, []rig.Side{rig.Left, rig.Right}[k], 0, f)))
					assert.InDelta(t, want, side.Response().At(f), c.within, "%s, %v Hz", side.Name, f)
				}
			}
			if strings.HasPrefix(c.kind, "exponential") {
				assert.NotEmpty(t, r.Left.Seatings[0].Harmonics.Orders)
			} else {
				assert.Contains(t, strings.Join(r.Notes, "\n"), "harmonics are not known with this signal")
				require.NoError(t, r.Judge(review.Criteria{}))
				require.NoError(t, report.Write(h.folder, r, true), "page, tables and results.json are written without distortion")
				page, err := os.ReadFile(filepath.Join(h.folder, "report.html"))
				require.NoError(t, err)
				assert.True(t, strings.Contains(string(page), "another signal was played"), "it says why distortion is not known")
			}
			for _, f := range r.Findings {
				assert.Equal(t, response.Note, f.Severity, f.String())
			}
		})
	}
}

// The played file may be missing: the direct recording replaces it.
func TestTheDirectRecordingAsReference(t *testing.T) {
	long.Skip(t)
	const seconds = 3.0
	l := seconds / math.Log(1000)
	h := newHabit(t)
	h.play("played.wav", leftThenRight(sweepOf(func(t float64) float64 { return 20 * l * math.Expm1(t/l) }, seconds)))
	want, err := h.review("played.wav")
	require.NoError(t, err)
	got, err := h.review("direct.wav")
	require.NoError(t, err)
	for k, side := range got.Sides() {
		for _, f := range response.LogGrid(30, 16000, 12) {
			assert.InDelta(t, want.Sides()[k].Response().At(f), side.Response().At(f), 0.1, "%s, %g Hz: the recorder's noise, divided by", side.Name, f)
		}
		reference := want.Sides()[k].Seatings[0].Harmonics.Harmonic(2, 300)
		assert.InDelta(t, reference.AsRead, side.Seatings[0].Harmonics.Harmonic(2, 300).AsRead, 0.3, "dB; the interface's own response")
	}
	for _, f := range got.Findings {
		assert.NotEqual(t, response.FindingKind("stimulus not as it was made"), f.Kind, "a direct recording is not the played file")
	}
}

func TestAFileThatCannotBeMeasuredWith(t *testing.T) {
	tone := sweepOf(func(t float64) float64 { return 1000 * t }, 2)
	short := make([]float64, 20*255)
	state := 1
	for i := range short { // x^8 + x^6 + x^5 + x^4 + 1
		short[i] = 0.25 - 0.5*float64(state&1)
		state = state>>1 | (state^state>>4^state>>5^state>>6)&1<<7
	}
	padded := make([]float64, 48000)
	noise := [2][]float64{}
	for k := range noise {
		draw := rand.New(rand.NewPCG(uint64(k), 9))
		for range 96000 {
			noise[k] = append(noise[k], 0.05*draw.NormFloat64())
		}
	}
	for name, c := range map[string]struct {
		channels [][]float64
		says     string
	}{
		"silence":              {[][]float64{padded}, "it holds only silence; name the file that was played"},
		"a tone":               {[][]float64{tone}, "steady tones, 1000 Hz for 2.000 s, the strongest at -12.04 dBFS; 100 % of the power; play a sweep or noise"},
		"short, over and over": {[][]float64{append(append([]float64{}, short...), short...)}, "before a response has died away; play a sequence of order 16 or more"},
		"two noises at a time": {[][]float64{noise[0], noise[1]}, "the channels play different signals"},
	} {
		h := newHabit(t)
		h.save("played.wav", c.channels)
		for _, other := range []string{"direct.wav", "through.wav"} {
			h.save(other, [][]float64{tone, tone})
		}
		_, err := h.review("played.wav")
		assert.ErrorIs(t, err, session.ErrSession, name)
		assert.ErrorContains(t, err, c.says, name)
	}
}

// Recordings of another signal than the one played, each named.
func TestPlayedAndRecordedAreNotTheSame(t *testing.T) {
	long.Skip(t)
	const seconds = 2.0
	l := seconds / math.Log(1000)
	exponential := func(t float64) float64 { return 20 * l * math.Expm1(t/l) }
	x := leftThenRight(sweepOf(exponential, seconds))
	noise := func(seed uint64) [][]float64 {
		draw, x := rand.New(rand.NewPCG(seed, 1)), make([]float64, 5*48000)
		for i := range x {
			x[i] = 0.05 * draw.NormFloat64()
		}
		return [][]float64{x}
	}
	for name, c := range map[string]struct {
		recorded, played [][]float64
		says             string
	}{
		"other noise":   {noise(1), noise(2), "check that this is a recording of the stimulus"},
		"another sweep": {leftThenRight(sweepOf(func(t float64) float64 { return 20*t + 19980/4*t*t }, seconds)), x, "the recording is of another sweep: it holds channel 1, 1.0"},
		"another speed": {leftThenRight(sweepOf(func(t float64) float64 { return exponential(t * 48000 / 44100) }, seconds*44100/48000)), x, "recorded at 1.0884 times the speed"},
	} {
		h := newHabit(t)
		h.play("other.wav", c.recorded)
		h.save("played.wav", c.played)
		_, err := h.review("played.wav")
		assert.ErrorContains(t, err, c.says, name)
	}
}

// A sweep that a limiter made softer, and one that contains another sound, are measured, with a
// finding about the doubt.
func TestAChangedReferenceIsReported(t *testing.T) {
	long.Skip(t)
	const seconds = 2.0
	l := seconds / math.Log(1000)
	draw := rand.New(rand.NewPCG(5, 6))
	for says, spoil := range map[string]func(i int, v float64) float64{
		"a limiter or an equaliser changed it": func(i int, v float64) float64 { return v * (1 - 0.2/(1+math.Exp(float64(48000-i)/4800))) },
		"as from a lossy coder":                func(_ int, v float64) float64 { return v + 0.003*draw.NormFloat64() },
	} {
		x := sweepOf(func(t float64) float64 { return 20 * l * math.Expm1(t/l) }, seconds)
		for i := range x {
			x[i] = spoil(i, x[i])
		}
		h := newHabit(t)
		h.play("played.wav", leftThenRight(x))
		r, err := h.review("played.wav")
		require.NoError(t, err)
		said := ""
		for _, f := range r.Findings {
			if f.Kind == "stimulus not as it was made" {
				said += f.String() + "\n"
			}
		}
		assert.Contains(t, said, says)
	}
}

// A file at 44.1 kHz that the player brought to the 48 kHz of the recorder: the same sweep, made at
// both rates by its formula.
func TestAFileAtAnotherRate(t *testing.T) {
	long.Skip(t)
	const seconds = 3.0
	l := seconds / math.Log(1000)
	law := func(t float64) float64 { return 0.372 + 20*l*math.Expm1(t/l) }
	h := newHabit(t)
	h.play("played.wav", leftThenRight(sweepOf(law, seconds)))
	want, err := h.review("played.wav")
	require.NoError(t, err)
	slow := make([]float64, int(seconds*44100))
	for i := range slow {
		turns := law(float64(i) / 44100)
		slow[i] = 0.25 * math.Sin(2*math.Pi*(turns-math.Floor(turns)))
	}
	other := &capture.Recording{SampleRate: 44100, Format: capture.Format{Bits: 24}, Channels: [][]float64{
		append(append([]float64{}, slow...), make([]float64, len(slow)+44100)...), append(make([]float64, len(slow)+44100), slow...)}}
	require.NoError(t, capture.Write(filepath.Join(h.folder, "cd.wav"), other, capture.WriteConfig{}))
	_, err = h.review("cd.wav")
	assert.ErrorContains(t, err, "cd.wav is at 44100 Hz and [direct] direct.wav at 48000 Hz; add resample = true")

	got, err := h.review("cd.wav\"\nresample = true\n#\"")
	require.NoError(t, err)
	assert.Contains(t, strings.Join(got.Notes, "\n"), "cd.wav was converted from 44100 Hz to 48000 Hz, accurate to 0.002 dB up to 20.3 kHz.")
	for k, side := range got.Sides() {
		for _, f := range response.LogGrid(25, 18000, 12) {
			assert.InDelta(t, want.Sides()[k].Response().At(f), side.Response().At(f), 0.02, "%s, %g Hz", side.Name, f)
		}
	}
}

// Right before left, and an evening of plays of a file.
func TestPlaysOfAFile(t *testing.T) {
	long.Skip(t)
	const seconds = 2.0
	l := seconds / math.Log(1000)
	x := leftThenRight(sweepOf(func(t float64) float64 { return 0.2 + 20*l*math.Expm1(t/l) }, seconds))
	x[0], x[1] = x[1], x[0]
	h := newHabit(t)
	h.play("played.wav", x)
	r, err := h.review("played.wav")
	require.NoError(t, err)
	assert.Len(t, r.Sides(), 2)
	pause := func(x [][]float64) (out [][]float64) {
		for _, c := range x {
			out = append(out, append(append(make([]float64, 96000), c...), make([]float64, 96000)...))
		}
		return out
	}
	var evening [2][]float64
	for i := range 3 {
		for k, c := range h.rig.Through(h.pair, i, pause(x)) {
			evening[k] = append(evening[k], c...)
		}
	}
	h.save("evening.wav", evening[:])
	text := "[headphones]\nname = \"Finchale\"\n[rig]\nname = \"plate\"\n[stimulus]\nfile = \"played.wav\"\n[direct]\nfile = \"direct.wav\"\n" +
		"[[seating]]\nevery_play = true\nleft = { file = \"evening.wav\", channel = 1 }\nright = { file = \"evening.wav\", channel = 2 }\n"
	require.NoError(t, os.WriteFile(filepath.Join(h.folder, "session.toml"), []byte(text), 0o600))
	s, err := session.Read(h.folder)
	require.NoError(t, err)
	r, err = s.ReviewResponse(nil)
	require.NoError(t, err)
	assert.Equal(t, 3, r.Seatings)
	for k, side := range r.Sides() {
		require.Len(t, side.Seatings, 3)
		for i, seating := range side.Seatings {
			for _, f := range []float64{50, 1000, 12000} {
				want := 20 * math.Log10(cmplx.Abs(h.rig.Truth(h.pair, []rig.Side{rig.Left, rig.Right}[k], i, f)))
				assert.InDelta(t, want, seating.Response.At(f), 0.5, "%s, seating %d, %v Hz", side.Name, i+1, f)
			}
		}
	}
}
