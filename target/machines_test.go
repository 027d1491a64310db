package target_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/biquad"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
	"example.com/earnest/sweep"
	"example.com/earnest/target"

	"github.com/stretchr/testify/require"
)

var writeMachines = flag.Bool("write-machines", false, "write the results of this machine as the reference for every machine")

// On every processor, word length and number of processors, and under the race detector, an
// analysis gives the same figures. They were written by
//
//	go test ./target -run TestSameFiguresOnEveryMachine -write-machines
//
// on linux/amd64. They do not show that the figures are right: other tests do.
func TestSameFiguresOnEveryMachine(t *testing.T) {
	file := filepath.Join("testdata", "machines.json")
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, processors := range []int{1, 2, 3} {
		runtime.GOMAXPROCS(processors)
		got := figuresOfAnAnalysis(t)
		if *writeMachines {
			data, err := json.MarshalIndent(got, "", "\t")
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(file, append(data, '\n'), 0o644))
		}
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		var want map[string]float64
		require.NoError(t, json.Unmarshal(data, &want))
		require.Len(t, got, len(want))
		var worst float64
		for name, v := range got {
			require.False(t, math.IsNaN(v), "%s is known", name)
			apart := math.Abs(v-want[name]) / max(1, math.Abs(want[name]))
			worst = max(worst, apart)
			require.LessOrEqual(t, apart, 1e-12, "%s: %v here, %v there, on %d processors; rounding alone", name, v, want[name], processors)
		}
		t.Logf("%d processors: %d figures within %.1e", processors, len(got), worst)
	}
}

// figuresOfAnAnalysis returns those of a simple simulated device, which takes a few multiplications
// a sample.
func figuresOfAnAnalysis(t *testing.T) map[string]float64 {
	t.Helper()
	s, err := sweep.New(sweep.Config{Start: 20, Stop: 20000, Duration: 2 * time.Second, SampleRate: 48000, Level: -6})
	require.NoError(t, err)
	figures := map[string]float64{}
	add := func(v float64, format string, a ...any) { figures[fmt.Sprintf(format, a...)] = v }

	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Orders: 5})
	require.NoError(t, err)
	parts, err := d.Separate(device(s.Samples(), 4800))
	require.NoError(t, err)
	window, err := parts.Linear.Window(0, 0)
	require.NoError(t, err)
	transfer := window.Transfer()
	curve, err := transfer.Smoothed(response.LogGrid(25, 18000, 3), 12)
	require.NoError(t, err)
	for i, f := range curve.Frequency {
		add(curve.Level[i], "response at %.0f Hz, dB", f)
	}
	phase := transfer.Delayed(-0.1)
	for _, f := range []float64{100, 1000, 10000} {
		bin := int(math.Round(f * float64(phase.Len) / float64(phase.SampleRate)))
		add(math.Atan2(imag(phase.Bins[bin]), real(phase.Bins[bin])), "phase at %.0f Hz, rad", f)
	}

	harmonics, err := distortion.Harmonics(parts, distortion.Config{})
	require.NoError(t, err)
	for _, f := range []float64{200, 1000, 3000} {
		add(harmonics.THD(f).AsRead, "distortion at %.0f Hz, %%", f)
	}

	deviation, err := target.Compare(curve, target.Flat(), target.Config{})
	require.NoError(t, err)
	add(deviation.RMS.Value, "rms deviation, dB")
	add(deviation.Tilt.Value, "tilt, dB/octave")
	add(deviation.Share.Value, "share within the tolerance")

	random := rand.New(rand.NewPCG(1, 2))
	material := make([]float64, 5*48000)
	for i := range material {
		material[i] = 0.2 * (random.Float64() - 0.5)
	}
	compared, err := programme.Compare(
		programme.Channel{Name: "direct", Samples: material, SampleRate: 48000},
		programme.Channel{Name: "through", Samples: device(material, 500), SampleRate: 48000}, programme.Config{Band: response.Band{Low: 50}})
	require.NoError(t, err)
	for _, b := range compared.Bands(3) {
		if f := b.Centre; f > 60 && f < 16000 {
			add(b.Difference, "programme at %.0f Hz, dB", f)
		}
	}
	return figures
}

// device delays by whole samples, adds a little distortion, and has a peak of 6 dB at 3 kHz. It is
// not oversampled, since this test does not compare with its true figures.
func device(x []float64, delay int) []float64 {
	y := make([]float64, len(x)+delay+24000)
	for i, v := range x {
		y[delay+i] = v + 0.01*v*v + 0.02*v*v*v
	}
	filter := biquad.New(biquad.Peaking, 3000, 1, 6, 48000)
	filter.Apply(y)
	return y
}
