package report

import (
	"encoding/json"
	"io"
	"math"
	"slices"
	"time"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/target"
)

// Schema and Version name the layout of results.json, which
// results.schema.json describes. The version rises whenever a field changes
// its meaning or goes; a field that is added leaves it alone.
const (
	Schema  = "earnest/results"
	Version = 1
)

// Results is what results.json holds. Units are in the names; null is "not
// known".
type Results struct {
	Schema     string     `json:"schema"`
	Version    int        `json:"version"`
	Title      string     `json:"title"`
	Date       string     `json:"date,omitempty"`
	Notes      string     `json:"notes,omitempty"`
	Headphones Headphones `json:"headphones"`
	Rig        Rig        `json:"rig"`
	Stimulus   Stimulus   `json:"stimulus"`
	Summary    []string   `json:"summary"`
	Findings   []Finding  `json:"findings"`
	// How it was measured, in sentences: clocks corrected, seatings left out.
	Remarks  []string    `json:"remarks"`
	Response Response    `json:"response"`
	Target   TargetCurve `json:"target"`
	// Deviation by "mean", "left", "right".
	Deviation map[string]Deviation `json:"deviation"`
	// Distortion by "left", "right": of the first seating.
	Distortion map[string]Distortion `json:"distortion"`
	Programmes []Programme           `json:"programmes,omitempty"`
	// Sound is null without a calibrator.
	Sound   *Sound  `json:"sound"`
	Uses    []Use   `json:"uses"`
	Claims  []Claim `json:"claims"`
	Ranking []Place `json:"ranking"`
	// Decay by "left", "right", by third octave, of the first seating.
	Decay map[string][]DecayRow `json:"decay"`
	// Correction is null where too little is known to correct.
	Correction *Correction `json:"correction"`
}

// Sound is what the recordings mean in sound pressure, at 1 kHz.
type Sound struct {
	SweepLevel   Figure   `json:"sweep_level"`
	PerVolt      Figure   `json:"per_volt"`
	PerMilliwatt Figure   `json:"per_milliwatt"`
	Highest      *Highest `json:"highest"` // null where no amplifier is named
	Remarks      []string `json:"remarks"`
}

// Highest is the level that an amplifier reaches.
type Highest struct {
	Amplifier string `json:"amplifier"`
	Level     Figure `json:"level"`
	LimitedBy string `json:"limited_by"`
}

// Use is the verdict for something that headphones are worn for.
type Use struct {
	Use     string   `json:"use"`
	Answer  string   `json:"answer"`
	Reasons []string `json:"reasons"`
}

// Claim is the verdict on a figure of the maker's.
type Claim struct {
	Claim    string `json:"claim"`
	Outcome  string `json:"outcome"`
	Cause    string `json:"cause"`
	Measured Figure `json:"measured"`
	Reason   string `json:"reason"`
}

// Headphones are what was measured.
type Headphones struct {
	Name string `json:"name"`
	Kind string `json:"kind,omitempty"`
}

// Rig is what it was measured on.
type Rig struct {
	Name      string `json:"name"`
	CeilingHz Number `json:"ceiling_hz"`
}

// Stimulus is what was played.
type Stimulus struct {
	StartHz      float64 `json:"start_hz"`
	StopHz       float64 `json:"stop_hz"`
	Seconds      float64 `json:"seconds"`
	SampleRateHz int     `json:"sample_rate_hz"`
	LevelDBFS    float64 `json:"level_dbfs"`
}

// Response is the headphones' response, relative to the direct recording.
type Response struct {
	Smoothing   string    `json:"smoothing"`
	ValidHz     [2]Number `json:"valid_hz"`
	FrequencyHz []Number  `json:"frequency_hz"`
	// Level and Uncertainty (standard, of the mean over seatings) by "mean",
	// "left", "right"; Match is left less right.
	Level       map[string][]Number `json:"level_db"`
	Uncertainty map[string][]Number `json:"uncertainty_db"`
	Match       []Number            `json:"match_db,omitempty"`
	Seatings    int                 `json:"seatings"`
}

// TargetCurve is what the response was judged against.
type TargetCurve struct {
	Name        string   `json:"name"`
	Rig         string   `json:"rig"`
	FrequencyHz []Number `json:"frequency_hz"`
	LevelDB     []Number `json:"level_db"`
}

// Figure is a value with its standard uncertainty.
type Figure struct {
	Value       Number `json:"value"`
	Uncertainty Number `json:"uncertainty"`
	// Freedom is the degrees of freedom of the uncertainty; 0 stands for many.
	Freedom Number `json:"freedom"`
	Unit    string `json:"unit"`
}

// Deviation is how a response differs from the target.
type Deviation struct {
	BandHz       [2]Number   `json:"band_hz"`
	Offset       Figure      `json:"offset"`
	RMS          Figure      `json:"rms"`
	MeanAbsolute Figure      `json:"mean_absolute"`
	Tilt         Figure      `json:"tilt"`
	Ripple       Figure      `json:"ripple"`
	Share        Figure      `json:"share_within_tolerance"`
	Widest       Excursion   `json:"widest"`
	Octaves      []OctaveRow `json:"octaves"`
	Warnings     []string    `json:"warnings,omitempty"`
}

// Excursion is where the response strays furthest.
type Excursion struct {
	Level       Figure `json:"level"`
	FrequencyHz Number `json:"frequency_hz"`
}

// OctaveRow is the deviation in one octave band of IEC 61260-1.
type OctaveRow struct {
	NominalHz Number `json:"nominal_hz"`
	Mean      Figure `json:"mean"`
	RMS       Figure `json:"rms"`
}

// Distortion is harmonics against the frequency of the fundamental.
type Distortion struct {
	Seating       string   `json:"seating"`
	FundamentalHz []Number `json:"fundamental_hz"`
	Orders        []Order  `json:"orders"`
	// THD relative to the fundamental and to the total, and the highest order
	// that it contains.
	THDToFundamental []Number `json:"thd_to_fundamental_percent"`
	THDToTotal       []Number `json:"thd_to_total_percent"`
	HighestOrder     []int    `json:"thd_highest_order"`
}

// Order is one harmonic relative to the fundamental. Level is null where it is
// within 6 dB of the floor: what is then known is the bound, which holds with
// 95 % confidence.
type Order struct {
	Order       int      `json:"order"`
	LevelDB     []Number `json:"level_db"`
	Uncertainty []Number `json:"uncertainty_db"`
	FloorDB     []Number `json:"floor_db"`
	BoundDB     []Number `json:"bound_db"`
}

// Finding is something about a recording.
type Finding struct {
	Recording string `json:"recording"`
	Kind      string `json:"kind"`
	Severity  string `json:"severity"`
	Channel   int    `json:"channel"` // from 1; 0 for all of it
	TimeS     Number `json:"time_s"`
	DurationS Number `json:"duration_s"`
	What      string `json:"what"`
	Remedy    string `json:"remedy"`
}

// Programme is music or speech, direct against through.
type Programme struct {
	Name string `json:"name"`
	Kind string `json:"kind"`
	// Refused says why the recordings could not be compared.
	Refused string `json:"refused,omitempty"`
	Covered Number `json:"covered_share"`
	// Sentence is what the comparison says, in words.
	Sentence string `json:"sentence"`
	// Exposure is null without a calibrator.
	Exposure *Exposure `json:"exposure"`
	Bands    []BandRow `json:"bands"`
	Remarks  []string  `json:"remarks"`
}

// Exposure is how loud the material was under the cup, and how long that may be
// heard: guidance, to be read with its caution.
type Exposure struct {
	What    string    `json:"what"`
	Level   Figure    `json:"level"`
	Allowed []Allowed `json:"allowed"`
	Caution string    `json:"caution"`
}

// Allowed is a length of time by one rule.
type Allowed struct {
	Rule   string `json:"rule"`
	Hours  Number `json:"hours"`
	Period string `json:"period"`
	Source string `json:"source"`
}

// BandRow is one third-octave band of programme material.
type BandRow struct {
	NominalHz    Number `json:"nominal_hz"`
	DirectDBFS   Number `json:"direct_dbfs"`
	ThroughDBFS  Number `json:"through_dbfs"`
	DifferenceDB Number `json:"difference_db"`
	Half95DB     Number `json:"half_width_95_db"`
	Coherence    Number `json:"coherence"`
	ResidualDB   Number `json:"residual_db"`
}

// Place is a pair in the ranking, the pair itself among them. From Best to Worst
// are the places, from 1, that it may hold: a range is a tie.
type Place struct {
	Name   string `json:"name"`
	Itself bool   `json:"itself"`
	Best   int    `json:"best"`
	Worst  int    `json:"worst"`
	RMS    Figure `json:"rms"`
}

// Compile gathers the results of a review.
func Compile(m *session.Measurement, j *session.Judgement) (Results, error) {
	s, sw := m.Session, m.Stimulus.Sweep()
	r := Results{
		Schema: Schema, Version: Version,
		Title: s.Title, Date: s.Date, Notes: s.Notes,
		Headphones: Headphones{s.Headphones.Name, s.Headphones.Kind},
		Rig:        Rig{s.Rig.Name, Number(orNaN(s.Rig.Ceiling))},
		Stimulus:   Stimulus{sw.Start(), sw.Stop(), sw.Duration(), sw.SampleRate(), sw.Level()},
		Summary:    Summary(m, j),
		Findings:   compileFindings(m.Findings),
		Remarks:    append([]string{}, m.Notes...),
		Response:   compileResponse(m),
		Target:     compileTarget(j.Target, m.Mean),
		Deviation:  map[string]Deviation{"mean": compileDeviation(j.Mean)},
		Distortion: map[string]Distortion{},
		Uses:       []Use{}, Claims: []Claim{}, Ranking: []Place{},
	}
	for name, d := range j.Sides {
		r.Deviation[name] = compileDeviation(d)
	}
	for _, side := range m.Sides() {
		r.Distortion[side.Name] = compileDistortion(side.Seatings[0])
	}
	for _, material := range m.Programmes {
		r.Programmes = append(r.Programmes, compileProgramme(material))
	}
	var err error
	if r.Decay, err = compileDecay(m); err != nil {
		return Results{}, err
	}
	r.Sound = compileSound(m)
	r.Correction = compileCorrection(j)
	for _, v := range j.Uses {
		r.Uses = append(r.Uses, Use{v.Use, v.Answer.String(), v.Reasons()})
	}
	for _, v := range j.Claims {
		r.Claims = append(r.Claims, Claim{v.Claim, v.Outcome.String(), v.Cause.String(), figure(v.Measured), v.Reason})
	}
	if j.Ranking != nil {
		for _, p := range j.Ranking.Places {
			r.Ranking = append(r.Ranking, Place{p.Name, p.Session == 0, p.Best, p.Worst, figure(p.Deviation.RMS)})
		}
	}
	return r, nil
}

func compileResponse(m *session.Measurement) Response {
	r := Response{
		Smoothing: smoothingWords, ValidHz: band(m.Mean.Valid),
		FrequencyHz: numbers(m.Mean.Frequency),
		Level:       map[string][]Number{"mean": numbers(m.Mean.Level)},
		Uncertainty: map[string][]Number{"mean": numbers(m.Mean.Uncertainty)},
		Match:       numbers(m.Match.Level),
		Seatings:    len(m.Session.Seatings),
	}
	for _, side := range m.Sides() {
		r.Level[side.Name] = numbers(side.Response().Level)
		r.Uncertainty[side.Name] = numbers(side.Response().Uncertainty)
	}
	return r
}

func compileTarget(t target.Target, on response.Curve) TargetCurve {
	c := t.Curve.Resample(on.Frequency)
	return TargetCurve{Name: t.Name, Rig: t.Curve.Rig, FrequencyHz: numbers(c.Frequency), LevelDB: numbers(c.Level)}
}

func compileDeviation(d target.Deviation) Deviation {
	out := Deviation{
		BandHz: band(d.Band), Offset: figure(d.Offset), RMS: figure(d.RMS), MeanAbsolute: figure(d.MeanAbsolute),
		Tilt: figure(d.Tilt), Ripple: figure(d.Ripple), Share: figure(d.Share),
		Widest:   Excursion{figure(d.Widest.Level), Number(d.Widest.Frequency)},
		Warnings: d.Warnings,
	}
	for _, o := range d.Octaves {
		out.Octaves = append(out.Octaves, OctaveRow{Number(o.Nominal), figure(o.Mean), figure(o.RMS)})
	}
	return out
}

func compileDistortion(r *session.Reading) Distortion {
	hs := r.Harmonics
	toFundamental, toTotal := hs.THD(distortion.ToFundamental), hs.THD(distortion.ToTotal)
	d := Distortion{
		Seating: r.Name, FundamentalHz: numbers(hs.Fundamental),
		THDToFundamental: percent(toFundamental.Ratio), THDToTotal: percent(toTotal.Ratio),
		HighestOrder: toFundamental.Highest,
	}
	for _, o := range hs.Orders {
		d.Orders = append(d.Orders, Order{o.N, numbers(above(o)), numbers(o.Uncertainty), numbers(o.Floor), bounds(hs, o)})
	}
	return d
}

// above is the level of an order where it stands clear of its floor, and not
// known elsewhere.
func above(o distortion.Order) []float64 {
	level := slices.Clone(o.Level)
	for i, below := range o.Below() {
		if below {
			level[i] = math.NaN()
		}
	}
	return level
}

func bounds(hs *distortion.HarmonicSet, o distortion.Order) []Number {
	if o.Floor == nil {
		return nil
	}
	out := make([]Number, len(hs.Fundamental))
	for i, f := range hs.Fundamental {
		out[i] = Number(hs.Figure(o.N, f).Bound())
	}
	return out
}

func compileSound(m *session.Measurement) *Sound {
	if m.Sound == nil {
		return nil
	}
	s := &Sound{SweepLevel: figure(m.Sound.SweepLevel), PerVolt: figure(m.Sound.PerVolt),
		PerMilliwatt: figure(m.Sound.PerMilliwatt), Remarks: append([]string{}, m.Sound.Findings...)}
	if reach := m.Sound.Reach; reach != nil {
		s.Highest = &Highest{m.Session.Amplifier.Name, figure(reach.Level), reach.By.String()}
	}
	return s
}

func compileFindings(findings []capture.Finding) []Finding {
	out := []Finding{}
	for _, f := range findings {
		out = append(out, Finding{f.Recording, f.Kind.String(), f.Severity.String(), f.Channel, Number(f.Time), Number(f.Duration), f.What, f.Remedy})
	}
	return out
}

func compileProgramme(m *session.Material) Programme {
	p := Programme{Name: m.Name, Kind: m.Kind, Covered: Number(math.NaN()), Bands: []BandRow{}, Remarks: []string{}}
	for _, f := range m.Findings {
		if f.Severity > capture.Note {
			p.Remarks = append(p.Remarks, f.Recording+": "+f.What+".")
		}
	}
	if m.Level != nil {
		p.Exposure = &Exposure{What: m.Name, Level: figure(m.Level.A), Allowed: []Allowed{}, Caution: level.Caution}
		for _, a := range m.Allowance {
			period := "a day"
			if a.Limit.Period > 24*time.Hour {
				period = "a week"
			}
			// Where the level may be higher by its uncertainty, the time to keep to.
			hours := a.AtMost
			if math.IsNaN(hours) {
				hours = a.Hours
			}
			p.Exposure.Allowed = append(p.Exposure.Allowed, Allowed{a.Limit.Name, Number(hours), period, a.Source})
		}
	}
	if m.Refused != nil {
		p.Refused = m.Refused.Error()
		return p
	}
	p.Covered = Number(m.Comparison.Covered)
	p.Sentence = programmeSentence(m)
	for _, f := range m.Comparison.Findings {
		p.Remarks = append(p.Remarks, f.Text)
	}
	for _, b := range m.Comparison.Bands() {
		p.Bands = append(p.Bands, BandRow{Number(b.Nominal), Number(b.Direct), Number(b.Through), Number(b.Difference), Number(b.Half), Number(b.Coherence), Number(b.Residual)})
	}
	return p
}

func percent(ratio []float64) []Number {
	out := make([]Number, len(ratio))
	for i, v := range ratio {
		out[i] = Number(100 * v)
	}
	return out
}

func band(b response.Band) [2]Number { return [2]Number{Number(b.Low), Number(b.High)} }

func figure(f response.Figure) Figure {
	return Figure{Number(f.Value), Number(f.Uncertainty), Number(f.Freedom), f.Unit}
}

// writeJSON writes the results with an indentation that a person can read.
func writeJSON(w io.Writer, r Results) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(r)
}
