package rig

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
)

// programmePeak is the peak of music and speech, in dBFS.
const programmePeak = -6

// score holds the samples of a piece while its notes are added.
type score struct {
	left, right []float64
	fs          float64
	random      *rand.Rand
	strings     map[plucked][]float64
}

func newScore(sampleRate int, seconds float64, seed, kind uint64) *score {
	if sampleRate < 8000 || !(seconds > 0) {
		panic("rig: programme needs a sample rate of 8 kHz and more, and a length above zero")
	}
	n := int(math.Round(seconds * float64(sampleRate)))
	return &score{
		left: make([]float64, n), right: make([]float64, n),
		fs:      float64(sampleRate),
		random:  rand.New(rand.NewPCG(seed, kind)),
		strings: map[plucked][]float64{},
	}
}

// finished returns the recording with its peak set.
func (s *score) finished() [][]float64 {
	out := [][]float64{s.left, s.right}
	if peak := max(floats.Norm(s.left, math.Inf(1)), floats.Norm(s.right, math.Inf(1))); peak > 0 {
		for _, x := range out {
			floats.Scale(factor(programmePeak)/peak, x)
		}
	}
	return out
}

// place adds a sound at t seconds, panned from −1 (left) to 1 with constant
// power.
func (s *score) place(sound []float64, t, pan float64) {
	left, right := math.Sqrt((1-pan)/2), math.Sqrt((1+pan)/2)
	start := int(t * s.fs)
	for i, v := range sound {
		if start+i >= len(s.left) {
			return
		}
		s.left[start+i] += left * v
		s.right[start+i] += right * v
	}
}

// pluck adds a plucked string. A tune has few strings and plucks them often.
func (s *score) pluck(t, f float64, v voice) {
	p := plucked{f, v}
	if s.strings[p] == nil {
		s.strings[p] = p.sound(s.fs)
	}
	s.place(s.strings[p], t, v.pan)
}

// drums adds the drums at one of the eight half-beats of a bar.
func (s *score) drums(step int, t float64) {
	if step%4 == 0 {
		s.place(s.drum(), t, 0)
	}
	if step%4 == 2 {
		s.place(s.burst(0.3, 0.09, HighPass(900, 0.7), LowPass(min(9000, 0.4*s.fs), 0.7)), t, 0.1)
	}
	gain := 0.16
	if step%2 == 1 {
		gain = 0.09
	}
	s.place(s.burst(gain, 0.035, HighPass(min(6500, 0.35*s.fs), 0.7)), t, -0.5)
}

// drum returns a sine that falls from 150 to 48 Hz.
func (s *score) drum() []float64 {
	x := make([]float64, int(0.35*s.fs))
	phase := 0.0
	for i := range x {
		t := float64(i) / s.fs
		phase += 2 * math.Pi * (48 + 102*math.Exp(-t/0.03)) / s.fs
		x[i] = 0.7 * math.Sin(phase) * math.Exp(-t/0.1) * (1 - t/0.35)
	}
	return x
}

// burst returns filtered noise that decays in a time in seconds.
func (s *score) burst(gain, decay float64, filters ...Filter) []float64 {
	x := make([]float64, int(6*decay*s.fs))
	for i := range x {
		x[i] = gain * s.random.NormFloat64() * math.Exp(-float64(i)/(decay*s.fs))
	}
	chain(s.fs, filters).Apply(x)
	return x
}

// voice is the sound of a string.
type voice struct {
	gain, pan float64
	decay     float64 // s in which the first partial falls by a factor of e
	slope     float64 // partial k starts at k^−slope
}

// plucked is a string of a frequency in Hz.
type plucked struct {
	frequency float64
	voice     voice
}

// sound returns slightly stretched partials, of which the high ones decay first.
func (p plucked) sound(fs float64) []float64 {
	v := p.voice
	sound := make([]float64, int(4*v.decay*fs))
	for k := 1; k <= 40; k++ {
		order := float64(k)
		partial := order * p.frequency * math.Sqrt(1+2e-4*order*order)
		if partial > min(14000, 0.4*fs) {
			break
		}
		decay := v.decay / (1 + 0.12*(order-1))
		ringing(sound[:min(len(sound), int(7*decay*fs))], partial/fs, decay*fs, v.gain*math.Pow(order, -v.slope))
	}
	for i := range sound { // the end must not click
		sound[i] *= 1 - float64(i)/float64(len(sound))
	}
	return sound
}

// Music returns an invented tune: plucked strings over a bass, with a drum, a rattle and a cymbal
// of noise. It has two channels with a peak of −6 dBFS. The seed chooses chords, tune and tempo.
// Music panics below 8 kHz and for a length that is not above zero.
func Music(sampleRate int, seconds float64, seed uint64) [][]float64 {
	s := newScore(sampleRate, seconds, seed, 0x6d75736963)
	chords := progressions[s.random.IntN(len(progressions))]
	tonic := 38 + s.random.IntN(8)                // MIDI note numbers: D2 to A2
	step := 60 / (96 + 36*s.random.Float64()) / 2 // half a beat, s
	degree := 5
	for k := 0; float64(k)*step < seconds; k++ {
		t := float64(k) * step
		chord := chords[k/8%len(chords)]
		s.drums(k%8, t)
		if k%8 == 0 || k%8 == 3 || k%8 == 6 {
			s.pluck(t, note(tonic, chord), voice{gain: 0.55, pan: 0, decay: 0.45, slope: 1.5})
		}
		s.pluck(t, note(tonic+24, chord+2*[4]int{0, 1, 2, 1}[k%4]), voice{gain: 0.2, pan: -0.8, decay: 0.35, slope: 1.1})
		if s.random.Float64() < 0.6 {
			degree = min(12, max(0, degree+s.random.IntN(5)-2))
			s.pluck(t, note(tonic+24, degree), voice{gain: 0.3, pan: 0.7, decay: 0.6, slope: 0.9})
		}
	}
	return s.finished()
}

// progressions are chords by their degree of the scale.
var progressions = [...][4]int{{0, 4, 5, 3}, {0, 5, 3, 4}, {5, 3, 0, 4}, {0, 3, 0, 4}}

// note returns the frequency in Hz of a degree of the major scale on a MIDI note (69 is 440 Hz).
func note(tonic, degree int) float64 {
	scale := [7]int{0, 2, 4, 5, 7, 9, 11}
	n := tonic + 12*(degree/7) + scale[degree%7]
	return 440 * math.Exp2(float64(n-69)/12)
}

// ringing adds a sine of a frequency in cycles per sample that decays in a
// number of samples, by the recursion of a two-pole resonator.
func ringing(x []float64, frequency, decay, amplitude float64) {
	r := math.Exp(-1 / decay)
	a, b := 2*r*math.Cos(2*math.Pi*frequency), r*r
	y2, y1 := -amplitude*math.Sin(2*math.Pi*frequency)/r, 0.0
	for i := range x {
		x[i] += y1
		y1, y2 = a*y1-b*y2, y1
	}
}
