package review

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/programme"
	"example.com/earnest/sweep"
)

// PiecesDisagree is the kind of finding about pieces of music or speech that give different
// responses in one seating.
const PiecesDisagree response.FindingKind = "pieces do not agree"

// differenceCause is the name of the component for the difference of pieces beyond their own
// uncertainties.
const differenceCause = "difference between the pieces"

const (
	// betweenPieces is the standard uncertainty in dB of a rig's drift over the minutes between two
	// pieces.
	betweenPieces = 0.1
	// chanceOfDisagreement is the probability of reporting pieces that do agree.
	chanceOfDisagreement = 0.01
	// pooledOver is the width in octaves over which the variance between pieces is pooled.
	pooledOver = 1
)

// combination is the weighted mean of the curves of several pieces.
type combination struct {
	curve    response.Curve
	pieces   []response.Curve
	variance [][]float64 // of each piece at each frequency, including betweenPieces; NaN where not known
}

// add adds the contribution of one piece's component to the mean. Components that pieces share add
// up.
func (c *combination) add(component response.CurveComponent, weight []float64) {
	all := &c.curve.Components
	at := slices.IndexFunc(*all, func(have response.CurveComponent) bool { return have.Cause == component.Cause })
	if at < 0 {
		*all, at = append(*all, response.CurveComponent{Cause: component.Cause,
			Effects: make([][]float64, len(component.Effects))}), len(*all)
	}
	into := (*all)[at].Effects
	for j, effect := range component.Effects {
		if effect == nil {
			continue
		}
		if into[j] == nil {
			into[j] = make([]float64, len(effect))
		}
		for i, v := range effect {
			if weight[i] > 0 {
				into[j][i] += weight[i] * v
			}
		}
	}
}

// spread returns Σ (L_p − L)²/v_p over the pieces at one frequency, its degrees of freedom, and the
// share of each piece.
func (c *combination) spread(i int) (square, freedom float64, of []float64) {
	of = make([]float64, len(c.pieces))
	for k, one := range c.pieces {
		if v := c.variance[k][i]; !math.IsNaN(v) {
			d := one.Level[i] - c.curve.Level[i]
			of[k] = d * d / v
			square += of[k]
			freedom++
		}
	}
	return square, max(0, freedom-1), of
}

// disagreements returns the disagreement of the pieces' levels, which a gain or a drifting rig
// changes, and that of their shapes without the level, over third octaves, whose noise is
// independent.
func (c *combination) disagreements() (level, shape disagreement) {
	level.of, shape.of = make([]float64, len(c.pieces)), make([]float64, len(c.pieces))
	off, weight := make([]float64, len(c.pieces)), make([]float64, len(c.pieces))
	each := func(do func(k int, apart, variance float64)) {
		for i := 0; i < len(c.curve.Frequency); i += PerOctave / 3 {
			if _, freedom, _ := c.spread(i); freedom == 0 {
				continue
			}
			for k, one := range c.pieces {
				if v := c.variance[k][i]; !math.IsNaN(v) {
					do(k, one.Level[i]-c.curve.Level[i], v)
				}
			}
		}
	}
	each(func(k int, apart, v float64) { off[k], weight[k] = off[k]+apart/v, weight[k]+1/v })
	for k, w := range weight {
		if w > 0 {
			off[k] /= w
			level.of[k] = off[k] * off[k] / (betweenPieces*betweenPieces + 1/w)
			level.square, level.freedom = level.square+level.of[k], level.freedom+1
		}
	}
	level.freedom--
	each(func(k int, apart, v float64) {
		d := (apart - off[k]) * (apart - off[k]) / v
		shape.of[k] += d
		shape.square, shape.freedom = shape.square+d, shape.freedom+1
	})
	shape.freedom -= shape.freedom / max(1, float64(len(c.pieces))) // for the means; exact if all pieces are known
	return level, shape
}

// findings tests whether the pieces agree, by the chi-square distribution.
func (c *combination) findings(pieces []*material, r *Reading) []response.Finding {
	level, shape := c.disagreements()
	found := level
	if !level.significant() {
		if found = shape; !shape.significant() {
			return nil
		}
	}
	square, freedom, of := found.square, found.freedom, found.of
	worst := 0
	for k, v := range of {
		if v > of[worst] {
			worst = k
		}
	}
	most, at := 0.0, 0
	for i := range c.curve.Frequency {
		if d := c.pieces[worst].Level[i] - c.curve.Level[i]; math.Abs(d) > math.Abs(most) {
			most, at = d, i
		}
	}
	f := doubt(pieces[worst].name, PiecesDisagree, response.Warning)
	f.Channel = pieces[worst].channel
	f.What = fmt.Sprintf("%s gives another response than all pieces of %s, %s side, together: at most %+.1f "+
		"dB at %s (chi-square %.0f with %.0f degrees of freedom); "+
		"the difference widens the interval of the curve",
		pieces[worst].Name, r.Name, r.side, most, response.FormatFrequency(c.curve.Frequency[at]), square, freedom)
	f.Remedy = "play all pieces at one gain, switch off everything that adapts to them (noise cancelling, " +
		"limiters, loudness), do not move the pair, and record again"
	f.Figures = map[string]response.Figure{"difference": {Value: most, Unit: "dB"},
		"at": {Value: c.curve.Frequency[at], Unit: "Hz"}}
	return []response.Finding{f}
}

// widened returns the mean with the variance between the pieces as a component: the excess of their
// spread over their own variances, pooled over pooledOver octaves and divided by the effective
// number of pieces (R. DerSimonian, N. Laird, Controlled Clinical Trials 7, 1986, from memory).
func (c *combination) widened() response.Curve {
	n := len(c.curve.Frequency)
	u := make([]float64, n)
	for i := range u {
		var square, freedom, weight float64
		for k := max(0, i-pooledOver*PerOctave/2); k <= min(n-1, i+pooledOver*PerOctave/2); k++ {
			s, f, _ := c.spread(k)
			square, freedom = square+s, freedom+f
		}
		for k := range c.pieces {
			if v := c.variance[k][i]; !math.IsNaN(v) {
				weight += 1 / v
			}
		}
		if square > freedom && freedom > 0 && weight > 0 {
			u[i] = math.Sqrt((square/freedom - 1) / weight)
		}
	}
	i := -1 // With goes through the frequencies in order
	cause := response.Cause{Name: differenceCause, CommonTo: response.OneSide,
		DegreesOfFreedom: float64(max(1, len(c.pieces)-1))}
	return c.curve.With(cause, func(float64) float64 { i++; return u[i] }, pooledOver)
}

// disagreement is the difference of the pieces: a sum of squares, its degrees of freedom, and each
// piece's share.
type disagreement struct {
	square, freedom float64
	of              []float64
}

func (d disagreement) significant() bool {
	return d.freedom > 0 && d.square > distuv.ChiSquared{K: d.freedom}.Quantile(1-chanceOfDisagreement)
}

// seatingOf returns the number of the seating in which a piece was recorded, and names the seating
// if it has no name.
func (p *Pair) seatingOf(m *Material) int {
	if m.Seating == "" {
		number := 1
		for _, other := range p.materials {
			if other.Name == m.Name && other.Side == m.Side {
				number++
			}
		}
		if m.Seating = fmt.Sprintf("seating %d", number); number <= len(p.seatings) {
			m.Seating = p.seatings[number-1]
		}
	}
	i := slices.Index(p.seatings, m.Seating)
	if i < 0 {
		p.seatings, i = append(p.seatings, m.Seating), len(p.seatings)
	}
	return i + 1
}

// rateOfMaterial returns the lowest sample rate of the pieces in Hz.
func (p *Pair) rateOfMaterial() (lowest int) {
	for _, m := range p.materials {
		if m.Comparison != nil {
			lowest = lowestRate(lowest, m.rate)
		}
	}
	return lowest
}

// sideOfMaterial measures one side from music and speech in every seating that has it; nil if none
// has.
func (p *Pair) sideOfMaterial(side sweep.Side) (*Side, error) {
	out := &Side{Name: side.String()}
	var refused []error
	for i, name := range p.seatings {
		var pieces []*material
		for _, m := range p.materials {
			if m.Side != out.Name || m.seating != i+1 {
				continue
			}
			if m.Refused == nil {
				m.Refused = p.usedBefore(m)
			}
			if m.Refused == nil {
				pieces = append(pieces, m)
				continue
			}
			refused = append(refused, m.Refused)
			p.recordings.unusable(m.name, fmt.Sprintf("%s is left out of %s, %s side", m.Name, name, out.Name), m.Refused)
		}
		if len(pieces) == 0 {
			if slices.ContainsFunc(p.materials, func(m *material) bool { return m.Side == out.Name && m.seating == i+1 }) {
				out.LeftOut = append(out.LeftOut, name)
			}
			continue
		}
		r, err := p.readMaterial(pieces, side, i+1)
		if err != nil {
			return nil, err
		}
		out.Seatings = append(out.Seatings, r)
	}
	switch {
	case len(out.Seatings) > 0:
		return out, out.average()
	case len(refused) > 0:
		return nil, fmt.Errorf("the %s side: %w", out.Name, errors.Join(refused...))
	}
	return nil, nil
}

// usedBefore returns an error if a recording was already used for an earlier seating or piece.
// Counted twice, it would make the interval too narrow.
func (p *Pair) usedBefore(m *material) error {
	for _, other := range p.materials {
		if other == m {
			return nil
		}
		if other.Side == m.Side && other.print == m.print && other.Comparison != nil {
			return fmt.Errorf("%w: it is already the recording of %s, %s; name the right file",
				fitness.ErrUnfit, other.Name, other.Seating)
		}
	}
	return nil
}

// readMaterial measures one side in one seating from the pieces that were recorded in it.
func (p *Pair) readMaterial(pieces []*material, side sweep.Side, seating int) (*Reading, error) {
	b := p.bench
	r := &Reading{Name: p.seatings[seating-1], Harmonics: &distortion.HarmonicSet{}, seating: seating, side: side}
	curves := make([]response.Curve, len(pieces))
	for i, m := range pieces {
		curves[i] = m.Comparison.Smoothed(b.frequency, Smoothing)
		for k := range curves[i].Components {
			if one := &curves[i].Components[k]; one.CommonTo == response.OneSeating {
				one.Key = m.print
			}
		}
		r.pieces, r.fromRate = append(r.pieces, fmt.Sprintf("%s, channel %d", m.name, m.channel)),
			lowestRate(r.fromRate, m.fromRate)
		sign := 1.0
		if m.Comparison.Alignment.Inverted {
			sign = -1
		}
		r.polarity += sign / float64(len(pieces))
	}
	combined := combinePieces(curves)
	r.Response = combined.curve
	if r.follows = combined.findings(pieces, r); len(r.follows) > 0 {
		r.Response = combined.widened()
	}
	for _, m := range pieces {
		r.follows = append(r.follows, m.checkSteady()...)
	}
	r.Phase = make([]float64, len(b.frequency))
	for i := range r.Phase {
		r.Phase[i] = math.NaN()
	}
	p.components(r)
	return r, nil
}

// mostResidual is the highest accepted A-weighted level, in dB re the whole, of the part that no
// steady filter between the two recordings explains. Coders of 128 kbit/s leave -23 dB, limiters
// -10 dB, a room with noise 40 dB below the music -40 dB.
const mostResidual = -27

// checkSteady checks whether a steady filter turns the direct recording into the one through the
// headphones. A delay that wavers and a mix of the sides explain a residual.
func (m *material) checkSteady() []response.Finding {
	residual := m.Comparison.ResidualLevel
	if !(residual > mostResidual) || slices.ContainsFunc(m.Comparison.Findings,
		func(f response.Finding) bool { return f.Kind == programme.Wow || f.Kind == fitness.MixedSides }) {
		return nil
	}
	f := doubt(m.name, NotAsPlayed, response.Warning)
	f.Channel = m.channel
	f.What = fmt.Sprintf("a part of %s, %.0f dB re the whole, is not the direct recording through any "+
		"steady linear filter: one of the two has a limiter or an automatic gain, is a lossy copy or is "+
		"noisy, or the pair adapts to what it plays", m.Name, residual)
	f.Remedy = "record both with every gain fixed and every enhancement off, use the original recordings, " +
		"and raise the level if noise is the cause"
	f.Figures = map[string]response.Figure{"residual": {Value: residual, Unit: "dB"}}
	return []response.Finding{f}
}

// combinePieces returns, at each frequency, the weighted mean of the pieces that are known there,
//
//	L = Σ w_p L_p,  w_p = (1/v_p)/Σ(1/v),  v = u² + betweenPieces²,
//
// which has the least variance (J. Mandel, The Statistical Analysis of Experimental Data, 1964,
// from memory). The noise of each piece is independent; the error of the segments' resolution is
// the same in all.
func combinePieces(pieces []response.Curve) *combination {
	c := &combination{pieces: pieces, curve: pieces[0]}
	n := len(pieces[0].Frequency)
	weights := make([][]float64, len(pieces))
	for k, one := range pieces {
		c.curve.Valid.Low, c.curve.Valid.High = min(c.curve.Valid.Low, one.Valid.Low),
			max(c.curve.Valid.High, one.Valid.High)
		weights[k], c.variance = make([]float64, n), append(c.variance, make([]float64, n))
		for i, u := range one.Uncertainty {
			c.variance[k][i] = u*u + betweenPieces*betweenPieces
			if math.IsNaN(one.Level[i]) {
				c.variance[k][i] = math.NaN()
			}
		}
	}
	level := make([]float64, n)
	for i := range level {
		var sum float64
		for _, v := range c.variance {
			if !math.IsNaN(v[i]) {
				sum += 1 / v[i]
			}
		}
		if sum == 0 {
			level[i] = math.NaN()
			continue
		}
		for k, v := range c.variance {
			if !math.IsNaN(v[i]) {
				weights[k][i] = 1 / v[i] / sum
				level[i] += weights[k][i] * pieces[k].Level[i]
			}
		}
	}
	c.curve.Level, c.curve.Uncertainty, c.curve.Components = level, make([]float64, n), []response.CurveComponent{}
	for k, one := range pieces {
		for _, component := range one.Components {
			c.add(component, weights[k])
		}
	}
	c.curve = c.curve.Refreshed()
	return c
}
