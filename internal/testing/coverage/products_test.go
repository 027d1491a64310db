package coverage

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// products holds the spectra of the second and the third power of a part of several tones, over one
// period, scaled as the harmonics of a sweep: one tone at the level of the sweep gives each
// harmonic its own level. The tones themselves are left out.
type products struct {
	part  sweep.Part
	base  float64 // Hz of the first bin
	power [2][]complex128
}

// newProducts computes them at four times the sample rate, so that nothing folds back.
func newProducts(part sweep.Part, amplitude float64, rate int) products {
	period := part.Period
	if period == 0 {
		period = part.Len
	}
	const finer = 4
	out := products{part: part, base: float64(rate) / float64(period)}
	long, x := fft.NewPlan(finer*period), make([]float64, finer*period)
	for n, scale := range []float64{2 / amplitude, 4 / amplitude / amplitude} {
		for i := range x {
			var v float64
			for _, t := range part.Tones {
				v += t.Amplitude * math.Sin(2*math.Pi*t.Frequency*float64(i)/float64(finer*rate)+t.Phase)
			}
			x[i] = scale * math.Pow(v, float64(n+2))
		}
		power := long.Forward(nil, x)[:period/2+1]
		for _, t := range part.Tones {
			power[int(math.Round(t.Frequency/out.base))] = 0
		}
		for k := range power {
			if power[k] /= finer; k == 0 || k >= period*49/100 {
				power[k] = 0
			}
		}
		out.power[n] = power
	}
	return out
}

// samples returns the second or the third power over the length of the part.
func (p products) samples(n int) []float64 {
	period := 2 * (len(p.power[n-2]) - 1)
	once := fft.NewPlan(period).Inverse(nil, p.power[n-2])
	out := make([]float64, p.part.Len)
	for i := range out {
		out[i] = once[i%period]
	}
	return out
}

// amplitude returns that of a product of the order 2 or 3 at f Hz, behind levels.
func (p products) amplitude(n int, f float64, l levels) float64 {
	period := 2 * (len(p.power[n-2]) - 1)
	return 2 / float64(period) * cmplx.Abs(p.power[n-2][int(math.Round(f/p.base))]) * math.Pow(10, l.at(f)/20)
}

// tone returns the amplitude of a tone behind levels.
func (p products) tone(i int, l levels) float64 {
	t := p.part.Tones[i]
	return t.Amplitude * math.Pow(10, l.at(t.Frequency)/20)
}

// TestIntervalsOfProducts draws reviews of a stimulus with two tones at once and with many tones.
// The truth is the sum of the powers, by the definitions of IEC 60268-3.
func TestIntervalsOfProducts(t *testing.T) {
	if *leveled == few {
		long.Skip(t)
	}
	b, err := newBench(48000, sweep.AskDistortion, sweep.AskModulation)
	require.NoError(t, err)
	drawLevels(t, b, "two tones and many", [2]float64{-50, -60}, [2]float64{-25, -30}, (*session).runProducts)
}

// runProducts draws, measures and counts a review of several tones at once.
func (s *session) runProducts() (draw, error) {
	r, err := s.reviewed()
	if err != nil {
		return nil, err
	}
	d := draw{}
	for k, side := range r.Sides() {
		all, further := s.unplaced(k), side.Further
		for _, p := range s.products {
			lower, upper := p.part.Tones[0].Frequency, p.part.Tones[1].Frequency
			pair := math.Pow(10, s.harmonic[0]/20)
			third := math.Pow(10, s.harmonic[1]/20)
			mean := func(of func(l levels) float64) float64 {
				var sum float64
				for _, l := range all {
					sum += of(l) / float64(len(all))
				}
				return sum
			}
			switch {
			case len(p.part.Tones) > 2 && further.Many != nil:
				s.manyTones(d, p, further, all)
			case len(p.part.Tones) > 2:
			case upper > 8*lower && further.Modulation != nil:
				second := func(l levels) float64 {
					return 100 * pair * (p.amplitude(2, upper-lower, l) + p.amplitude(2, upper+lower, l)) / p.tone(1, l)
				}
				cubic := func(l levels) float64 {
					return 100 * third * (p.amplitude(3, upper-2*lower, l) + p.amplitude(3, upper+2*lower, l)) / p.tone(1, l)
				}
				m := further.Modulation
				d.reading("modulation, second order", m.Second.Reading, mean(second))
				d.reading("modulation, third order", m.Third.Reading, mean(cubic))
				d.reading("modulation, total", m.Total.Reading, mean(func(l levels) float64 { return math.Hypot(second(l), cubic(l)) }))
			case further.Difference != nil:
				both := func(l levels) float64 { return p.tone(0, l) + p.tone(1, l) }
				d.reading("difference frequency, second order", further.Difference.Second.Reading,
					mean(func(l levels) float64 { return 100 * pair * p.amplitude(2, upper-lower, l) / both(l) }))
				d.reading("difference frequency, third order", further.Difference.Third.Reading, mean(func(l levels) float64 {
					return 100 * third * (p.amplitude(3, 2*lower-upper, l) + p.amplitude(3, 2*upper-lower, l)) / both(l)
				}))
			}
		}
	}
	return d, nil
}

// manyTones counts the distortion of many tones in each band and in all.
func (s *session) manyTones(d draw, p products, further *review.Further, seatings []levels) {
	in := func(bands []response.Band) float64 {
		var sum float64
		for _, l := range seatings {
			var tones, rest float64
			for i := range p.part.Tones {
				tones += math.Pow(p.tone(i, l), 2)
			}
			for _, b := range bands {
				for k := int(math.Ceil(b.Low / p.base)); float64(k)*p.base < b.High; k++ {
					for n := 2; n <= 3; n++ {
						rest += math.Pow(10, s.harmonic[n-2]/10) * math.Pow(p.amplitude(n, float64(k)*p.base, l), 2)
					}
				}
			}
			sum += math.Sqrt(rest/tones) / float64(len(seatings))
		}
		return 20 * math.Log10(sum)
	}
	var known []response.Band
	for _, b := range further.Many.Bands {
		if math.IsNaN(b.Distortion.AsRead) {
			continue
		}
		known = append(known, b.Band)
		d.reading("many tones, a band", b.Distortion, in([]response.Band{b.Band}))
	}
	d.reading("many tones, total", further.Many.Total.Distortion, in(known))
}
