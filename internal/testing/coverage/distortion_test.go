package coverage

import (
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/target/review"
)

// harmonicRatio returns a harmonic of the sound at f Hz relative to its fundamental, as a factor.
func (s *session) harmonicRatio(l levels, order int, f float64) float64 {
	return math.Pow(10, (s.harmonic[order-2]+l.at(float64(order)*f)-l.at(f))/20)
}

// total returns total harmonic distortion in % of the orders in a reading.
func (s *session) total(l levels, f float64, orders []int) float64 {
	var sum float64
	for _, n := range orders {
		if n <= 3 {
			v := s.harmonicRatio(l, n, f)
			sum += v * v
		}
	}
	return 100 * math.Sqrt(sum)
}

// expectedTotal returns its mean over seatings.
func (s *session) expectedTotal(seatings []levels, f float64, orders []int) float64 {
	var sum float64
	for _, l := range seatings {
		sum += s.total(l, f, orders) / float64(len(seatings))
	}
	return sum
}

// unplaced returns a hundred seatings of a side, without errors.
func (s *session) unplaced(side int) []levels {
	all := make([]levels, 100)
	for i := range all {
		all[i] = s.device[side].plus(1, s.family.seated(s.Rand, side))
	}
	return all
}

// reading counts the interval of a known reading, or its bound.
func (d draw) reading(name string, r distortion.Reading, truth float64) {
	if r.Known() {
		d.figure(name, r.Figure, truth)
	}
	if math.IsNaN(r.Bound) {
		return
	}
	floor := r.Floor
	size := truth / floor
	if r.Unit == "dB" {
		size = math.Pow(10, (truth-floor)/20)
	}
	if size >= 1 && size <= 3 {
		d.holds(interval, name+" is at most, 1–3 times the noise", math.Inf(-1), r.Bound, truth)
	}
	d.holds(bound, name+" is at most", math.Inf(-1), r.Bound, truth)
}

func (s *session) distortion(d draw, r *review.Results, seated [2][]levels, off [2]levels) {
	for k, side := range r.Sides() {
		hs := side.Seatings[0].Harmonics
		alone := seated[k][0].plus(-1, off[k])
		for _, f := range []float64{100, 300, 1000, 3000} {
			for n := 2; n <= 3; n++ {
				d.reading("a harmonic", hs.Harmonic(n, f), 20*math.Log10(s.harmonicRatio(alone, n, f)))
			}
			t := hs.THD(f)
			d.reading("total distortion of a seating", t.Reading, s.total(alone, f, append(t.Contains, 2, 3)[:len(t.Contains)]))
		}
		all := s.unplaced(k)
		for _, f := range []float64{125, 1000} {
			t := side.THD(f)
			d.reading("total distortion, mean of seatings", t.Reading, s.expectedTotal(all, t.Frequency, []int{2, 3}))
		}
	}
}
