package wav

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
)

// sines returns channels of incommensurate sines at half of full scale.
func sines(channels, frames int) [][]float64 {
	x := make([][]float64, channels)
	for c := range x {
		x[c] = make([]float64, frames)
		for i := range x[c] {
			x[c][i] = 0.5 * math.Sin(math.Sqrt2*0.1*float64(c+1)*float64(i))
		}
	}
	return x
}

var everyFormat = []Format{
	{Bits: 8}, {Bits: 16}, {Bits: 24}, {Bits: 32},
	{Bits: 32, Float: true}, {Bits: 64, Float: true},
}

// step is the distance between neighbouring values of f: 2^(1−b), for float the spacing just below
// 0.5.
func step(f Format) float64 {
	switch {
	case f.Float && f.Bits == 64:
		return 0x1p-54
	case f.Float:
		return 0x1p-25
	}
	return math.Ldexp(1, 1-f.Bits)
}

func TestWriteIsReadBackWithinRounding(t *testing.T) {
	for _, f := range everyFormat {
		for _, channels := range []int{1, 2, 3, 40} {
			for _, noDither := range []bool{false, true} {
				x := sines(channels, 301)
				var w bytes.Buffer
				require.NoError(t, Write(&w, 44100, x, Options{Format: f, NoDither: noDither}))
				require.Zero(t, w.Len()%2, "odd data is padded")
				got, err := readBytes(w.Bytes())
				require.NoError(t, err)
				require.Equal(t, 44100, got.SampleRate)
				require.Equal(t, f.String(), got.Format.String())
				tolerance := step(f) / 2 // rounding to the nearest
				if !noDither && !f.Float && f.Bits <= 24 {
					tolerance *= 3 // and dither of less than one step either way
				}
				for c := range x {
					for i := range x[c] {
						require.InDelta(t, x[c][i], got.Channels[c][i], tolerance, "%v, %d channels, dither %v", f, channels, !noDither)
					}
				}
			}
		}
	}
}

// Expected values come from the programs that read the file.
func TestWriteIsReadBySoxFfmpegAndFfprobe(t *testing.T) {
	codec := []string{"pcm_u8", "pcm_s16le", "pcm_s24le", "pcm_s32le", "pcm_f32le", "pcm_f64le"} // in the order of everyFormat
	folder := t.TempDir()
	all := []string{"-v", "error"} // arguments for one run of ffmpeg over all files
	var decode []string
	var written []*File
	for _, channels := range []int{2, 3} { // 3 are extensible in every format
		for i, f := range everyFormat {
			path := filepath.Join(folder, fmt.Sprintf("%d %v.wav", channels, f))
			x := sines(channels, 101) // odd, for padding in 8 and 24 bits
			require.NoError(t, Create(path, false, func(w io.Writer) error { return Write(w, 48000, x, Options{Format: f, Seed: 1}) }))
			ours, err := readBytes(must(os.ReadFile(path)))
			require.NoError(t, err)
			throughSox := 0.0
			if f.Float {
				throughSox = 0x1p-31 // sox rounds floats to 32-bit integers: one step
			}
			requireSamples(t, floats(run(t, "sox", path, "-t", "f64", "-")), ours.Channels, throughSox)
			if channels == 2 {
				assert.Equal(t, codec[i]+",48000,2,101", strings.TrimSpace(string(run(t, "ffprobe", "-v", "error", "-of", "csv=p=0",
					"-show_entries", "stream=codec_name,sample_rate,channels,duration_ts", path))))
			}
			all = append(all, "-i", path)
			decode = append(decode, "-map", strconv.Itoa(len(written)), "-f", "f64le", "-c:a", "pcm_f64le", filepath.Join(folder, strconv.Itoa(len(written))))
			written = append(written, ours)
		}
	}
	run(t, "ffmpeg", append(all, decode...)...)
	for i, ours := range written {
		requireSamples(t, floats(must(os.ReadFile(filepath.Join(folder, strconv.Itoa(i))))), ours.Channels, 0) // ffmpeg converts without rounding
	}
}

// run returns what a program prints; where it is not installed the test is skipped.
func run(t *testing.T, program string, arguments ...string) []byte {
	t.Helper()
	if _, err := exec.LookPath(program); err != nil {
		t.Skip(program + " is not installed")
	}
	out, err := exec.Command(program, arguments...).Output()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		t.Fatalf("%s %q: %s", program, arguments, exit.Stderr)
	}
	require.NoError(t, err)
	return out
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// "Multiple Channel Audio Data and WAVE Files": extensible for more than two channels or more than
// 16 bits; "New Multimedia Data Types" 3.0: fact for everything but plain integer.
func TestWriteHeaderAsTheStandardAsks(t *testing.T) {
	for _, c := range []struct {
		format   Format
		channels int
		tag      uint16
		fact     bool
	}{
		{Format{Bits: 8}, 1, 1, false},
		{Format{Bits: 16}, 2, 1, false},
		{Format{Bits: 16}, 3, 0xFFFE, true},
		{Format{Bits: 24}, 1, 0xFFFE, true},
		{Format{Bits: 32}, 2, 0xFFFE, true},
		{Format{Bits: 32, Float: true}, 2, 3, true},
		{Format{Bits: 64, Float: true}, 2, 3, true},
		{Format{Bits: 32, Float: true}, 3, 0xFFFE, true},
	} {
		var w bytes.Buffer
		require.NoError(t, Write(&w, 48000, sines(c.channels, 10), Options{Format: c.format}))
		b := w.Bytes()
		assert.Equal(t, c.tag, binary.LittleEndian.Uint16(b[20:]), "%v", c)
		assert.Equal(t, c.fact, bytes.Contains(b, []byte("fact\x04\x00\x00\x00\x0a\x00\x00\x00data")), "%v", c)
		assert.Equal(t, uint32(len(b)-8), binary.LittleEndian.Uint32(b[4:]), "%v: RIFF size", c)
	}
}

func TestWriteIntegerAsSoxDoes(t *testing.T) {
	b := fixture(t, "sox-s16.wav")
	got, err := readBytes(b)
	require.NoError(t, err)
	var w bytes.Buffer
	require.NoError(t, Write(&w, got.SampleRate, got.Channels, Options{Format: got.Format}))
	assert.Equal(t, b, w.Bytes())
}

func TestWriteDitherIsRepeatable(t *testing.T) {
	x := sines(2, 1000)
	file := func(o Options) string {
		var w bytes.Buffer
		require.NoError(t, Write(&w, 48000, x, o))
		return w.String()
	}
	f := Format{Bits: 16}
	assert.Equal(t, file(Options{Format: f, Seed: 7}), file(Options{Format: f, Seed: 7}))
	assert.NotEqual(t, file(Options{Format: f, Seed: 7}), file(Options{Format: f, Seed: 8}))
	assert.NotEqual(t, file(Options{Format: f}), file(Options{Format: f, NoDither: true}))
}

// Lipshitz, Wannamaker, Vanderkooy 1992: with triangular dither of 2 steps from peak to peak the
// mean of the error is zero and its power Δ²/4, wherever between two steps the signal lies; with
// rounding alone a constant has an error that is constant too.
func TestWriteDitherMakesErrorIndependentOfSignal(t *testing.T) {
	const n = 200000
	for _, f := range []Format{{Bits: 16}, {Bits: 24}} {
		delta := step(f)
		for _, offset := range []float64{0.05, 0.25, 0.5, 0.75, 0.99} { // of a step; 0 would need no rounding and gets no dither
			x := make([]float64, n)
			for i := range x {
				x[i] = (100 + offset) * delta
			}
			e := errorOf(t, x, f)
			mean, power := stat.Mean(e, nil)/delta, meanSquare(e)/delta/delta
			assert.InDelta(t, 0, mean, 5*0.5/math.Sqrt(n), "%v at %v: mean", f, offset) // 5 standard errors; σ = Δ/2
			// 5 standard errors: σ(e²) is 0 for a signal half-way between steps and rises to √3/4
			// Δ² on a step, where e is 0 or ±Δ at 3:1.
			assert.InDelta(t, 0.25, power, 5*math.Sqrt(3)/4/math.Sqrt(n), "%v at %v: power", f, offset)
		}
	}
}

func TestWriteDitherOfSines(t *testing.T) {
	const n = 1 << 17
	f := Format{Bits: 16}
	x := sines(2, n)
	var w bytes.Buffer
	require.NoError(t, Write(&w, 48000, x, Options{Format: f, Seed: 3}))
	got, err := readBytes(w.Bytes())
	require.NoError(t, err)
	e := [2][]float64{make([]float64, n), make([]float64, n)}
	for c := range e {
		for i := range e[c] {
			e[c][i] = (got.Channels[c][i] - x[c][i]) / step(f)
		}
		assert.InDelta(t, 0.25, meanSquare(e[c]), 5*0.5/math.Sqrt(n))                             // Δ²/4; 5 standard errors as above
		assert.InDelta(t, 0, stat.Correlation(e[c], x[c], nil), 5/math.Sqrt(n))                   // 5 standard errors of no correlation
		assert.InDelta(t, 0, stat.Correlation(squares(e[c]), squares(x[c]), nil), 5/math.Sqrt(n)) // nor in power
		assert.InDelta(t, 0, stat.Correlation(e[c][1:], e[c][:n-1], nil), 5/math.Sqrt(n))         // white
	}
	assert.InDelta(t, 0, stat.Correlation(e[0], e[1], nil), 5/math.Sqrt(n)) // channels independent
}

// errorOf returns the error that writing x in the format adds.
func errorOf(t *testing.T, x []float64, f Format) []float64 {
	var w bytes.Buffer
	require.NoError(t, Write(&w, 48000, [][]float64{x}, Options{Format: f, Seed: 5}))
	got, err := readBytes(w.Bytes())
	require.NoError(t, err)
	e := make([]float64, len(x))
	for i := range e {
		e[i] = got.Channels[0][i] - x[i]
	}
	return e
}

func squares(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = v * v
	}
	return y
}

func meanSquare(x []float64) float64 { return stat.Mean(squares(x), nil) }

// Samples that lie on a step are not changed, for any seed of the dither.
func TestWriteAddsNothingWhereNothingIsRounded(t *testing.T) {
	for _, f := range everyFormat[:4] {
		x := [][]float64{{0, step(f), -step(f), -1, 1 - step(f), 0.5}}
		var w bytes.Buffer
		require.NoError(t, Write(&w, 48000, x, Options{Format: f, Seed: 9}))
		got, err := readBytes(w.Bytes())
		require.NoError(t, err)
		assert.Equal(t, x, got.Channels, "%v", f)
	}
}

func TestWriteKeepsFullScaleWithinOneStep(t *testing.T) {
	for _, f := range everyFormat[:4] {
		x := make([]float64, 1000)
		for i := range x {
			x[i] = math.Copysign(1-step(f)/3*float64(i%2), float64(i%4)-1.5)
		}
		for i, e := range errorOf(t, x, f) {
			require.Less(t, math.Abs(e), 1.5*step(f)+1e-12, "%v at %v", f, x[i]) // rounding and dither; never a change of sign
		}
	}
}

func TestWriteRefuses(t *testing.T) {
	i16, f32 := Format{Bits: 16}, Format{Bits: 32, Float: true}
	at := func(i int, v float64) [][]float64 {
		x := sines(2, 48000)
		x[1][i] = v
		x[1][47999] = v
		return x
	}
	long := make([]float64, 600000)
	huge := make([][]float64, 1024) // 1024 times the same 600 000 samples: 4.9 GB in 64-bit float
	for c := range huge {
		huge[c] = long
	}
	for _, c := range []struct {
		name     string
		channels [][]float64
		rate     int
		format   Format
		is       error
		says     string
	}{
		{"above full scale", at(24000, 1.0001), 48000, i16, ErrFullScale, "right channel is 1.0001 at 0.500 s, above full scale"},
		{"below negative full scale", at(12000, -1.0001), 48000, Format{Bits: 32}, ErrFullScale, "right channel is -1.0001 at 0.250 s"},
		{"beyond 32-bit float", at(12000, 1e39), 48000, f32, ErrFullScale, "right channel is 1e+39"},
		{"NaN in integer", at(12000, math.NaN()), 48000, i16, ErrNotFinite, "right channel is NaN at 0.250 s"},
		{"infinity in float", at(12000, math.Inf(1)), 48000, f32, ErrNotFinite, "right channel is +Inf at 0.250 s"},
		{"no channels", nil, 48000, i16, ErrEmpty, "no samples"},
		{"no samples", [][]float64{{}}, 48000, i16, ErrEmpty, "no samples"},
		{"12 bits", sines(1, 9), 48000, Format{Bits: 12}, ErrUnsupported, "12-bit"},
		{"16-bit float", sines(1, 9), 48000, Format{Bits: 16, Float: true}, ErrUnsupported, "16-bit float"},
		{"float with valid bits", sines(1, 9), 48000, Format{Bits: 32, ValidBits: 24, Float: true}, ErrUnsupported, "float"},
		{"20 bits in 24", sines(1, 9), 48000, Format{Bits: 24, ValidBits: 20}, ErrUnsupported, "20-bit integer in 24 bits cannot be written"},
		{"more valid bits than bits", sines(1, 9), 48000, Format{Bits: 16, ValidBits: 17}, ErrUnsupported, "17"},
		{"1025 channels", sines(1025, 1), 48000, i16, ErrTooLarge, "1025 channels"},
		{"sample rate", sines(1, 9), 0, i16, ErrHeader, "0 Hz"},
		{"above 4 GiB", huge, 48000, Format{Bits: 64, Float: true}, ErrTooLarge, "4 GiB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var w bytes.Buffer
			err := Write(&w, c.rate, c.channels, Options{Format: c.format})
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, c.says)
			assert.Zero(t, w.Len(), "nothing written")
		})
	}
	assert.Panics(t, func() { _ = Write(io.Discard, 48000, [][]float64{{0, 0}, {0}}, Options{Format: i16}) })
	var w bytes.Buffer
	assert.NoError(t, Write(&w, 48000, at(24000, 1.5), Options{Format: f32}), "float passes above full scale")
}

func TestWriteReturnsTheErrorOfTheWriter(t *testing.T) {
	full := errors.New("disk full")
	for _, after := range []int{0, 44, 1000} {
		err := Write(&limited{after, full}, 48000, sines(1, 300001), Options{Format: Format{Bits: 8}})
		assert.ErrorIs(t, err, full, "after %d bytes", after)
	}
}

// limited takes n bytes and then fails.
type limited struct {
	n   int
	err error
}

func (l *limited) Write(b []byte) (int, error) {
	if len(b) > l.n {
		return l.n, l.err
	}
	l.n -= len(b)
	return len(b), nil
}

func BenchmarkWrite(b *testing.B) {
	x := sines(2, 10*48000)
	for _, o := range []Options{
		{Format: Format{Bits: 16}}, {Format: Format{Bits: 16}, NoDither: true}, {Format: Format{Bits: 24}},
		{Format: Format{Bits: 32, Float: true}}, {Format: Format{Bits: 64, Float: true}},
	} {
		b.Run(fmt.Sprintf("%v, dither %v", o.Format, !o.NoDither), func(b *testing.B) {
			b.SetBytes(int64(2 * 10 * 48000 * o.Format.bytes()))
			b.ReportAllocs()
			for b.Loop() {
				if err := Write(io.Discard, 48000, x, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
