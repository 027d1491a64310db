package target

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"example.com/earnest/response"
)

// Preference is a linear model of how listeners rated headphones:
//
//	score = Intercept + Deviation·sd + Slope·|b| + MeanError·me
//
// over the standard deviation sd of the deviation from a target in dB, the
// slope b of its straight line in dB per octave and its mean absolute value me in
// dB. The coefficients are the caller's, from a study that the caller cites: none
// is built in, for a model holds for the target, the rig, the band and the
// listeners it was made with.
type Preference struct {
	Intercept float64
	Deviation float64 // per dB
	// Slope is per dB/octave. A study that fitted its line to the natural
	// logarithm of frequency has b·log2(e): multiply its coefficient by 1.4427.
	Slope     float64
	MeanError float64 // per dB
	// Citation says where the coefficients come from. It is required, and goes
	// along with the score.
	Citation string
}

// Score is a predicted rating.
type Score struct {
	response.Figure
	// Citation is the model's.
	Citation string
	// Warnings are those of the deviation.
	Warnings []string
}

// Score applies the model to a deviation, judged over the band and with the
// weights of the study and aligned for the least square error or over the same
// band, so that rms and standard deviation are the same thing. The uncertainty
// is that of the measurement: how well the model predicts, its study says.
func (p Preference) Score(d Deviation) (Score, error) {
	if strings.TrimSpace(p.Citation) == "" {
		return Score{}, errors.New("target: a preference model needs a citation; say where its coefficients come from")
	}
	for _, v := range []float64{p.Intercept, p.Deviation, p.Slope, p.MeanError} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Score{}, fmt.Errorf("target: the preference model of %q has a coefficient of %v; give finite numbers", p.Citation, v)
		}
	}
	if d.Align != LeastSquares() {
		return Score{}, fmt.Errorf("target: the preference model of %q needs the standard deviation, and a deviation that is %v has another rms; align for the least square error", p.Citation, d.Align)
	}
	b := budget{value: p.Intercept, by: make([][]float64, len(d.causes))}
	for g, c := range d.causes {
		b.by[g] = make([]float64, len(c.Curves))
	}
	sign := 1.0
	if d.tilt.value < 0 {
		sign = -1
	}
	b = b.plus(p.Deviation, d.rms).plus(sign*p.Slope, d.tilt).plus(p.MeanError, d.meanAbsolute)
	j := judgement{causes: d.causes, known: d.known}
	return Score{Figure: j.figure(b, "1", nil), Citation: p.Citation, Warnings: d.Warnings}, nil
}
