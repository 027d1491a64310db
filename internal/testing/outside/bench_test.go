package outside

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// bench is the stimulus at one sample rate and level.
type bench struct {
	rate        int
	level       float64
	stimulus    *sweep.Stimulus
	deconvolver *response.Deconvolver
	channels    [][]float64
}

const (
	sweepSeconds = 2.5
	gapSeconds   = 0.7
)

type benchKey struct {
	rate  int
	level float64
}

var (
	benchLock sync.Mutex
	benches   = map[benchKey]*bench{}
)

// benchAt returns the bench of a sample rate and level, made once.
func benchAt(t testing.TB, rate int, level float64) *bench {
	benchLock.Lock()
	defer benchLock.Unlock()
	if b := benches[benchKey{rate, level}]; b != nil {
		return b
	}
	s, err := sweep.New(sweep.Config{SampleRate: rate, Level: level, Duration: seconds(sweepSeconds)})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 600 * time.Millisecond, Gap: seconds(gapSeconds)})
	require.NoError(t, err)
	c := response.DeconvolverConfig{Longest: placement.TakeDuration(st)}
	for k, b := range benches {
		if k.rate == rate {
			c.Like = b.deconvolver
		}
	}
	d, err := response.NewDeconvolver(s, c)
	require.NoError(t, err)
	b := &bench{rate: rate, level: level, stimulus: st, deconvolver: d, channels: st.Channels()}
	benches[benchKey{rate, level}] = b
	return b
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// played returns the stretch of a recording from the first sample at which the sweep of a side was
// played, so that this is time zero.
func (b *bench) played(x []float64, side sweep.Side) []float64 {
	s := b.stimulus.Sweeps(side)[0]
	return x[s.Start : s.Start+s.Len+int(gapSeconds*float64(b.rate))]
}

// material is recorded sound, or noise.
type material struct {
	name    string
	samples map[int][]float64 // by sample rate, at −30 dBFS peak
}

var (
	materialLock sync.Mutex
	// The test data of the module github.com/mewkiz/flac, which its README lists: read English
	// speech (LibriSpeech, CC BY 4.0), and three of the recordings in the public domain.
	materials = []*material{
		{name: "8297-275156-0011.flac"}, {name: "257344.flac"}, {name: "noise"}, {name: "256529.flac"},
	}
)

const (
	materialLevel = -30.0 // dBFS peak
	materialLast  = 6.0   // seconds of it
)

// at returns the material at a sample rate, resampled by sox.
func (m *material) at(t testing.TB, rate int) []float64 {
	materialLock.Lock()
	defer materialLock.Unlock()
	if x := m.samples[rate]; x != nil {
		return x
	}
	var x []float64
	if m.name == "noise" {
		r := rand.New(rand.NewPCG(1, uint64(rate)))
		for range int(materialLast * float64(rate)) {
			x = append(x, r.NormFloat64())
		}
	} else {
		out := filepath.Join(t.TempDir(), "material.wav")
		run(t, []command{{"sox", "-D", filepath.Join(moduleFolder(t, "github.com/mewkiz/flac"), "testdata", m.name), "-e", "floating-point", "-b", "64", out,
			"remix", "1", "trim", "0", fmt.Sprint(materialLast), "vol", "0.5", "rate", "-v", fmt.Sprint(rate)}})
		r, err := capture.Read(out)
		require.NoError(t, err)
		x = r.Channels[0]
	}
	top := 0.0
	for _, v := range x {
		top = max(top, math.Abs(v))
	}
	scale := math.Pow(10, materialLevel/20) / top
	for i := range x {
		x[i] *= scale
	}
	if m.samples == nil {
		m.samples = map[int][]float64{}
	}
	m.samples[rate] = x
	return x
}

// moduleFolder returns the folder of a module in the module cache.
func moduleFolder(t testing.TB, module string) string {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", module).Output()
	require.NoError(t, err)
	return strings.TrimSpace(string(out))
}

// located returns the placement of the stimulus in a recording, whether it was found or not.
func located(r *capture.Recording, st *sweep.Stimulus) *placement.Placement {
	p, _ := placement.Locate(r, st)
	return p
}
