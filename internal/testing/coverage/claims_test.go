package coverage

import (
	"example.com/earnest/response"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// promise is a claim whose truth is known.
type promise struct {
	claim.Claim
	figure string
	missed bool // by three standard uncertainties; otherwise it is true, at its limit
	kind   kind // the kind of line of a claim that is missed
}

// promised adds a claim that is true at its limit, and one that is missed. With few degrees of
// freedom Student's t has hardly any power.
func promised(all []promise, figure string, f response.Figure, truth float64, of func(limit float64) claim.Claim) []promise {
	if !f.Known() || !(truth > 0) {
		return all
	}
	all = append(all, promise{Claim: of(truth), figure: figure})
	if limit := truth - 3*f.Uncertainty; limit > 0 {
		kind := told
		if f.DegreesOfFreedom == 0 || f.DegreesOfFreedom >= 8 {
			kind = power
		}
		all = append(all, promise{of(limit), figure, true, kind})
	}
	return all
}

// promises returns claims of figures that do not belong to the response.
func (s *session) promises(r *review.Results, out *sound) []promise {
	v := r.Sound
	if out == nil || v == nil {
		return nil
	}
	all := promised(nil, "sensitivity", v.PerVolt, out.perVolt(s), func(limit float64) claim.Claim {
		return claim.Sensitivity{Value: limit - 3, Unit: claim.PerVolt, At: 1000, Tolerance: 3}
	})
	if z := r.Impedance; z != nil {
		all = promised(all, "impedance", z.At(1000), out.magnitude(1000), func(limit float64) claim.Claim {
			return claim.Impedance{Ohms: limit / 1.2, At: 1000, Tolerance: 20}
		})
	}
	worst, percent := response.Figure{}, 0.0
	for k, side := range r.Sides() {
		if t := side.THD(1000); t.Known() {
			if true := s.expectedTotal(s.unplaced(k), 1000, []int{2, 3}); true > percent {
				worst, percent = t.Figure, true
			}
		}
	}
	return promised(all, "distortion", worst, percent, func(limit float64) claim.Claim {
		return claim.Distortion{At: 1000, Level: v.SweepLevel.Value, Percent: limit}
	})
}

// claimed counts the verdicts.
func (d draw) claimed(promises []promise, verdicts []claim.Verdict) {
	for i, p := range promises {
		if p.missed {
			d.add(p.kind, "claim of "+p.figure+" missed by 3 u, not met", verdicts[i].Outcome == claim.NotMet)
			continue
		}
		d.add(rare, "claim of "+p.figure+" true at its limit, not met", verdicts[i].Outcome == claim.NotMet)
		d.add(rare, "claim of "+p.figure+" at its limit, met", verdicts[i].Outcome == claim.Met)
	}
}
