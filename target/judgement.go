package target

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// fill computes the figures of a deviation.
func (d *Deviation) fill(j *judgement, bands []smoothing.Band, regions []Region, whole sums) {
	all := j.over(0, len(j.pieces))
	q := all.meanSquare()
	d.RMS = j.root(q, 1)
	share := math.Sqrt(2 / math.Pi) // of the rms: that of a normal distribution
	if q.asRead > 0 {
		share = j.sumUp(j.d, 0, len(j.pieces)).meanAbsolute / math.Sqrt(q.asRead)
	}
	d.MeanAbsolute = j.root(q, share)
	line, slope := all.withoutLine()
	d.Tilt = j.figure(slope, "dB/octave", func(e effect) float64 { return line.slope(e.at, e.from, e.to) })
	d.Ripple = j.root(line.meanSquare(), 1)
	d.Share = j.share(whole)
	d.Max = j.maxDeviation(j.d, j.top)
	d.Max.Level = j.figure(d.Max.Level.Value, "dB", func(e effect) float64 { return e.atTop - e.taken })
	d.Max.Level = d.Max.Level.WithEnds(chosenEnds{d.Max.Level, all.octaves()})
	if !j.known && d.Uncertainty[:4] == "from" {
		d.Uncertainty = "not known: one of the components does not cover the judged band"
	}
	for _, band := range bands {
		octave := Region{Name: response.FormatFrequency(band.Nominal), Band: response.Band{Low: band.Low, High: band.High}}
		d.Octaves = append(d.Octaves, OctaveDeviation{band.Nominal, j.region(octave, whole)})
	}
	for _, r := range regions {
		d.Regions = append(d.Regions, j.region(r, whole))
	}
}

// region returns the figures of one octave or region.
func (j *judgement) region(r Region, whole sums) RegionDeviation {
	from, to := j.part(r.Band)
	s, part := j.sumUp(j.d, from, to), j.over(from, to)
	out := RegionDeviation{
		Region: r, Mean: j.figure(s.mean, "dB", part.meanEffect), RMS: response.NotKnown("dB"),
		Coverage: min(s.octaves/r.Band.Octaves(), 1), Weight: s.weight / whole.weight,
	}
	if out.Mean.Known() {
		out.RMS = j.root(part.meanSquare(), 1)
	}
	return out
}

// aligned returns the difference moved by an offset in dB, and its effects after the alignment.
func (j *judgement) aligned(difference response.Curve, offset float64) response.Curve {
	c := difference.Offset(offset)
	var k int
	for n := range c.Components {
		effects := make([][]float64, len(c.Components[n].Effects))
		for i, own := range c.Components[n].Effects {
			if taken := j.effects[k].taken; own != nil && taken == 0 {
				effects[i] = own
			} else if own != nil {
				effects[i] = append([]float64(nil), own...)
				floats.AddConst(-taken, effects[i])
			}
			k++
		}
		c.Components[n].Effects = effects
	}
	return c.Refreshed()
}

// extent returns the band from the first to the last piece that is known.
func (j *judgement) extent() response.Band {
	b := response.Band{Low: math.Inf(1)}
	for i := 1; i < len(j.points); i++ {
		if !math.IsNaN(j.d[i-1]) && !math.IsNaN(j.d[i]) {
			b.Low = min(b.Low, j.points[i-1].f)
			b.High = j.points[i].f
		}
	}
	return b
}

// ends returns the frequencies in Hz at which regions begin and end.
func ends(regions []Region) []float64 {
	var at []float64
	for _, r := range regions {
		at = append(at, r.Band.Low, r.Band.High)
	}
	return at
}
