package report

import (
	"encoding/json"
	"io"

	"example.com/earnest/response"
	"example.com/earnest/target/review"
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
	// Distortion by "left", "right".
	Distortion map[string]Distortion `json:"distortion"`
	Programmes []Programme           `json:"programmes,omitempty"`
	// Sound is null without a calibrator.
	Sound   *Sound  `json:"sound"`
	Uses    []Use   `json:"uses"`
	Claims  []Claim `json:"claims"`
	Ranking []Place `json:"ranking"`
	// RankingWarnings belong beside the ranking.
	RankingWarnings []string `json:"ranking_warnings"`
	// Decay by "left", "right", by third octave, of the first seating.
	Decay map[string][]DecayRow `json:"decay"`
	// Correction is null where too little is known to correct.
	Correction *Correction `json:"correction"`
	// Impedance, Isolation and Spill are null where they were not measured.
	Impedance *Impedance `json:"impedance"`
	Isolation *Isolation `json:"isolation"`
	Spill     *Spill     `json:"spill"`
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

// Compile gathers the results of a review.
func Compile(m *review.Results) (Results, error) {
	j := m.Judgement
	about, sw := m.About, m.Config.Stimulus.Sweep()
	r := Results{
		Schema: Schema, Version: Version,
		Title: about.Title, Date: about.Date, Notes: about.Notes,
		Headphones: Headphones{about.Name, about.Kind},
		Rig:        Rig{m.Config.Rig, Number(orNaN(m.Config.MaxFrequency))},
		Stimulus:   Stimulus{sw.Start(), sw.Stop(), sw.Duration(), sw.SampleRate(), sw.Level()},
		Summary:    Summary(m, j),
		Findings:   compileFindings(m.Findings),
		Remarks:    list(m.Notes),
		Response:   compileResponse(m, j),
		Target:     compileTarget(j.Target, m.Mean),
		Deviation:  map[string]Deviation{"mean": compileDeviation(j.Mean)},
		Distortion: map[string]Distortion{},
		Uses:       compileUses(j),
		Claims:     compileClaims(j),
		Sound:      compileSound(m),
		Correction: compileCorrection(j),
		Impedance:  compileImpedance(m),
		Isolation:  compileIsolation(m),
		Spill:      compileSpill(m),
	}
	for name, d := range j.Sides {
		r.Deviation[name] = compileDeviation(d)
	}
	for _, side := range m.Sides() {
		r.Distortion[side.Name] = compileDistortion(side)
	}
	for _, material := range m.Programmes {
		r.Programmes = append(r.Programmes, compileProgramme(material))
	}
	r.Ranking, r.RankingWarnings = compileRanking(j.Ranking)
	var err error
	r.Decay, err = compileDecay(m)
	return r, err
}

func band(b response.Band) [2]Number { return [2]Number{Number(b.Low), Number(b.High)} }

// writeJSON writes the results with an indentation that a person can read.
func writeJSON(w io.Writer, r Results) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(r)
}
