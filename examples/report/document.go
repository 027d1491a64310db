package report

import (
	"encoding/json"
	"io"

	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// Schema and Version name the layout of results.json, which results.schema.json describes. The
// version rises whenever a field is removed or changes its meaning. A new field does not change it.
const (
	Schema  = "earnest/results"
	Version = 3
)

// document is the layout of results.json. Units are in the names; null is "not known". Fields that
// belong together are in the file of their subject.
type document struct {
	Schema     string         `json:"schema"`
	Version    int            `json:"version"`
	Title      string         `json:"title"`
	Date       string         `json:"date,omitempty"`
	Notes      string         `json:"notes,omitempty"`
	Opinion    *opinionJSON   `json:"opinion,omitempty"`
	Headphones headphonesJSON `json:"headphones"`
	Rig        rigJSON        `json:"rig"`
	Stimulus   *stimulusJSON  `json:"stimulus"` // null with music and speech alone
	Summary    []string       `json:"summary"`
	Findings   []findingJSON  `json:"findings"`
	Remarks    []string       `json:"remarks"` // how it was measured
	Response   responseJSON   `json:"response"`
	Target     targetJSON     `json:"target"`
	// By "mean", "left", "right".
	Deviation map[string]deviationJSON `json:"deviation"`
	Budget    budgetJSON               `json:"budget"`
	// By "left", "right".
	Distortion      map[string]distortionJSON `json:"distortion"`
	Programmes      []programmeJSON           `json:"programmes,omitempty"`
	Sound           *soundJSON                `json:"sound"` // null without a calibrator
	Uses            []useJSON                 `json:"uses"`
	Claims          []claimJSON               `json:"claims"`
	Ranking         []placeJSON               `json:"ranking"`
	RankingWarnings []string                  `json:"ranking_warnings"`
	RivalDifference *differencesJSON          `json:"rival_difference,omitempty"` // missing without rivals
	// Between conditions, and between specimens; missing if nothing was compared.
	Changes   []conditionJSON `json:"changes,omitempty"`
	Specimens *specimensJSON  `json:"specimens,omitempty"`
	// By "left", "right"; the results of the stimulus's further parts, and the difference of delay.
	Further         map[string]*furtherJSON `json:"further,omitempty"`
	DelayDifference *delayDifferenceJSON    `json:"delay_difference,omitempty"`
	// By "left", "right", by third octave.
	Decay map[string][]decayJSON `json:"decay"`
	// Null if too little is known to correct.
	Correction *correctionJSON `json:"correction"`
	// Null if not measured.
	Impedance *impedanceJSON `json:"impedance"`
	Isolation *isolationJSON `json:"isolation"`
	Spill     *spillJSON     `json:"spill"`
}

// newDocument lays out results that have been judged.
func newDocument(r *review.Results) document {
	about, j := r.About, r.Judgement
	d := document{
		Schema: Schema, Version: Version,
		Title: about.Title, Date: about.Date, Notes: about.Opinion[""], Opinion: newOpinion(about),
		Headphones: headphonesJSON{about.Name, about.Kind},
		Rig:        rigJSON{r.Config.Rig, number(orNaN(r.Config.MaxFrequency))},
		Stimulus:   newStimulus(r),
		Summary:    english.summary(r),
		Findings:   newFindings(r.Findings),
		Remarks:    list(r.Notes),
		Response:   newResponse(r),
		Target:     newTarget(j.Target, r.Mean),
		Deviation:  map[string]deviationJSON{"mean": newDeviation(j.Mean)},
		Budget:     newBudget(r),
		Distortion: map[string]distortionJSON{},
		Sound:      newSound(r),
		Uses:       newUses(j),
		Claims:     newClaims(j),
		Decay:      map[string][]decayJSON{},
		Further:    map[string]*furtherJSON{}, DelayDifference: newDelayDifference(r),
		Correction: newCorrection(j),
		Changes:    newConditions(r), Specimens: newSpecimens(r.Specimens),
		Impedance: newImpedance(r),
		Isolation: newIsolation(r),
		Spill:     newSpill(r),
	}
	for _, side := range r.Sides() {
		d.Deviation[side.Name] = newDeviation(j.Sides[side.Name])
		d.Distortion[side.Name] = newDistortion(side)
		d.Decay[side.Name] = newDecay(side)
		if f := newFurther(r, side); f != nil {
			d.Further[side.Name] = f
		}
	}
	for i, p := range r.Programmes {
		d.Programmes = append(d.Programmes, newProgramme(i, r, p))
	}
	d.Ranking, d.RankingWarnings = newRanking(j.Ranking)
	d.RivalDifference = newDifferences(r)
	return d
}

type headphonesJSON struct {
	Name string `json:"name"`
	Kind string `json:"kind,omitempty"`
}

type rigJSON struct {
	Name      string `json:"name"`
	CeilingHz number `json:"ceiling_hz"`
}

type stimulusJSON struct {
	StartHz      float64 `json:"start_hz"`
	StopHz       float64 `json:"stop_hz"`
	Seconds      float64 `json:"seconds"`
	SampleRateHz int     `json:"sample_rate_hz"`
	LevelDBFS    float64 `json:"level_dbfs"`
}

func newStimulus(r *review.Results) *stimulusJSON {
	if r.Config.Stimulus == nil {
		return nil
	}
	s := r.Config.Stimulus.Signal()
	return &stimulusJSON{s.Start(), s.Stop(), float64(len(s.Samples())) / float64(s.SampleRate()), s.SampleRate(),
		r.Config.Stimulus.Level()}
}

// WriteJSON writes results that have been judged as results.json, indented for people. It returns
// the error of w, or ErrNotJudged.
func WriteJSON(w io.Writer, r *review.Results) error {
	if r.Judgement == nil {
		return ErrNotJudged
	}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(newDocument(r))
}

func newBand(b response.Band) [2]number { return [2]number{number(b.Low), number(b.High)} }
