package review

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target/change"
)

// InCondition returns the seatings that have every side, for package change to compare with those
// in another condition. Each has the name of its seating for its placement, the mean response of
// its sides and, where they are known, left less right over MatchBand, and distortion and decay at
// 1 kHz, of the worse side. The first seating also has what was measured once for the pair:
// impedance and isolation at 1 kHz, and the loudness of material.
func (r *Results) InCondition(condition string) ([]change.Seating, error) {
	var out []change.Seating
	sides := r.Sides()
	for _, first := range sides[0].Seatings {
		seating := change.Seating{Condition: condition, Placement: first.Name, Figures: map[string]response.Figure{}}
		var curves []response.Curve
		for _, side := range sides {
			for _, one := range side.Seatings {
				if one.seating == first.seating {
					curves = append(curves, one.Response)
					if err := one.figures(seating.Figures); err != nil {
						return nil, err
					}
				}
			}
		}
		if len(curves) < len(sides) {
			continue
		}
		var err error
		if seating.Response, err = response.MeanLevel(curves...); err != nil {
			return nil, err
		}
		if len(curves) == 2 && curves[0].Reference == curves[1].Reference {
			apart, err := curves[0].Sub(curves[1])
			if err != nil {
				return nil, err
			}
			seating.Figures["channel balance (L−R)"] = response.Figure{Value: apart.MeanOver(MatchBand), Unit: "dB"}
		}
		out = append(out, seating)
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("review: %s has no seating with every side that was measured; record all "+
			"sides in each seating", r.About.Name)
	}
	r.once(out[0].Figures)
	return out, nil
}

// figures adds the figures of one side in one seating where they are worse than those already
// there.
func (r *Reading) figures(all map[string]response.Figure) error {
	add := func(name string, value float64, unit string) {
		if have, there := all[name]; !math.IsNaN(value) && (!there || value > have.Value) {
			all[name] = response.Figure{Value: value, Unit: unit}
		}
	}
	if thd := r.Harmonics.THD(1000); !thd.Below && thd.Known() {
		add("distortion at 1 kHz", 20*math.Log10(thd.Value/100), "dB")
	}
	decays, err := r.decay()
	if err != nil {
		return err
	}
	for _, d := range decays {
		if d.Band.Nominal == 1000 {
			add("decay at 1 kHz", 1000*d.Time.Value, "ms")
		}
	}
	return nil
}

// once adds the figures that were measured once, with their uncertainty.
func (r *Results) once(all map[string]response.Figure) {
	if z := r.Impedance; z != nil {
		all["impedance at 1 kHz"] = surely(z.At(1000))
	}
	if r.Isolation != nil {
		all["isolation at 1 kHz"] = surely(r.Isolation.Curve.Figure(1000))
	}
	for _, p := range r.Programmes {
		if v := p.ThroughLoudness - p.DirectLoudness; !math.IsNaN(v) && (p.Side != "right" || r.Left == nil) {
			all["loudness of "+p.Name+" re direct"] = response.Figure{Value: v, Uncertainty: math.NaN(), Unit: "LU"}
		}
	}
}

// surely gives a figure with an uncertainty but no components a budget of one component.
func surely(f response.Figure) response.Figure {
	if f.Budget == nil && f.Uncertainty >= 0 {
		f.Budget = response.Budget{{Cause: response.Cause{Name: "the measurement", DegreesOfFreedom: f.DegreesOfFreedom},
			Effects: []float64{f.Uncertainty}}}
	}
	return f
}
