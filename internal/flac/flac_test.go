package flac

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/wav"
)

const fixtures = "../../testdata/flac"

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(fixtures, name))
	require.NoError(t, err)
	return b
}

func decodeBytes(b []byte) (*wav.File, error) {
	return Decode(bytes.NewReader(b), int64(len(b)), 1<<30)
}

// read reads a FLAC or WAV file.
func read(path string) (*wav.File, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	if r := bytes.NewReader(b); !Detect(r) {
		return wav.Read(r, r.Size(), 1<<30)
	}
	return decodeBytes(b)
}

// interleaved returns the samples in the order of the file: sample i of each of n channels from
// element i n on.
func interleaved(channels [][]float64) (x []float64) {
	for i := range channels[0] {
		for _, c := range channels {
			x = append(x, c[i])
		}
	}
	return x
}

// rawFloats decodes raw 64-bit little-endian floats.
func rawFloats(b []byte) []float64 {
	x := make([]float64, len(b)/8)
	for i := range x {
		x[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return x
}

// The expected samples are beside the files, decoded by other programs: see testdata/README.md.
func TestReadFLACFixtures(t *testing.T) {
	for _, c := range []struct {
		name     string
		format   wav.Format
		rate     int
		channels int
		unstated bool
	}{
		{"flac-u8", wav.Format{Bits: 8, ValidBits: 8}, 8000, 2, false},
		{"flac-v12", wav.Format{Bits: 16, ValidBits: 12}, 8000, 2, false},
		{"flac-s16", wav.Format{Bits: 16, ValidBits: 16}, 8000, 2, false},
		{"flac-v20", wav.Format{Bits: 24, ValidBits: 20}, 8000, 2, false},
		{"flac-s24", wav.Format{Bits: 24, ValidBits: 24}, 8000, 2, false},
		{"flac-s32", wav.Format{Bits: 32, ValidBits: 32}, 8000, 2, false},
		{"flac-s16-8ch", wav.Format{Bits: 16, ValidBits: 16}, 8000, 8, false},
		{"flac-pipe-s16", wav.Format{Bits: 16, ValidBits: 16}, 8000, 2, true},
		{"sox-silence-s24", wav.Format{Bits: 24, ValidBits: 24}, 8000, 2, false},
		{"sox-12345hz", wav.Format{Bits: 16, ValidBits: 16}, 12345, 2, false},
		{"ffmpeg-noise-s16", wav.Format{Bits: 16, ValidBits: 16}, 8000, 2, false},
		{"ffmpeg-fixed-s24", wav.Format{Bits: 24, ValidBits: 24}, 8000, 2, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(fixtures, c.name+".flac")
			r, err := read(path)
			require.NoError(t, err)
			assert.Equal(t, c.format, r.Format)
			assert.Equal(t, c.rate, r.SampleRate)
			assert.Equal(t, c.unstated, r.LengthUnstated)
			require.Len(t, r.Channels, c.channels)
			assert.Equal(t, rawFloats(fixture(t, c.name+".f64")), interleaved(r.Channels), "lossless, so to the last bit")
		})
	}
}

// The published test data of the FLAC library: thirteen files from as many recorders and encoders,
// decoded by that library.
func TestReadFLACAgreesWithTheLibrary(t *testing.T) {
	folder, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/mewkiz/flac").Output()
	if err != nil {
		t.Skip("the source of github.com/mewkiz/flac is not at hand")
	}
	paths, err := filepath.Glob(filepath.Join(strings.TrimSpace(string(folder)), "testdata", "[0-9]*.flac"))
	require.NoError(t, err)
	if len(paths) == 0 {
		t.Skip("no test data in the source of github.com/mewkiz/flac")
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			if about, err := os.Stat(path); err == nil && about.Size() > 400_000 {
				t.Skip("long")
			}
			got, err := read(path)
			require.NoError(t, err)
			stream, err := flac.ParseFile(path)
			require.NoError(t, err)
			defer stream.Close()
			at, scale := 0, math.Ldexp(1, 1-int(stream.Info.BitsPerSample))
			for {
				f, err := stream.ParseNext()
				if err == io.EOF {
					break
				}
				require.NoError(t, err)
				for c, sub := range f.Subframes {
					for i, v := range sub.Samples {
						if want := float64(v) * scale; got.Channels[c][at+i] != want {
							require.Equal(t, want, got.Channels[c][at+i], "sample %d of channel %d", at+i, c+1)
						}
					}
				}
				at += int(f.BlockSize)
			}
			assert.Len(t, got.Channels[0], at)
		})
	}
}

// encoded returns a FLAC file from the library's encoder, with frames of the lengths in blocks and
// two channels.
func encoded(t testing.TB, blocks ...int) (file []byte, left []int32) {
	t.Helper()
	info := &meta.StreamInfo{BlockSizeMin: 16, BlockSizeMax: 4096, SampleRate: 48000, NChannels: 2, BitsPerSample: 16}
	for _, n := range blocks {
		info.NSamples += uint64(n)
	}
	var b bytes.Buffer
	e, err := flac.NewEncoder(&b, info)
	require.NoError(t, err)
	e.EnablePredictionAnalysis(false)
	random := rand.New(rand.NewPCG(1, 2))
	for _, n := range blocks {
		f := &frame.Frame{Header: frame.Header{BlockSize: uint16(n), SampleRate: 48000, Channels: frame.ChannelsMidSide, BitsPerSample: 16}}
		x := make([]int32, n)
		for i := range x {
			x[i] = int32(random.IntN(1<<16)) - 1<<15
		}
		for range 2 {
			f.Subframes = append(f.Subframes, &frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, Samples: slices.Clone(x), NSamples: n})
		}
		require.NoError(t, e.WriteFrame(f))
		left = append(left, x...)
	}
	return b.Bytes(), left
}

// Frames of changing length are counted by samples, not by frames; the two channels are coded as
// middle and side.
func TestReadFLACOfVariableBlocks(t *testing.T) {
	b, left := encoded(t, 100, 192, 17, 4096, 1)
	r, err := decodeBytes(b)
	require.NoError(t, err)
	require.Len(t, r.Channels[0], len(left))
	for i, v := range left {
		require.Equal(t, float64(v)/(1<<15), r.Channels[0][i])
		require.Equal(t, float64(v)/(1<<15), r.Channels[1][i])
	}
}

// A recording as long as a take, of noise over a tone, through each program and at each depth.
func TestReadFLACEqualsSoxAndFFmpeg(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("sox is not installed")
	}
	folder := t.TempDir()
	run := func(name string, args ...string) {
		c := exec.Command(name, args...)
		c.Dir = folder
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
	}
	compare := func(t *testing.T, file string) {
		want, err := read(filepath.Join(folder, "in.wav"))
		require.NoError(t, err)
		got, err := read(filepath.Join(folder, file))
		require.NoError(t, err)
		assert.Equal(t, want.SampleRate, got.SampleRate)
		require.Len(t, got.Channels[0], len(want.Channels[0]))
		for k := range want.Channels {
			for i, v := range want.Channels[k] {
				if v != got.Channels[k][i] {
					require.Equal(t, v, got.Channels[k][i], "sample %d of channel %d", i, k+1)
				}
			}
		}
	}
	for _, c := range []struct{ bits, rate string }{{"16", "44100"}, {"24", "24000"}, {"24", "176400"}} {
		run("sox", "-D", "-r", c.rate, "-n", "-c", "2", "-b", c.bits, "in.wav", "synth", "0.5", "sine", "20-10000", "pinknoise", "gain", "-3")
		for _, level := range []int{0, 8} {
			t.Run(fmt.Sprintf("sox %s bits %s Hz level %d", c.bits, c.rate, level), func(t *testing.T) {
				run("sox", "-D", "in.wav", "-C", fmt.Sprint(level), "out.flac")
				compare(t, "out.flac")
			})
		}
		if _, err := exec.LookPath("ffmpeg"); err != nil {
			continue
		}
		for _, level := range []string{"12"} {
			t.Run(fmt.Sprintf("ffmpeg %s bits %s Hz level %s", c.bits, c.rate, level), func(t *testing.T) {
				run("ffmpeg", "-v", "error", "-y", "-i", "in.wav", "-compression_level", level, "-strict", "experimental", "out.flac")
				compare(t, "out.flac")
			})
		}
	}
}

func BenchmarkReadFLAC(b *testing.B) {
	for _, name := range []string{"flac-s16", "flac-s24", "ffmpeg-fixed-s24"} {
		b.Run(name, func(b *testing.B) {
			file := fixture(b, name+".flac")
			b.SetBytes(8 * 2 * 400) // of samples as float64
			b.ReportAllocs()
			for b.Loop() {
				if _, err := decodeBytes(file); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
