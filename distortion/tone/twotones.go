package tone

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// highestOrder is the highest |m| + |n| of the products that are fitted. Higher products do not
// disturb those that are reported.
const highestOrder = 6

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

// at returns the reading of a product, not known if it could not be fitted.
func (f *fitted) at(l line) reading {
	if j := slices.Index(f.lines, l); j >= 0 {
		return f.corrected[j]
	}
	return reading{frequency: math.Abs(f.hertz(f.angle(l))), u: math.NaN()}
}

// takeApart fits a lower and an upper tone in Hz, their harmonics and their products.
func takeApart(x []float64, sampleRate int, lower, upper float64, c Config) (*fitted, error) {
	r, err := open(x, sampleRate, c)
	if err != nil {
		return nil, err
	}
	if !(lower >= 1 && upper > lower && upper < r.rate/2) {
		return nil, fmt.Errorf("tone: tones at %v and %v Hz at a sample rate of %d Hz; "+
			"give a lower and an upper one, from 1 Hz to below half the rate", lower, upper, sampleRate)
	}
	closest := min(lower, upper-lower)
	if err := r.periods(minPeriods, closest); err != nil {
		return nil, err
	}
	b := comb{}
	for i, wanted := range []float64{lower, upper} {
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

// products returns the two tones and their products by rising order. Of several at one frequency it
// returns the one of the lowest order.
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
	// Within one order, the lowest multiples of the upper tone come first, so that the sequence
	// does not depend on rounding.
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
