package correction

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/parallel"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// draws is the number of draws of the rig's error, which estimate a standard deviation to 5 %.
const draws = 200

// fold is a seating through filters that were fitted to the others, at points over the judged band.
type fold struct {
	weight    []float64 // adds up to 1
	deviation []float64 // through the filters
	seating   []float64 // without them
	noise     []float64 // variance of the part that only this seating has
	shared    []response.CurveComponent
}

func newFold(deviation, filters response.Curve, band response.Band, w func(float64) float64) fold {
	if w == nil {
		w = target.PerOctave
	}
	at := response.LogGrid(band.Low, band.High, gridPerOctave)
	v := fold{weight: make([]float64, len(at)), noise: make([]float64, len(at))}
	v.deviation, v.seating = make([]float64, len(at)), make([]float64, len(at))
	curve := deviation.Resample(at)
	for i, f := range at {
		if !math.IsNaN(curve.Level[i]) {
			v.weight[i], v.deviation[i] = w(f), curve.Level[i]
			v.seating[i] = curve.Level[i] - filters.At(f)
		}
	}
	floats.Scale(1/floats.Sum(v.weight), v.weight)
	floats.AddConst(-floats.Dot(v.weight, v.seating), v.seating)
	for _, one := range curve.Components {
		if one.CommonTo != response.OneSeating {
			v.shared = append(v.shared, one)
			continue
		}
		if one.Name != response.NoiseOfRecording {
			continue // it shows in the deviation, and will in a new seating
		}
		for _, e := range one.Effects {
			for i := range e {
				v.noise[i] += e[i] * e[i]
			}
		}
	}
	return v
}

// meanSquare returns the mean square of the deviation less e in dB, without the noise; e may be
// nil.
func (v *fold) meanSquare(e []float64) (sum float64) {
	for i, w := range v.weight {
		if w == 0 {
			continue
		}
		a := v.deviation[i]
		if e != nil {
			a -= e[i]
		}
		sum += w * (a*a - v.noise[i])
	}
	return sum
}

// rig returns a function that draws an error in dB that all seatings share, at each point. It uses
// its slice again.
func (v *fold) rig() func() []float64 {
	random := rand.New(rand.NewPCG(1, 1)) // the same figure each time
	e := make([]float64, len(v.weight))
	return func() []float64 {
		clear(e)
		for _, one := range v.shared {
			factor := 1.0
			if nu := one.DegreesOfFreedom; nu > 0 && !math.IsInf(nu, 1) {
				factor = math.Sqrt(nu / distuv.ChiSquared{K: nu, Src: random}.Rand())
			}
			for _, effect := range one.Effects {
				if effect != nil {
					floats.AddScaled(e, factor*random.NormFloat64(), effect)
				}
			}
		}
		return e
	}
}

// newSeating returns the rms deviation in dB to expect in a seating to which the filters were not
// fitted. For each seating in turn, it fits filters to all the others and judges that one through
// them. The result is not known with one seating, if one cannot be judged alone, or if noise explains
// all of the deviation.
//
// The filters also equalise the errors of microphone and rig, which all seatings share and which
// are not part of the pair. So with a(f) the measured deviation through the filters and e(f) such
// an error, the deviation to come is a − e, and e is drawn from its stated distribution (JCGM
// 101:2008). The noise of the one seating is not part of the pair either, and its power is
// subtracted.
//
// Filters fitted to the mean of m seatings, each of which deviates from it by σ, leave σ² (1 + 1/m)
// in a new one. Here they are fitted to n − 1 seatings, and the returned filters to n: σ²/(n (n −
// 1)) is subtracted.
func newSeating(seatings []response.Curve, t target.Target, o target.Config, c Config) response.Figure {
	n := len(seatings)
	if n < 2 {
		return response.NotKnown("dB")
	}
	o.CurveOnly = true
	through, filters, known := make([]target.Deviation, n), make([]response.Curve, n), make([]bool, n)
	parallel.Do(n, func(i int) {
		k, err := fit(slices.Delete(slices.Clone(seatings), i, i+1), t, o, c)
		if err != nil {
			return
		}
		through[i], filters[i], err = k.through(seatings[i:i+1], t, o)
		known[i] = err == nil
	})
	if slices.Contains(known, false) {
		return response.NotKnown("dB")
	}
	band := response.AllFrequencies
	for _, d := range through {
		band = band.Intersect(d.Band)
	}
	if band.Empty() {
		return response.NotKnown("dB")
	}
	folds := make([]fold, n)
	for i := range folds {
		folds[i] = newFold(through[i].Curve, filters[i], band, o.Weight)
	}
	count := float64(n)
	scatter := scatterOf(folds)
	shift := folds[0].rig()
	rms, drawn := make([]float64, n), make([]float64, draws)
	of := func(i int, e []float64) float64 {
		return math.Sqrt(max(0, folds[i].meanSquare(e)-scatter/(count*(count-1))))
	}
	for k := range drawn {
		e := shift()
		for i := range folds {
			drawn[k] += of(i, e) / count
		}
	}
	for i := range folds {
		rms[i] = of(i, nil)
	}
	if floats.Max(rms) == 0 {
		return response.NotKnown("dB")
	}
	value, rig := stat.MeanStdDev(drawn, nil)
	// The folds share seatings, so they scatter by less than their error. The other part of the
	// uncertainty is that of a mean square over a band, estimated from n − 1 differences at a dozen
	// independent places.
	const places = 12
	freedom := places * (count - 1)
	few := 0.0
	if alone := scatter * (1 + 1/count); alone > 0 { // no seating deviates by less than its scatter
		few = alone * math.Sqrt(2/freedom) / (2 * max(value, math.Sqrt(alone)))
	}
	return response.Budget{
		{Cause: response.Cause{Name: response.ScatterOfSeatings, CommonTo: response.OnePair, DegreesOfFreedom: count - 1},
			Effects: []float64{stat.StdDev(rms, nil) / math.Sqrt(count)}},
		{Cause: response.Cause{Name: "few seatings", CommonTo: response.OnePair, DegreesOfFreedom: freedom},
			Effects: []float64{few}},
		{Cause: response.Cause{Name: "what all seatings share", CommonTo: response.OnePair}, Effects: []float64{rig}},
	}.Figure(value, "dB").WithBounds(0, math.Inf(1))
}

// scatterOf returns the variance of one seating about the mean of all, as a mean over the band,
// without the noise.
func scatterOf(folds []fold) float64 {
	var sum float64
	values := make([]float64, len(folds))
	for i, w := range folds[0].weight {
		if w == 0 {
			continue
		}
		var noise float64
		for k := range folds {
			values[k] = folds[k].seating[i]
			noise += folds[k].noise[i] / float64(len(folds))
		}
		sum += w * (stat.Variance(values, nil) - noise)
	}
	return max(0, sum)
}
