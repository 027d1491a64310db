package target

import (
	"math"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// align moves the difference, and every effect, as the alignment says.
func (j *judgement) align(a aligner, difference response.Curve) {
	taken := a.level(difference)
	for i := range j.d {
		j.d[i] -= taken
	}
	for g := range j.causes {
		for _, e := range j.causes[g].Curves {
			j.causes[g].taken = append(j.causes[g].taken, a.level(e))
		}
	}
}

// cutSpans finds the pieces of each octave and each region.
func (j *judgement) cutSpans(bands []smoothing.Band, regions []Region) {
	for _, b := range bands {
		from, to := j.part(response.Band{Low: b.Low, High: b.High})
		j.spans = append(j.spans, [2]int{from, to})
	}
	for _, r := range regions {
		from, to := j.part(r.Band)
		j.spans = append(j.spans, [2]int{from, to})
	}
}

// fill computes the figures of a deviation.
func (d *Deviation) fill(j *judgement, bands []smoothing.Band, regions []Region, whole sums) {
	b := j.propagate()
	d.causes = j.causes
	d.rms, d.tilt, d.meanAbsolute = b[squareOfSpan(0)].root(), b[ofTilt], b[ofMeanAbsolute].debiased()
	d.RMS = j.figure(d.rms, "dB", atLeastZero)
	d.MeanAbsolute = j.figure(d.meanAbsolute, "dB", atLeastZero)
	d.Tilt = j.figure(d.tilt, "dB/octave", nil)
	d.Ripple = j.figure(b[ofRippleSquare].root(), "dB", atLeastZero)
	d.Share = j.share(b[ofShare].value)
	d.Max = j.excursion(j.d, j.top)
	d.Max.Level = j.figure(b[ofTop], "dB", nil)
	d.known = j.known
	if !j.known && d.Uncertainty[:4] == "from" {
		d.Uncertainty = "not known: one of the effects does not cover what was judged"
	}
	for i, band := range bands {
		octave := Region{Name: response.FormatFrequency(band.Nominal), Band: response.Band{Low: band.Low, High: band.High}}
		d.Octaves = append(d.Octaves, OctaveDeviation{band.Nominal, j.region(b, i+1, octave, whole)})
	}
	for i, r := range regions {
		at := i + 1 + len(bands)
		d.regionMeans = append(d.regionMeans, b[meanOfSpan(at)])
		d.Regions = append(d.Regions, j.region(b, at, r, whole))
	}
}

// region returns the figures of one octave or region, the i-th span.
func (j *judgement) region(b []budget, i int, r Region, whole sums) RegionDeviation {
	s := j.sumUp(j.d, j.spans[i][0], j.spans[i][1])
	out := RegionDeviation{
		Region: r, Mean: j.figure(b[meanOfSpan(i)], "dB", nil), RMS: response.NotKnown("dB"),
		Coverage: min(s.octaves/r.Band.Octaves(), 1), Weight: s.weight / whole.weight,
	}
	if out.Mean.Known() {
		out.RMS = j.figure(b[squareOfSpan(i)].root(), "dB", atLeastZero)
	}
	return out
}

// offset is what was added to the response, and how sure that is.
func (j *judgement) offset(value float64) response.Figure {
	b := budget{value: value}
	for _, c := range j.causes {
		b.by = append(b.by, c.taken)
	}
	return j.figure(b, "dB", nil)
}

// curve is the aligned difference with its uncertainty: that of its causes
// where there are several seatings, else as it was stated, as if the alignment
// were exact.
func (j *judgement) curve(difference response.Curve, offset float64, several bool) response.Curve {
	c := difference.Offset(offset)
	if !several {
		return c
	}
	c.Uncertainty = make([]float64, len(c.Frequency))
	for i, f := range c.Frequency {
		c.Uncertainty[i] = math.NaN()
		if j.known {
			c.Uncertainty[i], _ = pooled(shifts(j.causes, f).variances(j.causes))
		}
	}
	return c
}

// shifts is what the effects do at f Hz.
func shifts(causes []cause, f float64) budget {
	var b budget
	for _, c := range causes {
		by := make([]float64, len(c.Curves))
		for k, e := range c.Curves {
			by[k] = e.At(f) - c.taken[k]
		}
		b.by = append(b.by, by)
	}
	return b
}

// At is the deviation at f Hz, interpolated, with its uncertainty there. Unlike
// Curve it says the degrees of freedom.
func (d Deviation) At(f float64) response.Figure {
	out := figure(d.Curve.At(f), "dB")
	if d.known && out.Known() {
		out.Uncertainty, out.DegreesOfFreedom = pooled(shifts(d.causes, f).variances(d.causes))
	}
	return out
}

// extent is the band from the first to the last piece that is known.
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

// ends are the frequencies in Hz at which regions begin and end.
func ends(regions []Region) []float64 {
	var at []float64
	for _, r := range regions {
		at = append(at, r.Band.Low, r.Band.High)
	}
	return at
}
