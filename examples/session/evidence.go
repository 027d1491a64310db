package session

import (
	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
)

// Seatings has the pair's response, the mean of its sides, once for each seating.
func (m *Measurement) Seatings() ([]response.Curve, error) {
	mean, _, err := m.seatings()
	return mean, err
}

// seatings has the pair's response, the mean of its sides, and left less right,
// once for each seating.
func (m *Measurement) seatings() (mean, match []response.Curve, err error) {
	if m.Left == nil || m.Right == nil {
		return m.Sides()[0].curves(), nil, nil
	}
	right := map[string]response.Curve{}
	for _, r := range m.Right.Seatings {
		right[r.Name] = r.Response
	}
	for _, l := range m.Left.Seatings {
		r, both := right[l.Name]
		if !both {
			continue
		}
		middle, err := response.MeanLevel(l.Response, r)
		if err != nil {
			return nil, nil, err
		}
		apart, err := l.Response.Sub(r)
		if err != nil {
			return nil, nil, err
		}
		mean, match = append(mean, middle), append(match, apart)
	}
	if len(mean) == 0 { // no seating has both sides
		return []response.Curve{m.Mean}, []response.Curve{m.Match}, nil
	}
	return mean, match, nil
}

// evidence gathers what claims can be held against.
func (m *Measurement) evidence(calibration target.Effects) (claim.Evidence, error) {
	mean, match, err := m.seatings()
	if err != nil {
		return claim.Evidence{}, err
	}
	e := claim.Evidence{
		Seatings: mean, Match: match, Calibration: calibration,
		SampleRate: float64(m.Stimulus.Sweep().SampleRate()),
		THD:        m.distortions(distortion.ToFundamental),
	}
	if ceiling := m.Session.Rig.Ceiling; ceiling > 0 {
		e.Microphone = response.Band{Low: m.Mean.Valid.Low, High: ceiling}
	}
	e.Impedance = m.impedances()
	if s := m.Sound; s != nil {
		e.Sensitivity = s.claims()
		for _, t := range e.THD {
			if t.Frequency == 1000 && s.SweepLevel.Known() {
				e.Loudest = []claim.LoudestLevel{{Frequency: 1000, Level: s.SweepLevel, Percent: most(t)}}
			}
		}
	}
	return e, nil
}

// impedances at 1 kHz and where it is lowest, which a rated one is held against.
func (m *Measurement) impedances() []claim.ImpedanceAt {
	var out []claim.ImpedanceAt
	if z := m.impedanceAt(1000); z.Known() {
		out = append(out, claim.ImpedanceAt{Frequency: 1000, Figure: z})
	}
	if m.Impedance != nil {
		if lowest, f := m.Impedance.Lowest(response.Band{Low: 20, High: 20000}); lowest.Known() {
			out = append(out, claim.ImpedanceAt{Frequency: f, Figure: lowest})
		}
	}
	return out
}

// claims are the sensitivities that were measured.
func (s *Sound) claims() []claim.SensitivityAt {
	var out []claim.SensitivityAt
	for _, f := range []response.Figure{s.PerVolt, s.PerMilliwatt} {
		if f.Known() {
			out = append(out, claim.SensitivityAt{Frequency: 1000, Figure: f})
		}
	}
	return out
}

// most is the percentage that the distortion does not exceed: the upper end of
// its 95 % interval.
func most(t target.THD) float64 {
	if t.Below {
		return t.Bound
	}
	_, high := t.Percent.Interval(0.95)
	return high
}
