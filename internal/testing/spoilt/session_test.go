package spoilt

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// session is a random session: a stimulus, a rig, a pair, and how both were recorded.
type session struct {
	testing.TB
	*rand.Rand
	seed       uint64
	rate       int
	stimulus   *sweep.Stimulus
	rig        rig.Rig // without noise
	pair       rig.Headphones
	room       [2][]float64 // reflections of the room, behind the direct sound; nil for none
	snr        float64      // dB, peak over rms
	hum, mains float64      // dB re the peak, Hz
	mono       bool         // each side is recorded separately
	format     capture.Format
	trimmed    [2]int         // samples removed at both ends
	clean      [2][][]float64 // without noise, of the pair and of the interface

	// The measurement of the session unspoilt.
	through files
	bench   prepared
	plain   map[sweep.Side]response.Curve
}

func (s *session) between(low, high float64) float64 { return low + (high-low)*s.Float64() }

func (s *session) logBetween(low, high float64) float64 {
	return low * math.Pow(high/low, s.Float64())
}

func (s *session) chance(p float64) bool { return s.Float64() < p }

func one[T any](s *session, of ...T) T { return of[s.IntN(len(of))] }

func seconds(t float64) time.Duration { return time.Duration(t * float64(time.Second)) }

func amplitude(level float64) float64 { return math.Pow(10, level/20) }

// newSession draws a session. Short ones are for the tests.
func newSession(t testing.TB, seed uint64, short bool) *session {
	s := &session{TB: t, Rand: rand.New(rand.NewPCG(seed, 14)), seed: seed, rate: 48000}
	lasts, silence, gap := s.logBetween(2, 5), s.between(0.5, 2), s.between(0.4, 1.5)
	if s.chance(0.1) {
		lasts = s.between(5, 12)
	}
	switch p := s.Float64(); {
	case p < 0.2:
		s.rate = 44100
	case p < 0.3 && !short:
		s.rate = 96000
	}
	if short {
		lasts, silence, gap = s.between(1.5, 2), s.between(0.5, 0.8), s.between(0.4, 0.7)
	}
	sweeping, err := sweep.New(sweep.Config{SampleRate: s.rate, Duration: seconds(lasts), Level: s.between(-12, -1)})
	require.NoError(t, err)
	layout := sweep.StimulusConfig{Sweep: sweeping, Silence: seconds(silence), Gap: seconds(gap), Unmarked: s.chance(0.15)}
	if s.chance(0.15) && !short {
		layout.Repeats = 2
	}
	if !layout.Unmarked && seed%4 != 0 {
		layout.Asks = []sweep.Question{sweep.AskGain}
	}
	s.stimulus, err = sweep.NewStimulus(layout)
	require.NoError(t, err)
	s.mono = s.chance(0.25)
	s.snr, s.hum = s.between(50, 90), s.between(-110, -80)
	s.mains = one(s, 50., 60)
	s.format = one(s, capture.Format{Bits: 24}, capture.Format{Bits: 24}, capture.Format{Bits: 16}, capture.Format{Bits: 32, Float: true})
	if s.chance(0.2) {
		s.trimmed = [2]int{s.IntN(int((silence - 0.05) * float64(s.rate))), s.IntN(int((silence - 0.05) * float64(s.rate)))}
	}
	s.drawPair()
	s.rig = rig.Rig{SampleRate: s.rate, Seed: seed, Name: "simulated",
		Interface: rig.Interface{Filters: []rig.Filter{rig.HighPass(s.between(2, 5), 0.71)},
			Distortion: rig.NewPolynomial(-12, s.between(-115, -90), s.between(-120, -95), -130, -135)},
		Latency: s.between(20, 5000), DirectGain: -30, ThroughGain: -40, // far from full scale, where the rig clips
		Spill: rig.Spill{Level: s.between(-65, -35), Filters: []rig.Filter{rig.LowPass(s.between(800, 4000), 0.6)}},
		Plate: []rig.Reflection{{Delay: seconds(s.between(0.0005, 0.003)), Level: s.between(-45, -28)}},
	}
	if s.chance(0.6) {
		s.rig.Drift = s.between(-100, 100)
	}
	if s.chance(0.7) {
		s.drawRoom()
	}
	return s
}

// drawPair draws headphones.
func (s *session) drawPair() {
	low := s.between(60, 200)
	before := s.between(0, 9)
	driver := rig.Driver{
		Before:     []rig.Filter{rig.LowShelf(low, 0.7, before)},
		Distortion: rig.NewPolynomial(-6, s.between(-75, -40), s.between(-85, -48), -100, -110),
		Filters: []rig.Filter{
			rig.LowShelf(low, 0.7, -before), rig.HighPass(s.between(8, 35), s.between(0.5, 0.9)), rig.LowShelf(s.between(60, 250), 0.7, s.between(-6, 7)),
			rig.Peak(s.logBetween(200, 1500), s.between(0.7, 2), s.between(-4, 4)), rig.Peak(s.logBetween(1500, 5000), s.between(1, 4), s.between(-8, 6)),
			rig.Peak(s.logBetween(5000, 9000), s.between(2, 6), s.between(-8, 8)), rig.Peak(s.logBetween(8000, 14000), s.between(2, 8), s.between(-10, 6)),
			rig.HighShelf(s.between(8000, 14000), 0.7, s.between(-8, 2)),
		},
		Delay:       seconds(s.between(2e-5, 6e-5)),
		Reflections: []rig.Reflection{{Delay: seconds(s.between(1e-4, 4e-4)), Level: s.between(-40, -22)}},
	}
	other := driver
	other.Gain = s.between(-1.5, 1.5)
	other.Filters = append([]rig.Filter{rig.Peak(s.logBetween(100, 8000), 1, s.between(-1.5, 1.5))}, driver.Filters...)
	s.pair = rig.Headphones{Name: "invented", Left: driver, Right: other}
}

// drawRoom draws noise that decays by 60 dB within 0.05 to 0.3 s, for each ear.
func (s *session) drawRoom() {
	decays, level := s.logBetween(0.05, 0.3), s.between(-45, -20)
	for k := range s.room {
		x := make([]float64, int(decays*float64(s.rate)))
		for i := int(0.001 * float64(s.rate)); i < len(x); i++ {
			x[i] = s.NormFloat64() * math.Exp(-3*math.Ln10*float64(i)/float64(len(x)))
		}
		floats.Scale(amplitude(level)/floats.Norm(x, 2), x)
		x[0] = 1
		s.room[k] = x
	}
}

// convolved returns x through a filter that begins at time zero.
func convolved(x, h []float64) []float64 {
	p := fft.NewPlan(fft.FastLen(len(x) + len(h)))
	a, b := p.Forward(nil, x), p.Forward(nil, h)
	for k, v := range b {
		a[k] *= v
	}
	return p.Inverse(nil, a)[:len(x)]
}

// stages are the places at which a sound is changed: in the stimulus, at the recorder's input, with
// the noise of the microphone, and in the file. A nil stage changes nothing.
type stages struct{ player, recorder, file func([][]float64) [][]float64 }

func (c stages) some() bool { return c.player != nil || c.recorder != nil || c.file != nil }

// files is one recording with a channel for each side, or two with one.
type files []*capture.Recording

// record records the interface patched into itself, or the pair.
func (s *session) record(direct bool, change stages) files {
	if change.player != nil {
		return s.finish(direct, s.carried(direct, change.player(s.stimulus.Channels())), change)
	}
	kind := map[bool]int{false: 0, true: 1}[direct]
	if s.clean[kind] == nil {
		s.clean[kind] = s.carried(direct, s.stimulus.Channels())
	}
	return s.finish(direct, [][]float64{slices.Clone(s.clean[kind][0]), slices.Clone(s.clean[kind][1])}, change)
}

// carried returns the signal at the recorder's input, without noise, relative to the stimulus.
func (s *session) carried(direct bool, played [][]float64) [][]float64 {
	if direct {
		return s.rig.Direct(played)
	}
	through := s.rig.Through(s.pair, 0, played)
	if s.room[0] != nil {
		for k, x := range through {
			through[k] = convolved(x, s.room[k])
		}
	}
	return through
}

// peak is that of the signal through the headphones in dBFS.
func (s *session) peak() float64 { return -8 - float64(s.seed*7%28) }

// finish sets the level, adds noise and hum, and writes and reads the file.
func (s *session) finish(direct bool, x [][]float64, change stages) files {
	name, peak, snr, unplayed := "through", s.peak(), s.snr, s.clean[0]
	if direct {
		name, peak, snr, unplayed = "direct", -12., max(s.snr, 75), s.clean[1]
	}
	if unplayed == nil {
		unplayed = x
	}
	gain := amplitude(peak - peakOf(unplayed))                 // of the recorder, set without the fault
	random := rand.New(rand.NewPCG(s.seed, uint64(len(name)))) // the same noise, spoilt or not
	for k := range x {
		floats.Scale(gain, x[k])
		s.addNoise(random, x[k], amplitude(peak-snr))
	}
	x = rig.AddHum(x, rig.Hum{Frequency: s.mains, Level: peak + s.hum, Harmonics: []float64{-8, -5, -12}}, s.rate)
	if change.recorder != nil {
		x = change.recorder(x)
	}
	for k := range x {
		s.addNoise(random, x[k], amplitude(-112)) // the converter's
		for i, v := range x[k] {
			x[k][i] = max(-1, min(1-1./(1<<15), v))
		}
	}
	var out files
	if s.mono && !direct {
		for k := range x {
			out = append(out, s.written(fmt.Sprintf("%s-%v.wav", name, rig.Side(k)), x[k:k+1], change))
		}
		return out
	}
	return append(out, s.written(name+".wav", x, change))
}

// addNoise adds white and pink-like noise of an rms.
func (s *session) addNoise(random *rand.Rand, x []float64, rms float64) {
	var low float64
	c := math.Exp(-2 * math.Pi * 200 / float64(s.rate))
	colour := math.Sqrt((1 - c) / (1 + c))
	for i := range x {
		w := random.NormFloat64()
		low = c*low + (1-c)*w/colour
		x[i] += rms * (0.8*random.NormFloat64() + 0.6*low)
	}
}

// written returns the samples after writing and reading a file.
func (s *session) written(name string, x [][]float64, change stages) *capture.Recording {
	n := len(x[0])
	cut := make([][]float64, len(x))
	for k := range x {
		cut[k] = slices.Clone(x[k][s.trimmed[0] : n-s.trimmed[1]])
	}
	r := &capture.Recording{Name: name, SampleRate: s.rate, Channels: cut}
	var file bytes.Buffer
	require.NoError(s, capture.Encode(&file, r, capture.WriteConfig{Format: s.format, Seed: s.seed}))
	back, err := capture.Decode(&file, name, capture.ReadConfig{})
	require.NoError(s, err)
	if change.file != nil {
		back.Channels = change.file(back.Channels)
	}
	return back
}

func (s *session) String() string {
	return fmt.Sprintf("session %d: %d Hz, %.1f s, SNR %.0f dB, drift %.0f ppm, peak %.0f dBFS, %d bits, marks %v, mono %v, trimmed %v, room %d",
		s.seed, s.rate, s.stimulus.Sweep().Duration(), s.snr, s.rig.Drift, s.peak(), s.format.Bits, len(s.stimulus.Find(sweep.Mark)) > 0, s.mono, s.trimmed, len(s.room[0]))
}
