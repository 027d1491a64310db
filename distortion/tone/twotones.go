package tone

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/earnest/internal/decibel"
)

// TwoTones describes two tones played together: the stimulus, and the tones to look for in a recording
// of it.
//
// Take the headphones off your head before playing them, and start at the
// lowest level: 19 kHz and 20 kHz can be inaudible and too loud.
type TwoTones struct {
	// Lower and Upper are the frequencies f₁ < f₂ in Hz.
	Lower, Upper float64
	// Ratio is the amplitude of the lower tone over that of the upper one; 0
	// means 1.
	Ratio float64
	// SampleRate in Hz; 0 means 48 kHz.
	SampleRate int
	// Level is the highest peak that the sum can reach, in dBFS, at most 0.
	Level float64
	// Duration of the tones, Silence before and after them, and Fade, the
	// raised cosines within Duration; 0 means 3 s, 1 s and 20 ms.
	Duration, Silence, Fade time.Duration
}

// ModulationRP120 is 60 Hz and 7 kHz at 4:1, of SMPTE RP 120 (from memory).
func ModulationRP120() TwoTones { return TwoTones{Lower: 60, Upper: 7000, Ratio: 4} }

// ModulationIEC60268 is 250 Hz and 8 kHz at 4:1, of IEC 60268-3 (from memory).
func ModulationIEC60268() TwoTones { return TwoTones{Lower: 250, Upper: 8000, Ratio: 4} }

// DifferenceIEC60268 is 19 kHz and 20 kHz at 1:1, of IEC 60268-3 (from memory).
func DifferenceIEC60268() TwoTones { return TwoTones{Lower: 19000, Upper: 20000, Ratio: 1} }

func (t TwoTones) complete() (TwoTones, error) {
	orDefault(&t.SampleRate, 48000)
	orDefault(&t.Ratio, 1)
	orDefault(&t.Duration, 3*time.Second)
	orDefault(&t.Silence, time.Second)
	orDefault(&t.Fade, 20*time.Millisecond)
	if err := checkPlayed(t.SampleRate, t.Level, t.Duration, t.Silence, t.Fade); err != nil {
		return t, err
	}
	switch {
	case !(t.Lower >= 1 && t.Upper > t.Lower && t.Upper < float64(t.SampleRate)/2):
		return t, fmt.Errorf("tone: tones at %v and %v Hz at a sample rate of %d Hz; "+
			"give a lower and an upper one, from 1 Hz to below half the rate", t.Lower, t.Upper, t.SampleRate)
	case !(t.Ratio >= 0.01 && t.Ratio <= 100):
		return t, fmt.Errorf("tone: a ratio of amplitudes of %v; choose 0.01 to 100", t.Ratio)
	case 2*t.Fade > t.Duration:
		return t, fmt.Errorf("tone: two fades of %v do not fit into %v; shorten them", t.Fade, t.Duration)
	}
	return t, nil
}

// Samples returns the stimulus, one channel, full scale being 1.
func (t TwoTones) Samples() ([]float64, error) {
	t, err := t.complete()
	if err != nil {
		return nil, err
	}
	upper := decibel.Amplitude(t.Level) / (1 + t.Ratio)
	silence, n := samples(t.Silence, t.SampleRate), samples(t.Duration, t.SampleRate)
	x := make([]float64, n+2*silence)
	piece := x[silence : silence+n]
	for i := range piece {
		piece[i] = upper * (t.Ratio*sine(t.Lower, i, t.SampleRate) + sine(t.Upper, i, t.SampleRate))
	}
	fadeEnds(piece, samples(t.Fade, t.SampleRate), samples(t.Fade, t.SampleRate))
	return x, nil
}

// highestOrder is the highest |m| + |n| of the products that are fitted. Higher products do not
// disturb those that are reported.
const highestOrder = 6

// takeApart fits both tones, their harmonics and their products.
func (t TwoTones) takeApart(x []float64, c Config) (*fitted, error) {
	t, err := t.complete()
	if err != nil {
		return nil, err
	}
	a, err := newAnalyser(t.SampleRate, c)
	if err != nil {
		return nil, err
	}
	r, err := a.open(x)
	if err != nil {
		return nil, err
	}
	closest := min(t.Lower, t.Upper-t.Lower)
	if err := r.periods(minPeriods, closest); err != nil {
		return nil, err
	}
	b := comb{}
	for i, wanted := range []float64{t.Lower, t.Upper} {
		p, err := r.find(wanted, min(0.02*wanted, 0.4*closest))
		if err != nil {
			return nil, err
		}
		b.omega[i] = 2 * math.Pi * p.frequency / r.rate
	}
	b.lines = products(b, r.rate, len(x))
	f, err := r.fit(b, 1)
	if err != nil {
		return nil, err
	}
	return f, f.onlyTwo()
}

// products are the two tones and their products by rising order; of those at one frequency, only the
// one of the lowest order.
func products(b comb, fs float64, n int) []line {
	resolution := fs / float64(n)
	var all []line
	for m := -highestOrder; m <= highestOrder; m++ {
		for k := -highestOrder; k <= highestOrder; k++ {
			l := line{m, k}
			f := b.angle(l) * fs / (2 * math.Pi)
			if l.order() > 0 && l.order() <= highestOrder && f > 4*resolution && f < fs/2-2*resolution {
				all = append(all, l)
			}
		}
	}
	// Of one order, the lowest multiples of the upper tone come first, so that the sequence does not
	// depend on rounding.
	slices.SortFunc(all, func(p, q line) int {
		return cmp.Or(cmp.Compare(p.order(), q.order()), cmp.Compare(p.n*p.n, q.n*q.n), cmp.Compare(q.m, p.m))
	})
	var kept []line
	for _, l := range all {
		if !slices.ContainsFunc(kept, func(k line) bool {
			return math.Abs(b.angle(l)-b.angle(k))*fs/(2*math.Pi) < 5*resolution
		}) {
			kept = append(kept, l)
		}
	}
	return kept
}

func (l line) order() int { return max(l.m, -l.m) + max(l.n, -l.n) }

// onlyTwo returns an error for a third tone.
func (f *fitted) onlyTwo() error {
	louder := 0
	if f.amplitude(1) > f.amplitude(0) {
		louder = 1
	}
	third, ok := f.residue.tone(f.all(), f.near)
	if ok && third.amplitude > second*f.amplitude(louder) {
		return moreTones(f.readings[louder].frequency, third.frequency, third.amplitude/f.amplitude(louder))
	}
	return nil
}

// at is the reading of a product; one that could not be fitted is not known.
func (f *fitted) at(l line) reading {
	if j := slices.Index(f.lines, l); j >= 0 {
		return f.corrected[j]
	}
	return reading{frequency: math.Abs(f.hertz(f.angle(l))), u: math.NaN()}
}
