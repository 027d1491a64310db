package coverage

import (
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// truth is the true deviation from a target, by sums over 192 points to an octave where the judged
// curve is known.
type truth struct {
	offset, rms, meanAbsolute, tilt, ripple, share float64
	level                                          levels // aligned
	known                                          response.Curve
	from                                           float64
}

// judged returns the truth of levels over the band of a measured deviation.
func judged(l levels, d target.Deviation, aligned bool) truth {
	t := truth{known: d.Curve, from: d.Band.Low}
	if aligned {
		t.offset = -t.mean(l, d.Band, func(v, _ float64) float64 { return v })
	}
	t.level = l.plus(1, flat(t.offset))
	mean := func(of func(v, x float64) float64) float64 { return t.mean(t.level, d.Band, of) }
	t.rms = math.Sqrt(mean(func(v, _ float64) float64 { return v * v }))
	t.meanAbsolute = mean(func(v, _ float64) float64 { return math.Abs(v) })
	t.share = mean(func(v, _ float64) float64 {
		if math.Abs(v) <= 3 {
			return 1
		}
		return 0
	})
	middle, centre := mean(func(_, x float64) float64 { return x }), mean(func(v, _ float64) float64 { return v })
	t.tilt = mean(func(v, x float64) float64 { return v * (x - middle) }) / mean(func(_, x float64) float64 { return (x - middle) * (x - middle) })
	t.ripple = math.Sqrt(mean(func(v, x float64) float64 { e := v - centre - t.tilt*(x-middle); return e * e }))
	return t
}

// mean returns that of a function of level and octave over a band; NaN if nothing in it is known.
func (t truth) mean(l levels, b response.Band, of func(v, x float64) float64) float64 {
	const step = 1. / 192
	var sum, count float64
	for x := math.Log2(b.Low) + step/2; x < math.Log2(b.High); x += step {
		if f := math.Exp2(x); !math.IsNaN(t.known.At(f)) {
			sum += of(l.at(f), x)
			count++
		}
	}
	return sum / count
}

func (t truth) meanOver(b response.Band) float64 {
	return t.mean(t.level, b, func(v, _ float64) float64 { return v })
}

func (t truth) rmsOver(b response.Band) float64 {
	return math.Sqrt(t.mean(t.level, b, func(v, _ float64) float64 { return v * v }))
}
