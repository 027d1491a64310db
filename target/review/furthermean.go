package review

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/distortion"
	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// meanFurther computes Side.Further.
func (s *Side) meanFurther() *Further {
	var all []*Further
	for _, r := range s.withFurther() {
		all = append(all, r.Further)
	}
	if len(all) == 0 {
		return nil
	}
	out := &Further{Tones: meanTones(all), Crosstalk: s.crosstalk()}
	for _, q := range sweep.Questions() {
		if slices.ContainsFunc(all, func(f *Further) bool { return slices.Contains(f.Held, q) }) {
			out.Held = append(out.Held, q)
		}
	}
	var modulation, difference []*tone.Intermodulation
	var many []*tone.Multitone
	for _, f := range all {
		if f.Modulation != nil {
			modulation = append(modulation, f.Modulation)
		}
		if f.Difference != nil {
			difference = append(difference, f.Difference)
		}
		if f.Many != nil {
			many = append(many, f.Many)
		}
	}
	out.Modulation, out.Difference, out.Many = meanProducts(modulation), meanProducts(difference), meanMany(many)
	return out
}

// meanReading returns the mean of a reading of all results.
func meanReading[T any](all []T, of func(T) distortion.Reading) distortion.Reading {
	readings := make([]distortion.Reading, len(all))
	for i, one := range all {
		readings[i] = of(one)
	}
	return distortion.Mean(readings[0], readings[1:]...)
}

// meanFigure returns the mean of the values of figures with their scatter. One figure keeps its own
// uncertainty. Figures that are not known are left out.
func meanFigure(seatings []response.Figure, unit string) response.Figure {
	values := make([]float64, 0, len(seatings))
	for _, f := range seatings {
		if f.Known() {
			values = append(values, f.Value)
		}
	}
	switch n := float64(len(values)); n {
	case 0:
		return response.NotKnown(unit)
	case 1:
		return seatings[slices.IndexFunc(seatings, response.Figure.Known)]
	default:
		mean, deviation := stat.MeanStdDev(values, nil)
		cause := response.Cause{Name: response.ScatterOfSeatings, CommonTo: response.OneSide, DegreesOfFreedom: n - 1}
		return response.Budget{{Cause: cause, Effects: []float64{deviation / math.Sqrt(n)}}}.Figure(mean, unit)
	}
}

// meanTones returns the mean of each steady tone, in the order in which they were played.
func meanTones(all []*Further) (out []SteadyTone) {
	same := map[[2]float64][]SteadyTone{}
	for _, f := range all {
		for _, t := range f.Tones {
			key := [2]float64{t.Frequency, t.Played} // each is played once
			if same[key] == nil {
				out = append(out, t)
			}
			same[key] = append(same[key], t)
		}
	}
	for i := range out {
		t := &out[i]
		seatings := same[[2]float64{t.Frequency, t.Played}]
		var thd []distortion.THD
		var level float64
		var withNoise []response.Figure
		for _, one := range seatings {
			thd, withNoise = append(thd, one.THD), append(withNoise, one.THDPlusN)
			level += one.THD.Level / float64(len(seatings))
		}
		t.THD, t.THDPlusN = distortion.MeanTHD(thd...), meanFigure(withNoise, t.THDPlusN.Unit)
		t.THD.Level = level
		t.Orders = slices.Clone(t.Orders)
		for k := range t.Orders {
			h := &t.Orders[k]
			h.Reading = meanReading(seatings, func(one SteadyTone) distortion.Reading {
				if k < len(one.Orders) {
					return one.Orders[k].Reading
				}
				return nothing(h.Unit)
			})
		}
	}
	return out
}

// nothing returns an empty reading.
func nothing(unit string) distortion.Reading {
	return distortion.NewReading(math.NaN(), math.NaN(), unit, distortion.Noise{})
}

// meanProducts returns the mean of the products of two tones; nil of none.
func meanProducts(all []*tone.Intermodulation) *tone.Intermodulation {
	if len(all) == 0 {
		return nil
	}
	out := *all[0]
	for _, of := range []func(*tone.Intermodulation) *tone.ProductSum{
		func(m *tone.Intermodulation) *tone.ProductSum { return &m.Second },
		func(m *tone.Intermodulation) *tone.ProductSum { return &m.Third },
		func(m *tone.Intermodulation) *tone.ProductSum { return &m.Total },
	} {
		sum := of(&out)
		sum.Reading = meanReading(all, func(m *tone.Intermodulation) distortion.Reading { return of(m).Reading })
		sum.Products = slices.Clone(sum.Products)
		for i := range sum.Products {
			sum.Products[i].Reading = meanReading(all,
				func(m *tone.Intermodulation) distortion.Reading { return of(m).Products[i].Reading })
		}
	}
	return &out
}

// meanMany returns the mean of the distortion of many tones, in the bands that all have; nil of
// none.
func meanMany(all []*tone.Multitone) *tone.Multitone {
	if len(all) == 0 {
		return nil
	}
	out := &tone.Multitone{Tones: all[0].Tones, Total: all[0].Total}
	out.Total.Distortion = meanReading(all, func(m *tone.Multitone) distortion.Reading { return m.Total.Distortion })
	for _, band := range all[0].Bands {
		var same []tone.Residue
		for _, m := range all {
			if i := slices.IndexFunc(m.Bands, func(r tone.Residue) bool { return r.Frequency == band.Frequency }); i >= 0 {
				same = append(same, m.Bands[i])
			}
		}
		if len(same) == len(all) {
			band.Distortion = meanReading(same, func(r tone.Residue) distortion.Reading { return r.Distortion })
			out.Bands = append(out.Bands, band)
		}
	}
	return out
}
