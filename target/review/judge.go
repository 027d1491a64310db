package review

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/correction"
)

// Criteria are the criteria by which a pair is judged.
type Criteria struct {
	// Target, or nil for a flat response, and how the response is compared with it.
	Target *target.Target
	target.Config
	// Claims of the maker.
	Claims []claim.Claim
	// Rivals are pairs to compare with, measured on the same rig; Results.Pair makes one.
	Rivals []target.Pair
	// Chosen is the rival, from 1, that the others are compared with frequency by frequency; 0 is
	// the pair itself.
	Chosen int
}

// target returns the target to compare with.
func (c Criteria) target() target.Target {
	if c.Target == nil {
		return target.Flat()
	}
	return *c.Target
}

// Judgement compares a pair with a target, the maker's claims, the needs of common uses, and
// rivals.
type Judgement struct {
	// Target is a flat response if the criteria named none; NoTarget then says so.
	Target   target.Target
	NoTarget bool
	// Mean is the deviation of the mean response, and Sides that of each side.
	Mean  target.Deviation
	Sides map[string]target.Deviation
	// Difference is left less right over MatchBand, as a deviation from zero; nil if there is only
	// one side or if the two have no known frequencies in common there.
	Difference *target.Deviation
	// Uses has a verdict for each use.
	Uses []target.Verdict
	// Claims has a verdict for each claim, in the order of the criteria.
	Claims []claim.Verdict
	// Correction is the effect of a few gentle filters; nil if too little of the response is known.
	Correction *correction.Correction
	// Ranking of the pair and those rivals whose response is known; nil if there are none.
	Ranking *target.Ranking
	Rivals  []target.Pair
	// Chosen is the rival, from 1, that Criteria.Chosen names; 0 is the pair itself, also if
	// nothing is known of that rival.
	Chosen int
}

// MatchBand is the band in which the difference of the sides is given as one figure. Below it, the
// seal on the rig dominates; above it, a shift of a millimetre does.
var MatchBand = response.Band{Low: 100, High: 8000}

// Judge compares the results with the criteria and sets Judgement. It returns the errors of
// target.CompareSeatings, target.Rank and claim.Judge, response.ErrOtherRig among them.
func (r *Results) Judge(c Criteria) error {
	if c.Chosen < 0 || c.Chosen > len(c.Rivals) {
		return fmt.Errorf("review: the chosen rival is number %d of %d; 0 is the pair itself", c.Chosen, len(c.Rivals))
	}
	mean, difference, err := r.perSeating()
	if err != nil {
		return err
	}
	own, options := r.Pair(), c.Config
	goal := c.target()
	j := &Judgement{Target: goal, NoTarget: c.Target == nil, Sides: map[string]target.Deviation{}}
	if j.Mean, err = target.Compare(r.Mean, goal, options); err != nil {
		return err
	}
	for _, side := range r.Sides() {
		if j.Sides[side.Name], err = target.Compare(side.Response(), goal, options); err != nil {
			return err
		}
	}
	if len(difference) > 0 {
		d, err := target.CompareSides([]response.Curve{r.Difference}, MatchBand, target.Config{})
		if j.Difference, err = known(d, err); err != nil {
			return err
		}
	}
	evidence := target.Evidence{Seatings: own.Seatings, THD: r.thd()}
	if len(difference) > 0 {
		evidence.Match = []response.Curve{r.Difference}
	}
	for _, use := range target.Uses() {
		v, err := use.Judge(evidence, goal, options)
		if err != nil {
			return err
		}
		j.Uses = append(j.Uses, v)
	}
	held := r.evidence(target.Evidence{Seatings: mean, Match: difference, THD: evidence.THD})
	for _, one := range c.Claims {
		r.readFor(one, &held)
	}
	for _, one := range c.Claims {
		v, err := claim.Judge(one, held)
		if err != nil {
			return err
		}
		j.Claims = append(j.Claims, v)
	}
	fitted, err := correction.Fit(mean, goal, options, correction.Config{})
	if j.Correction, err = known(fitted, err); err != nil {
		return err
	}
	if rivals := r.comparable(c.Rivals); len(rivals) > 0 {
		ranking, err := target.Rank(slices.Insert(slices.Clone(rivals), 0, own), goal, options)
		if err != nil {
			return err
		}
		j.Ranking, j.Rivals = &ranking, rivals
		if c.Chosen > 0 && len(r.comparable(c.Rivals[c.Chosen-1:c.Chosen])) > 0 {
			j.Chosen = len(r.comparable(c.Rivals[:c.Chosen]))
		}
	}
	r.judgeExcerpts(j)
	r.Judgement = j
	return nil
}

// comparable returns the rivals whose response is known. The notes name the others.
func (r *Results) comparable(rivals []target.Pair) (out []target.Pair) {
	known := func(c response.Curve) bool {
		return slices.ContainsFunc(c.Level, func(v float64) bool { return !math.IsNaN(v) })
	}
	for _, p := range rivals {
		if slices.ContainsFunc(p.Seatings, known) {
			out = append(out, p)
			continue
		}
		left := fmt.Sprintf("%s: its response does not exceed the noise at any frequency, so it is not ranked; record it "+
			"again with the microphone nearer or with less noise around it.", p.Name)
		if !slices.Contains(r.Notes, left) {
			r.Notes = append(r.Notes, left)
		}
	}
	return out
}

// Preflight judges flat seatings that have the bench's rig and band. It returns the error that
// Judge would return, before anything is measured.
func (b *Bench) Preflight(name string, seatings int, c Criteria) error {
	own := b.Flat(name, seatings)
	if _, err := target.CompareSeatings(own.Seatings, c.target(), c.Config); err != nil {
		return err
	}
	if len(c.Rivals) == 0 {
		return nil
	}
	_, err := target.Rank(slices.Insert(slices.Clone(c.Rivals), 0, own), c.target(), c.Config)
	return err
}

// Flat returns a pair with a level of 0 dB over the bench's band. In Preflight it stands for a
// rival that is not measured yet.
func (b *Bench) Flat(name string, seatings int) target.Pair {
	valid := b.config.band()
	if b.config.MaxFrequency > 0 {
		valid.High = min(valid.High, b.config.MaxFrequency)
	}
	if b.microphone != nil {
		valid = valid.Intersect(b.microphone.Response.Valid)
	}
	pair := target.Pair{Name: name}
	for range seatings {
		pair.Seatings = append(pair.Seatings, response.Curve{
			Frequency: b.frequency, Level: make([]float64, len(b.frequency)), Rig: b.config.Rig, Valid: valid,
		})
	}
	return pair
}

// evidence gathers the measured figures that claims can be compared with.
func (r *Results) evidence(measured target.Evidence) claim.Evidence {
	e := claim.Evidence{
		Evidence:   measured,
		SampleRate: r.sampleRate,
	}
	if top := r.Config.MaxFrequency; top > 0 {
		e.Microphone = response.Band{Low: r.Mean.Valid.Low, High: top}
	}
	e.Readings = r.readings()
	for _, side := range r.Sides() {
		if p := side.AbsolutePolarity; p.Known() {
			e.Polarity = append(e.Polarity, p)
		}
	}
	if z := r.impedanceAt(1000); z.Known() {
		e.Impedance = append(e.Impedance, claim.FigureAt{Frequency: 1000, Figure: z})
	}
	if r.Impedance != nil {
		// A rated impedance is compared with the lowest measured one.
		if lowest, f := r.Impedance.Lowest(target.Audible); lowest.Known() {
			e.Impedance = append(e.Impedance, claim.FigureAt{Frequency: f, Figure: lowest})
		}
	}
	if r.Sound == nil {
		return e
	}
	for i, f := range []response.Figure{r.Sound.PerVolt, r.Sound.PerMilliwatt, r.Sound.PerVolt500,
		r.Sound.PerMilliwatt500} {
		if f.Known() {
			e.Sensitivity = append(e.Sensitivity, claim.FigureAt{Frequency: []float64{1000, 1000, 500, 500}[i], Figure: f})
		}
	}
	for _, t := range e.THD {
		if t.Frequency == 1000 && r.Sound.SweepLevel.Known() {
			e.Loudest = []claim.LoudestLevel{{FigureAt: claim.FigureAt{Frequency: 1000, Figure: r.Sound.SweepLevel},
				Percent: atMost(t)}}
		}
	}
	e.Loudest = append(e.Loudest, r.loudest()...)
	for _, side := range r.Sides() {
		if f := side.Further; f != nil {
			for _, t := range f.Tones {
				e.THD = append(e.THD, t.THD)
			}
		}
	}
	return e
}

// readFor adds impedance and sensitivity at the frequency that a claim states.
func (r *Results) readFor(c claim.Claim, e *claim.Evidence) {
	var f float64
	sensitivity := false
	switch c := c.(type) {
	case claim.Impedance:
		f = c.At
	case claim.Sensitivity:
		f, sensitivity = c.At, true
	}
	if !(f > 0) || math.IsInf(f, 0) {
		return
	}
	if z := r.impedanceAt(f); z.Known() {
		e.Impedance = append(e.Impedance, claim.FigureAt{Frequency: f, Figure: z})
	}
	if !sensitivity || r.Sound == nil || r.Sound.at == nil {
		return
	}
	volt, milliwatt, _, err := r.Sound.at(f)
	for _, s := range []response.Figure{volt, milliwatt} {
		if err == nil && s.Known() {
			e.Sensitivity = append(e.Sensitivity, claim.FigureAt{Frequency: f, Figure: s})
		}
	}
}

// readings returns the readings of both sides that claims are compared with; the larger decides.
func (r *Results) readings() map[claim.Quantity][]claim.ReadingAt {
	const secondOrder = "the second order"
	all := map[claim.Quantity][]claim.ReadingAt{}
	add := func(q claim.Quantity, f float64, x distortion.Reading, part string) {
		all[q] = append(all[q], claim.ReadingAt{Frequency: f, Reading: x, Part: part})
	}
	for _, side := range r.Sides() {
		f := side.Further
		if f == nil {
			continue
		}
		if m := f.Modulation; m != nil {
			add(claim.Modulation, math.NaN(), m.Total.Reading, "")
			add(claim.Modulation, math.NaN(), m.Second.Reading, secondOrder)
			add(claim.Modulation, math.NaN(), m.Third.Reading, "the third order")
		}
		if d := f.Difference; d != nil {
			add(claim.Difference, math.NaN(), d.Total.Reading, "")
			// The third order is a sum of amplitudes, which exceeds its part of the total.
			add(claim.Difference, math.NaN(), d.Second.Reading, secondOrder)
		}
		if c := f.Crosstalk; c != nil {
			for _, at := range c.Level.Frequency {
				add(claim.Crosstalk, at, c.At(at), "")
			}
		}
	}
	return all
}

// loudest returns the highest levels in dB SPL of the side that reaches less.
func (r *Results) loudest() (all []claim.LoudestLevel) {
	least := map[[2]float64]int{}
	for _, side := range r.Sides() {
		for _, m := range side.MaxLevels {
			reached := m.Err == nil || errors.Is(m.Err, distortion.ErrNotReached)
			if !reached || !m.Sound.Known() {
				continue
			}
			l := claim.LoudestLevel{Percent: m.Percent, Limited: m.Err == nil,
				FigureAt: claim.FigureAt{Frequency: m.Frequency, Figure: m.Sound}}
			key := [2]float64{m.Frequency, m.Percent}
			if i, both := least[key]; !both {
				least[key], all = len(all), append(all, l)
			} else if l.Value < all[i].Value {
				all[i] = l
			}
		}
	}
	return all
}

// known returns nil instead of an error if too little is known to judge.
func known[T any](v T, err error) (*T, error) {
	switch {
	case errors.Is(err, target.ErrNoOverlap):
		return nil, nil
	case err != nil:
		return nil, err
	}
	return &v, nil
}

// atMost returns the upper end of the 95 % interval of the distortion in %.
func atMost(t distortion.THD) float64 {
	if t.Below {
		return t.Bound
	}
	_, high := t.Interval(0.95)
	return high
}
