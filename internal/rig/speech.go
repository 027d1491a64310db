package rig

import "math"

// vowels are the first three formants in Hz: averages of men's voices,
// Peterson & Barney, J. Acoust. Soc. Am. 24(2), 1952 (from memory).
var vowels = [...][3]float64{
	{270, 2290, 3010}, // heed
	{390, 1990, 2550}, // hid
	{530, 1840, 2480}, // head
	{660, 1720, 2410}, // had
	{640, 1190, 2390}, // hud
	{730, 1090, 2440}, // hod
	{570, 840, 2410},  // hawed
	{440, 1020, 2240}, // hood
	{300, 870, 2240},  // who'd
	{490, 1350, 1690}, // heard
}

// consonant is a hiss.
type consonant struct {
	gain, seconds float64
	gap           float64 // s of silence before it, as in t and k
	filters       []Filter
}

// speaker is the state of the voice.
type speaker struct {
	*score
	pitch float64    // Hz
	from  [3]float64 // the formants at the beginning of the next vowel
}

// phrase adds three to six words from t on and returns the time at which it ends.
func (v *speaker) phrase(t float64) float64 {
	words := 3 + v.random.IntN(4)
	fall := 1.12 // the pitch falls along a phrase
	for range words {
		syllables := 1 + v.random.IntN(3)
		accent := v.random.IntN(syllables)
		for k := range syllables {
			if v.random.Float64() < 0.75 {
				t = v.hiss(t)
			}
			stress := 1.0
			if k == accent {
				stress = 1.15
			}
			t = v.vowel(t, v.pitch*fall*stress, 0.07+0.1*v.random.Float64()*stress, stress)
		}
		fall -= 0.28 / float64(words)
		t += 0.03 * v.random.Float64()
	}
	return t
}

// hiss adds a consonant.
func (v *speaker) hiss(t float64) float64 {
	all := consonants(v.fs)
	c := all[v.random.IntN(len(all))]
	x := make([]float64, int(c.seconds*v.fs))
	for i := range x {
		u := (float64(i) + 0.5) / float64(len(x))
		x[i] = c.gain * v.random.NormFloat64() * math.Sin(math.Pi*math.Pow(u, 0.6))
	}
	chain(v.fs, []Filter(c.filters)).Apply(x)
	v.place(x, t+c.gap, 0)
	return t + c.gap + 0.9*c.seconds
}

// vowel adds a vowel at a pitch in Hz, of a length in seconds.
func (v *speaker) vowel(t, pitch, seconds, stress float64) float64 {
	to := vowels[v.random.IntN(len(vowels))]
	x := v.glottis(pitch, seconds)
	for k := range 3 {
		v.resonate(x, v.from[k], to[k], []float64{60, 90, 150}[k])
	}
	v.resonate(x, 3500, 3500, 200)
	v.resonate(x, 4500, 4500, 280)
	for i := range x {
		u := float64(i) / float64(len(x))
		x[i] *= 0.25 * stress * min(1, u/0.15, (1-u)/0.25)
	}
	v.from = to
	v.place(x, t, 0)
	return t + 0.92*seconds
}

// glottis returns the flow through the vocal folds as it sounds in front of the lips, its
// derivative: it opens slowly and shuts fast, during 60 % of each period, with a little
// unsteadiness and breath.
func (v *speaker) glottis(pitch, seconds float64) []float64 {
	x := make([]float64, int(seconds*v.fs))
	phase, period := 0.0, 1.0
	for i := range x {
		u := phase / 0.6
		if u < 1 {
			x[i] = 2*u - 3*u*u // of u² − u³
		}
		x[i] += 0.01 * v.random.NormFloat64()
		phase += pitch * (1.05 - 0.1*float64(i)/float64(len(x))) * period / v.fs
		if phase >= 1 {
			phase--
			period = 1 + 0.01*v.random.NormFloat64()
		}
	}
	return x
}

// resonate filters x by a resonator that glides from one frequency to another in the first half,
// with a bandwidth in Hz and gain 1 at 0 Hz.
func (v *speaker) resonate(x []float64, from, to, bandwidth float64) {
	const stretch = 48 // samples between changes
	c := -math.Exp(-2 * math.Pi * bandwidth / v.fs)
	var a, b, y1, y2 float64
	for i := range x {
		if i%stretch == 0 {
			f := from + (to-from)*min(1, 2*float64(i)/float64(len(x)))
			b = 2 * math.Exp(-math.Pi*bandwidth/v.fs) * math.Cos(2*math.Pi*min(f/v.fs, 0.45))
			a = 1 - b - c
		}
		y := a*x[i] + b*y1 + c*y2
		x[i], y1, y2 = y, y, y1
	}
}

// Speech returns a voice without words: syllables of hiss and vowel, in groups and phrases, with
// pauses between them. The vowels are pulses of a gliding pitch through five resonators (source and
// filter: Fant, Acoustic Theory of Speech Production, 1960; the resonators are Klatt's, J. Acoust.
// Soc. Am. 67(3), 1980; both from memory). Both channels have the same voice, with a peak of −6
// dBFS. Speech panics below 8 kHz and for a length that is not above zero.
func Speech(sampleRate int, seconds float64, seed uint64) [][]float64 {
	s := newScore(sampleRate, seconds, seed, 0x737065656368)
	v := &speaker{score: s, pitch: 95 + 40*s.random.Float64(), from: vowels[4]}
	for t := 0.1; t < seconds; {
		t = v.phrase(t) + 0.25 + 0.45*s.random.Float64()
	}
	return s.finished()
}

// consonants returns those for a sample rate; at a low rate they lose their top.
func consonants(fs float64) []consonant {
	top := func(f float64) float64 { return min(f, 0.4*fs) }
	return []consonant{
		{gain: 0.05, seconds: 0.11, filters: []Filter{HighPass(top(4500), 0.9), Peak(top(6500), 1.5, 6)}},  // s
		{gain: 0.05, seconds: 0.12, filters: []Filter{HighPass(top(1800), 0.9), LowPass(top(6000), 0.7)}},  // sh
		{gain: 0.02, seconds: 0.09, filters: []Filter{HighPass(top(1200), 0.7)}},                           // f
		{gain: 0.09, seconds: 0.02, gap: 0.05, filters: []Filter{HighPass(top(2500), 0.7)}},                // t
		{gain: 0.09, seconds: 0.025, gap: 0.06, filters: []Filter{Peak(1700, 2, 12), HighPass(700, 0.7)}},  // k
		{gain: 0.08, seconds: 0.012, gap: 0.06, filters: []Filter{LowPass(1200, 0.7), HighPass(150, 0.7)}}, // p
	}
}
