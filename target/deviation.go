package target

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// Audible is the band that is judged unless another is asked for, 20 Hz to 20 kHz, the customary
// range of hearing.
var Audible = response.Band{Low: 20, High: 20000}

// ErrNoOverlap means that there is no frequency in the band asked for at which both the response
// and the target are known.
var ErrNoOverlap = errors.New("nothing to judge")

// Config says how a response is judged. The zero Config is a good start.
type Config struct {
	// Band is the band to judge; Audible if it is zero. An end at 0 Hz or infinity means the end of
	// the data.
	Band response.Band
	// Weight returns the weight of an octave about f Hz; PerOctave if nil. Only ratios matter.
	// Weights are zero or more, and frequencies of zero weight are not judged. A step in the weight
	// is placed to within 1/24 octave, and exactly if it lies on an edge of a third-octave band of
	// IEC 61260-1.
	Weight func(f float64) float64
	// Align says how the level is fitted; for the least square deviation if zero.
	Align Alignment
	// Tolerance overrides the target's own. If neither is stated, DefaultTolerance is used.
	Tolerance Tolerance
	// Correlation is the width in octaves over which errors are correlated, for a curve that states
	// an uncertainty but not its correlation: a single response, or a target. It is an assumption,
	// 1 if zero, and Deviation.Uncertainty names it.
	Correlation float64
	// Regions are summed up besides octaves; those of the trade if nil.
	Regions []Region
	// Confidence is that of decisions; 0.95 if zero.
	Confidence float64
	// CurveOnly leaves out all figures but Coverage, Offset and Band. They take most of the time.
	CurveOnly bool
	// AllowOtherRig allows a target from another rig. The result then carries a warning, because
	// every figure contains the difference between the rigs.
	AllowOtherRig bool
}

func (o Config) withDefaults(t Target) Config {
	if o.Band == (response.Band{}) {
		o.Band = Audible
	}
	if o.Weight == nil {
		o.Weight = PerOctave
	}
	if !o.Tolerance.stated() {
		o.Tolerance = t.Tolerance
	}
	if !o.Tolerance.stated() {
		o.Tolerance = DefaultTolerance
	}
	if o.Correlation == 0 {
		o.Correlation = 1
	}
	if o.Regions == nil {
		o.Regions = regions()
	}
	if o.Confidence == 0 {
		o.Confidence = 0.95
	}
	return o
}

// Deviation is the difference between a response and a target. The package comment has the
// formulas.
type Deviation struct {
	// Target is the target's name.
	Target string
	// Curve is response − target + Offset in dB, at the points of both, wherever both are known,
	// inside the judged band and outside.
	Curve response.Curve
	// Align says how the offset was chosen, and Offset is the number of dB that were added to the
	// response.
	Align  Alignment
	Offset response.Figure
	// Asked is the band that was asked for and Band the one that was judged:
	// from the lowest to the highest frequency at which both curves are known.
	Asked, Band response.Band
	// Coverage is the part of the band asked for, 0 to 1 by weight, that was judged.
	Coverage float64
	// Tolerance is the tolerance that was used.
	Tolerance Tolerance

	// Uncertainty says in words what the uncertainty of the figures includes, or why it is not
	// known.
	Uncertainty string

	RMS          response.Figure // root mean square deviation, dB
	MeanAbsolute response.Figure // mean absolute deviation, dB
	Tilt         response.Figure // slope, dB/octave
	Ripple       response.Figure // rms deviation after the tilt is subtracted, dB
	Share        response.Figure // part of the judged band that is within tolerance, 0 to 1 by weight
	Max          MaxDeviation    // where the deviation is largest

	// Octaves are the octave bands that overlap the band asked for. Regions are those of the
	// configuration, whether or not they overlap it.
	Octaves []OctaveDeviation
	Regions []RegionDeviation
	// Warnings are sentences to show beside the figures wherever they are shown.
	Warnings []string
}

// Compare judges a response c against a target. Its uncertainty comes from c.Uncertainty;
// [CompareSeatings] also uses the scatter of the seatings.
//
// A target that belongs to another rig is an error that wraps [response.ErrOtherRig], unless the
// configuration allows it. If c or the target covers less than the band asked for, Compare judges
// the common part and adds a warning. If there is none, the error wraps [ErrNoOverlap].
func Compare(c response.Curve, t Target, o Config) (Deviation, error) {
	return CompareSeatings([]response.Curve{c}, t, o)
}

// CompareSeatings judges the mean of several measurements of the same pair against a target, one
// curve for each time it was put on the rig. It is [Compare] with the uncertainty of the figures.
//
// The scatter of the seatings gives the uncertainty, so that the correlation between neighbouring
// frequencies of one seating need not be known (see the package comment). Of the components of the
// curves, those common to more than one seating count, less the part that the target shares.
// Components of one seating show in the scatter. A single curve is judged with all of its
// components, so it may itself be a mean, such as [response.AverageOf] and [response.PoolSides]
// return.
//
// The scatter adds to mean squares, and the figures made from them are corrected for that: RMS is
// the estimate of the true deviation's rms, and lies below that of Curve. Seatings of two rigs give
// an error that wraps [response.ErrOtherRig].
func CompareSeatings(seatings []response.Curve, t Target, o Config) (Deviation, error) {
	d, err := compare(seatings, t, o)
	if err != nil {
		return Deviation{}, fmt.Errorf("target: %q: %w", t.Name, err)
	}
	return d, nil
}

// coverageWarning says which part of the band asked for could not be judged.
func (d *Deviation) coverageWarning(c response.Curve, t Target, s sums) string {
	ends := math.Abs(math.Log2(d.Band.Low/d.Asked.Low)) > edgeOctaves ||
		math.Abs(math.Log2(d.Asked.High/d.Band.High)) > edgeOctaves
	gaps := d.Band.Octaves() - s.octaves
	switch {
	case ends:
		return fmt.Sprintf("asked to judge %v, judged %v: the response is known over %v and the target %q over %v",
			d.Asked, d.Band, known(c), t.Name, known(t.Curve))
	case gaps > edgeOctaves:
		return fmt.Sprintf("%.2g of the %.2g octaves of %v are not known and were not judged", gaps,
			d.Band.Octaves(), d.Band)
	}
	return ""
}

func (d *Deviation) warn(sentence string) {
	if sentence != "" {
		d.Warnings = append(d.Warnings, sentence)
	}
}

func compare(seatings []response.Curve, t Target, o Config) (Deviation, error) {
	o = o.withDefaults(t)
	if err := checkAll(seatings, t, o); err != nil {
		return Deviation{}, err
	}
	c, err := meanOf(seatings)
	if err != nil {
		return Deviation{}, err
	}
	if err := check(c); err != nil {
		return Deviation{}, fmt.Errorf("the seatings together: %w", err)
	}
	rigWarning, err := compareRigs(c, t, o.AllowOtherRig)
	if err != nil {
		return Deviation{}, err
	}
	diff := withComponents(difference(c, t.Curve), o.Correlation)
	asked := finite(o.Band, diff.Valid)
	noOverlap := fmt.Errorf("%w in %v: the response is known over %v and the target over %v; ask for a band inside both",
		ErrNoOverlap, o.Band, known(c), known(t.Curve))
	if diff.Valid.Empty() || asked.Empty() {
		return Deviation{}, noOverlap
	}
	bands, err := smoothing.Bands(1, asked.Low, asked.High)
	if err != nil {
		return Deviation{}, err
	}
	p, err := newPlan(diff, o.Tolerance, asked, o.Weight, append(edges(bands), ends(o.Regions)...)...)
	if err != nil {
		return Deviation{}, err
	}
	raw := p.sumUp(p.read(diff), 0, len(p.pieces))
	switch {
	case !(raw.octaves > 0):
		return Deviation{}, noOverlap
	case !(raw.weight > 0):
		return Deviation{}, fmt.Errorf("the weights add up to %v over the known part of %v; give some of it a weight above zero",
			raw.weight, asked)
	}
	al, alignWarning, err := o.Align.aligner(diff, p, o.Weight)
	if err != nil {
		return Deviation{}, err
	}
	j := &judgement{plan: p, d: p.read(diff)}
	taken := al.level(diff)
	floats.AddConst(-taken, j.d)
	j.top = p.furthest(j.d, o.Weight)
	j.prepare(diff, al)
	d := Deviation{Target: t.Name, Align: o.Align, Asked: asked, Coverage: min(raw.weight/raw.all, 1),
		Tolerance: o.Tolerance, Uncertainty: sources(c, t, diff)}
	if !o.CurveOnly {
		d.fill(j, bands, o.Regions, p.sumUp(j.d, 0, len(p.pieces)))
	}
	d.Offset = j.figure(-taken, "dB", func(e effect) float64 { return e.taken })
	d.Curve = j.aligned(diff, -taken)
	d.Curve.Rig, d.Curve.Reference = c.Rig, fmt.Sprintf("target %q, %v", t.Name, o.Align)
	d.Band = j.extent()
	d.warn(rigWarning)
	d.warn(d.coverageWarning(c, t, raw))
	d.warn(alignWarning)
	if s := p.sumUp(j.d, 0, len(p.pieces)); s.shareKnown < 1-rounding {
		d.warn(fmt.Sprintf("the tolerance is stated for %.0f %% of the judged band; the share within tolerance refers to that part",
			100*s.shareKnown))
	}
	return d, nil
}

func checkAll(seatings []response.Curve, t Target, o Config) error {
	if len(seatings) == 0 {
		return errors.New("there is no response to judge; give at least one seating")
	}
	for i, c := range seatings {
		what := "the response"
		if len(seatings) > 1 {
			what = fmt.Sprintf("seating %d", i+1)
		}
		if err := check(c); err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
	}
	if err := check(t.Curve); err != nil {
		return fmt.Errorf("the target's curve: %w", err)
	}
	if err := o.Tolerance.check(); err != nil {
		return fmt.Errorf("the tolerance: %w", err)
	}
	if o.Band.Empty() {
		return fmt.Errorf("the band to judge, %v Hz to %v Hz, holds nothing; give its low end first", o.Band.Low,
			o.Band.High)
	}
	if !(o.Confidence > 0 && o.Confidence < 1) {
		return fmt.Errorf("a confidence of %v; it lies between 0 and 1, such as 0.95", o.Confidence)
	}
	if !(o.Correlation >= 1./24) {
		return fmt.Errorf("a correlation over %v octaves; "+
			"give the number of octaves over which errors are correlated, at least 1/24, such as 1", o.Correlation)
	}
	return checkRegions(o.Regions)
}

// compareRigs returns an error for another rig, or a warning if a rig is not stated.
func compareRigs(c response.Curve, t Target, allow bool) (warning string, err error) {
	switch {
	case t.AnyRig:
		return "", nil
	case c.Rig == "" && t.Curve.Rig == "":
		return fmt.Sprintf("neither the response nor the target %q states its rig; "+
			"unless it is the same one, the difference between the rigs is in every figure", t.Name), nil
	case t.Curve.Rig == "":
		return fmt.Sprintf("the target %q does not state the rig it belongs to; "+
			"unless that is %q, the difference between the rigs is in every figure", t.Name, c.Rig), nil
	case c.Rig == "":
		return fmt.Sprintf("the response does not state its rig; "+
			"unless that is %q, as for the target %q, the difference between the rigs is in every figure", t.Curve.Rig, t.Name), nil
	case c.Rig == t.Curve.Rig:
		return "", nil
	case !allow:
		return "", fmt.Errorf("%w: the response on %q, the target on %q; "+
			"measure a trusted pair on the same rig as target, or allow another rig and carry the warning",
			response.ErrOtherRig, c.Rig, t.Curve.Rig)
	}
	return fmt.Sprintf("the response was measured on %q and the target %q belongs to %q: "+
		"the difference between the rigs is in every figure", c.Rig, t.Name, t.Curve.Rig), nil
}
