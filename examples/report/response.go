package report

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// Response is the headphones' response, relative to the direct recording.
type Response struct {
	Smoothing   string    `json:"smoothing"`
	ValidHz     [2]Number `json:"valid_hz"`
	FrequencyHz []Number  `json:"frequency_hz"`
	// Level and Uncertainty (standard, of the mean over seatings) by "mean",
	// "left", "right"; Match is left less right.
	Level       map[string][]Number `json:"level_db"`
	Uncertainty map[string][]Number `json:"uncertainty_db"`
	// HalfWidth95 of each side, and of left less right: the shaded bands of the
	// page; null with one seating.
	HalfWidth95 map[string][]Number `json:"half_width_95_db"`
	Match       []Number            `json:"match_db,omitempty"`
	MatchHalf   []Number            `json:"match_half_width_95_db,omitempty"`
	// MatchRMS is over review.MatchBand; missing where it is not known.
	MatchRMS *Figure `json:"match_rms,omitempty"`
	Seatings int     `json:"seatings"`
}

func compileResponse(m *review.Results, j *review.Judgement) Response {
	r := Response{
		Smoothing: smoothingWords, ValidHz: band(m.Mean.Valid),
		FrequencyHz: numbers(m.Mean.Frequency),
		Level:       map[string][]Number{"mean": numbers(m.Mean.Level)},
		Uncertainty: map[string][]Number{"mean": numbers(m.Mean.Uncertainty)},
		HalfWidth95: map[string][]Number{},
		Match:       numbers(m.Difference.Level),
		Seatings:    m.Seatings,
	}
	for _, side := range m.Sides() {
		r.Level[side.Name] = numbers(side.Response().Level)
		r.Uncertainty[side.Name] = numbers(side.Response().Uncertainty)
		r.HalfWidth95[side.Name] = numbers(side.Confidence(confidence))
	}
	if len(m.Difference.Level) > 0 {
		r.MatchHalf = numbers(matchHalf(m))
	}
	if j.Difference != nil {
		f := figure(j.Difference.RMS)
		r.MatchRMS = &f
	}
	return r
}

// TargetCurve is what the response was judged against.
type TargetCurve struct {
	Name        string   `json:"name"`
	Rig         string   `json:"rig"`
	FrequencyHz []Number `json:"frequency_hz"`
	LevelDB     []Number `json:"level_db"`
}

func compileTarget(t target.Target, on response.Curve) TargetCurve {
	c := t.Curve.Resample(on.Frequency)
	return TargetCurve{Name: t.Name, Rig: t.Curve.Rig, FrequencyHz: numbers(c.Frequency), LevelDB: numbers(c.Level)}
}

// responsePlot draws both sides, and their mean, against the target, all brought
// to the level at which they are judged.
func responsePlot(m *review.Results, j *review.Judgement, log bool) plot.Plot {
	p := plot.Plot{
		ID: "response", Title: "Response, frequency on a logarithmic axis",
		Summary: responseWords(m, j),
		X:       plot.Frequency(20, 20000),
		Notes:   []string{responseNote(m, j)},
	}
	if !log {
		p.ID, p.Title = "response-linear", "Response, frequency on a linear axis"
		p.X = plot.Axis{Label: "Frequency", Unit: "kHz", Min: 0, Max: 20}
		p.Notes = []string{"The same curves. Every kilohertz has the same width here, so the treble, where fit and microphone matter most, fills the picture."}
	}
	for _, side := range m.Sides() {
		p.Series = append(p.Series, curve(side.Name, side.Response().Offset(j.Mean.Offset.Value), side.Confidence(confidence), sideStyle[side.Name]))
	}
	if len(p.Series) == 2 {
		p.Series = append(p.Series, curve("mean of both", m.Mean.Offset(j.Mean.Offset.Value), nil, plot.Violet))
	}
	goal := j.Target.Curve.Resample(m.Mean.Frequency)
	p.Series = append(p.Series, plot.Series{Name: j.Target.Name + " target", X: goal.Frequency, Y: goal.Level, Style: plot.Ink})
	unknown := plot.Outside(p.X, m.Mean.Valid, "not known")
	if !log {
		for i, s := range p.Series {
			p.Series[i].X = scaled(s.X, 1e-3)
		}
		unknown = plot.Outside(p.X, response.Band{Low: m.Mean.Valid.Low / 1000, High: m.Mean.Valid.High / 1000}, "not known")
	}
	p.Unknown = unknown
	p.Y = levelAxis("Level", p.X, 5, 10, p.Series)
	return p
}

// responseNote says what was done to the curves, and what the shaded bands are
// where there are any.
func responseNote(m *review.Results, j *review.Judgement) string {
	seatings, shaded := "one seating", "With one seating nobody knows how much the next would differ, and no interval is drawn."
	for _, side := range m.Sides() {
		if n := len(side.Seatings); n > 1 {
			seatings = fmt.Sprintf("mean of %d seatings", n)
			shaded = "A shaded band holds the true curve with 95 % confidence: Student's t over the seatings, and the uncertainty that the session states for microphone and positioning."
		}
	}
	return fmt.Sprintf("Headphones alone: through divided by direct, smoothed over %s, %s, moved by %+.1f dB to fit the target. %s",
		smoothingWords, seatings, j.Mean.Offset.Value, shaded)
}

func responseWords(m *review.Results, j *review.Judgement) string {
	var words []string
	for _, side := range m.Sides() {
		d := j.Sides[side.Name]
		words = append(words, fmt.Sprintf("The %s side deviates by %s from the %s target over %v, most at %s (%s).",
			side.Name, RMS(d), j.Target.Name, d.Band, response.FormatFrequency(d.Widest.Frequency), Signed(d.Widest.Level)))
	}
	return strings.Join(words, " ")
}

// matchHalf is half the interval of left less right, whose seatings scatter
// independently.
func matchHalf(m *review.Results) []float64 {
	left, right := m.Left.Average.Confidence(confidence), m.Right.Average.Confidence(confidence)
	if left == nil || right == nil {
		return nil
	}
	half := make([]float64, len(left))
	for i := range half {
		half[i] = math.Hypot(left[i], right[i])
	}
	return half
}

// matchPlot draws left less right.
func matchPlot(m *review.Results, j *review.Judgement) plot.Plot {
	p := plot.Plot{
		ID: "match", Title: "Left less right", Summary: matchSentence(m, j),
		X:       plot.Frequency(20, 20000),
		Series:  []plot.Series{curve("left − right", m.Difference, matchHalf(m), plot.Green)},
		Unknown: plot.Outside(plot.Frequency(20, 20000), m.Difference.Valid, "not known"),
	}
	p.Y = levelAxis("Difference", p.X, 2, 6, p.Series)
	if p.Y.Max-p.Y.Min <= 20 {
		p.DecibelsPerDecade = 10
	}
	if matchHalf(m) != nil {
		p.Notes = []string{"A shaded band holds the true difference with 95 % confidence: Student's t over the seatings. Microphone and interface are the same on both sides."}
	}
	return p
}
