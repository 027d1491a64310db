package outside

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"path/filepath"

	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response/programme"
)

// A tone follows the material in the same file. It plays for 1.5 s, of which 0.75 s are analysed,
// once the chain has settled.
const (
	toneLasts   = 1.5
	toneSettles = 0.5
	toneHolds   = 0.75
	pause       = 0.5 // around the material
)

// material sends recorded sound, and a steady tone behind it, through the chain.
func (m *measurement) material() {
	source := materials[m.chain.number%len(materials)]
	r := rand.New(rand.NewPCG(m.chain.seed, uint64(m.chain.number)+1<<32))
	frequency := logBetween(r, 40, 18000)
	fs := float64(m.chain.rate)
	silence := make([]float64, int(pause*fs))
	played := append(append(append([]float64{}, silence...), source.at(m, m.chain.rate)...), silence...)
	both := append([]float64{}, played...)
	for i := range int(toneLasts * fs) {
		both = append(both, amplitude(materialLevel)*math.Sin(2*math.Pi*frequency*float64(i)/fs))
	}
	in := filepath.Join(m.folder, "material.wav")
	write(m, in, m.chain.rate, both)
	through, commands := m.chain.process(m, in, filepath.Join(m.folder, "material-recorded.wav"), 1, float64(len(both))/fs)
	m.commands = commands
	y := through.Channels[0]
	m.tone(y[len(played)+int(toneSettles*fs):][:int(toneHolds*fs)], frequency)
	// Both are recorded with independent noise; the truth is that of the played signal.
	m.programme(source.name, played, hiss(r, played), hiss(r, y[:len(played)]))
}

func (m *measurement) tone(y []float64, frequency float64) {
	found, err := tone.Analyse(y, m.chain.rate, tone.Config{Frequency: frequency})
	require.NoError(m, err)
	at := fmt.Sprintf(" (%.1f Hz)", frequency)
	truth := materialLevel + decibel(cmplx.Abs(m.chain.response(frequency)))
	m.note("level of a steady tone", "dB", 0.002, math.Abs(found.Level.Value-truth), at)             // a tail of the chain's own remains at 40 Hz
	m.note("frequency of a steady tone", "Hz", 0.001, math.Abs(found.Frequency.Value-frequency), at) // a thousandth of the resolution of 0.75 s
}

func (m *measurement) programme(name string, played, direct, through []float64) {
	c, err := programme.Compare(
		programme.Channel{Name: "direct", Samples: direct, SampleRate: m.chain.rate},
		programme.Channel{Name: "through", Samples: through, SampleRate: m.chain.rate}, programme.Config{})
	require.NoError(m, err)
	e := math.Abs(c.Alignment.Delay - m.chain.delay()/float64(m.chain.rate))
	m.note("delay of material", "µs", 25, 1e6*e, " "+name)                                                // for speech the response beyond 8 kHz is a guess, and the treble may fall steeply there
	m.note("delay of material, by its own uncertainty", "u", 4, e/c.Alignment.DelayUncertainty, " "+name) // the estimate for the response beyond the band is not Gaussian: 1 in 60 lies beyond 3
	truth := m.raised(played)
	var worst, beyond float64
	for _, b := range c.Bands(3) {
		if !b.Known || b.Low < 25 || b.High > 18000 {
			continue
		}
		e := math.Abs(b.Difference - truth(b.Low, b.High))
		worst = max(worst, e)
		if !math.IsNaN(b.HalfWidth95) {
			e -= b.HalfWidth95
		}
		beyond = max(beyond, e)
	}
	m.note("programme in third octaves", "dB", 0.3, worst, " "+name)           // bands in which the material is near the noise; wide intervals
	m.note("programme, beyond its 95 % interval", "dB", 0.2, beyond, " "+name) // one interval in twenty; near the noise half a decibel wide
}

// raised returns the level in dB by which the chain's truth raises x in a band.
func (m *measurement) raised(x []float64) func(low, high float64) float64 {
	plan := fft.NewPlan(fft.FastLen(len(x)))
	spectrum := plan.Forward(nil, x)
	// Sums of both powers up to each bin.
	before, after := make([]float64, len(spectrum)+1), make([]float64, len(spectrum)+1)
	for k, s := range spectrum {
		p := real(s)*real(s) + imag(s)*imag(s)
		h := m.chain.response(plan.Frequency(k, float64(m.chain.rate)))
		before[k+1] = before[k] + p
		after[k+1] = after[k] + p*(real(h)*real(h)+imag(h)*imag(h))
	}
	return func(low, high float64) float64 {
		bin := func(f float64) int { return int(math.Ceil(f / float64(m.chain.rate) * float64(plan.Len()))) }
		a, b := bin(low), bin(high)
		return 10 * math.Log10((after[b]-after[a])/(before[b]-before[a]))
	}
}

// hissing is the noise of a recorder, dBFS rms.
const hissing = -110.0

// hiss returns x with the noise of a recorder.
func hiss(r *rand.Rand, x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v + amplitude(hissing)*r.NormFloat64()
	}
	return out
}
