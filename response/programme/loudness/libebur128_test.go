//go:build !race

package loudness

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
)

// measured holds the results of libebur128, in LUFS and LU, and the true peak as a factor.
type measured struct{ Integrated, Range, Momentary, ShortTerm, Peak float64 }

// byLibrary has libebur128 measure interleaved samples on its standard input, 0.1 s at a time.
const byLibrary = `
import ctypes, json, math, sys
rate, channels = int(sys.argv[1]), int(sys.argv[2])
lib = ctypes.CDLL("libebur128.so.1")
lib.ebur128_init.restype = ctypes.c_void_p
state = ctypes.c_void_p(lib.ebur128_init(channels, ctypes.c_ulong(rate), 1 | 2 | 4 | 8 | 16 | 32))
def ask(what, *of):
    out = ctypes.c_double()
    assert getattr(lib, "ebur128_" + what)(state, *of, ctypes.byref(out)) == 0, what
    return out.value
data = sys.stdin.buffer.read()
step, momentary, shorts = rate // 10, -1e9, []
for at in range(0, len(data) // 8 // channels, step):
    piece = data[8 * channels * at:8 * channels * (at + step)]
    n = len(piece) // 8 // channels
    assert lib.ebur128_add_frames_double(state, piece, ctypes.c_size_t(n)) == 0
    if at + n >= 4 * step: momentary = max(momentary, ask("loudness_momentary"))
    if at + n >= 30 * step: shorts.append(ask("loudness_shortterm"))
peak = max(ask("true_peak", ctypes.c_uint(c)) for c in range(channels))
# Its own range takes a short-term loudness each second, which is the fewest that EBU Tech 3342 allows; this is the
# range of ten a second (gated at -70 LUFS and 20 LU below their mean power; 10 % to 95 %).
heard = [l for l in shorts if l >= -70]
mean = 10 * math.log10(sum(10 ** (l / 10) for l in heard) / len(heard))
heard = sorted(l for l in heard if l >= mean - 20)
at = lambda q: heard[round(q * (len(heard) - 1))]
json.dump({"integrated": ask("loudness_global"), "range": at(0.95) - at(0.1),
           "momentary": momentary, "shortterm": max(shorts), "peak": peak}, sys.stdout)`

// Signals and recorded speech and music, against libebur128, an independent implementation.
func TestAgainstLibebur128(t *testing.T) {
	long.Skip(t)
	python := programs.NeedLibrary(t, "libebur128.so.1")
	r := rand.New(rand.NewPCG(7, 1))
	noise := make([]float64, 30*48000)
	for i := range noise {
		noise[i] = 0.05 * (1.2 + math.Sin(float64(i)/48000)) * r.NormFloat64() // louder and softer by turns
	}
	gated := tones(48000, [2]float64{-45, 6}, [2]float64{-18, 9}, [2]float64{-80, 5}, [2]float64{-27, 12})
	all := append(recorded(t),
		piece{"noise that swells", [][]float64{noise}, 48000},
		piece{"tones with a pause", [][]float64{gated, gated}, 48000},
		piece{"a tone at 44.1 kHz", [][]float64{tones(44100, [2]float64{-23, 20})}, 44100},
		piece{"a tone at 96 kHz", [][]float64{tones(96000, [2]float64{-23, 20})}, 96000},
	)
	for _, p := range all {
		t.Run(p.name, func(t *testing.T) {
			raw := new(bytes.Buffer)
			require.NoError(t, binary.Write(raw, binary.LittleEndian, interleaved(p.channels)))
			command := exec.Command(python, "-c", byLibrary, fmt.Sprint(p.rate), fmt.Sprint(len(p.channels)))
			command.Stdin = raw
			said, err := command.Output()
			require.NoError(t, err)
			var want measured
			require.NoError(t, json.Unmarshal(said, &want))
			got, err := Measure(p.channels, p.rate)
			require.NoError(t, err)
			t.Logf("here %+.3v, libebur128 %+.3v", got, want)
			assert.InDelta(t, want.Integrated, got.Integrated, 0.1, "LU; EBU Tech 3341's tolerance")
			assert.InDelta(t, want.Momentary, got.MaxMomentary, 0.1, "LU; EBU Tech 3341's tolerance")
			assert.InDelta(t, want.ShortTerm, got.MaxShortTerm, 0.1, "LU; EBU Tech 3341's tolerance")
			assert.InDelta(t, want.Range, got.Range, 0.1, "LU; EBU Tech 3342 allows 1")
			assert.InDelta(t, 20*math.Log10(want.Peak), got.TruePeak, 0.2, "dB; it oversamples four times, which reads that much too low near half the rate")
		})
	}
}
