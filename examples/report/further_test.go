package report_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// TestEverythingAskedIsInEveryFile checks that the results of a stimulus with all parts are on the
// page and, by the schema, in results.json.
func TestEverythingAskedIsInEveryFile(t *testing.T) {
	long.Skip(t)
	s, err := sweep.New(sweep.Config{Duration: 2 * time.Second, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 500 * time.Millisecond, Asks: sweep.Questions()})
	require.NoError(t, err)
	pair, _, bench := rig.Demonstration()
	recording := func(name string, x [][]float64) *capture.Recording {
		return &capture.Recording{Name: name, SampleRate: 48000, Format: capture.Format{Bits: 24}, Channels: x}
	}
	b, err := review.New(review.Config{Stimulus: st, Rig: bench.Name})
	require.NoError(t, err)
	_, err = b.Direct(review.Both(recording("direct.wav", bench.Direct(st.Channels()))))
	require.NoError(t, err)
	p := b.Pair(review.About{Name: pair.Name})
	seat := bench.Play(st.Channels()).Seatings(pair)
	right := st.Sweeps(sweep.Right)[0]
	begun := seat(1)
	for k, x := range begun {
		begun[k] = x[right.Start:] // of the left sweep nothing is there
	}
	_, err = p.Seat(review.Seating{Name: "first", Channels: review.Both(recording("first.wav", seat(0)))},
		review.Seating{Name: "late", Channels: review.Both(recording("late.wav", begun))})
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	z := &level.Impedance{Valid: response.AllFrequencies}
	for _, f := range response.LogGrid(10, 24000, 12) {
		off := 1.5 * (f/90 - 90/f)
		z.Frequency, z.Ohms = append(z.Frequency, f), append(z.Ohms, complex(32+150/(1+off*off), 0))
	}
	r.Impedance = z
	require.NoError(t, r.Judge(review.Criteria{}))
	folder := t.TempDir()
	require.NoError(t, report.Write(folder, r, true))

	table, err := os.ReadFile(filepath.Join(folder, "further.csv"))
	require.NoError(t, err)
	for _, quantity := range []string{"left,distortion by tone,63,-12,", "right,modulation distortion,7000", "left,crosstalk,", "right,group delay,",
		"left,compression,1000,-12,", "left,highest level at 1 % distortion: not reached,",
		"left,seatings that hold parts for modulation,,,2,1,,", "right,rub and buzz,", "left,seatings that rub or buzz,"} {
		assert.True(t, bytes.Contains(table, []byte(quantity)), quantity)
	}
	schema, err := jsonschema.UnmarshalJSON(bytes.NewReader(report.ResultsSchema))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("results.json", schema))
	compiled, err := c.Compile("results.json")
	require.NoError(t, err)
	data, err := os.ReadFile(filepath.Join(folder, "results.json"))
	require.NoError(t, err)
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	require.NoError(t, err)
	require.NoError(t, compiled.Validate(document))
	var d struct {
		Version int
		Further map[string]struct {
			Tones []struct {
				Agreement string
				Played    float64 `json:"played_dbfs"`
			} `json:"steady_tones"`
			MaxLevels []struct{ Reached string } `json:"max_levels"`
			Crosstalk struct {
				HalfWidths []*float64 `json:"half_width_95_db"`
				Common     *struct{}  `json:"common_ground"`
			}
			Seatings []struct {
				Name     string
				Response bool
				Parts    []string
			}
			RubBuzz struct {
				Seatings []int
				Rattling []int     `json:"rattling_seatings"`
				Rattles  []float64 `json:"rattles_hz"`
			} `json:"rub_and_buzz"`
		}
	}
	require.NoError(t, json.Unmarshal(data, &d))
	assert.Equal(t, 3, d.Version)
	for name, side := range d.Further {
		require.Len(t, side.Seatings, 2)
		assert.Equal(t, []string{"distortion", "levels", "modulation", "crosstalk", "gain"}, side.Seatings[0].Parts)
		assert.Equal(t, name == "right", side.Seatings[1].Response, "the left sweep of the second is cut off")
		assert.Equal(t, map[string]int{"left": 1, "right": 2}[name], side.RubBuzz.Seatings[24], "rub and buzz needs the sweep")
		assert.Empty(t, side.RubBuzz.Rattles)
		assert.Equal(t, 19, len(side.Tones))
		for _, tone := range side.Tones {
			if tone.Played == -12 {
				assert.NotEqual(t, "no", tone.Agreement)
			} else {
				assert.Equal(t, "not known", tone.Agreement, "the sweep was at another level")
			}
		}
		assert.Equal(t, "not reached", side.MaxLevels[len(side.MaxLevels)/2].Reached)
		assert.NotNil(t, side.Crosstalk.Common)
		assert.Positive(t, *side.Crosstalk.HalfWidths[48], "dB; the interval is stated")
	}
	page, err := os.ReadFile(filepath.Join(folder, "report.html"))
	require.NoError(t, err)
	for _, part := range []string{"Tones, levels and crosstalk", "levels-left-percent", "crosstalk-right", "not every seating reached ", "compression-left",
		"Modulation", "No rub, buzz or rattle", "towards the microphone", "Left arrives later than right by", "a return lead that both sides share", "distortion-left-in",
		"late, without the response of this side because its sweep is cut off: tones, levels, modulation, crosstalk"} {
		assert.True(t, bytes.Contains(page, []byte(part)), part)
	}
}
