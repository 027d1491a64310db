package report_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
)

// Two seatings of one pair, taken as two conditions or as two specimens, give "cannot tell"; both
// are on the page, in results.json by its schema, and in the summary.
func TestConditionsOnThePage(t *testing.T) {
	long.Skip(t)
	for name, set := range map[string]func(s *session.Session, i int, what string){
		"conditions": func(s *session.Session, i int, what string) { s.Seatings[i].Condition = what },
		"specimens":  func(s *session.Session, i int, what string) { s.Seatings[i].Specimen = what },
	} {
		path := page(t, name, func(s *session.Session) {
			all(noMusic, noClaims, noBench, silent)(s)
			s.Rivals = nil
			set(s, 0, "off")
			set(s, 1, "on")
		})
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		wellMade(t, string(text))
		data, err := os.ReadFile(filepath.Join(filepath.Dir(path), "results.json"))
		require.NoError(t, err)
		schema, err := jsonschema.UnmarshalJSON(bytes.NewReader(report.ResultsSchema))
		require.NoError(t, err)
		c := jsonschema.NewCompiler()
		require.NoError(t, c.AddResource("results.json", schema))
		compiled, err := c.Compile("results.json")
		require.NoError(t, err)
		document, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		require.NoError(t, err)
		require.NoError(t, compiled.Validate(document), name)
		var read struct {
			Changes []struct {
				From, To, Answer, Sentence string
				Level                      []float64 `json:"level_db"`
			}
			Specimens *struct{ Names []string }
			Summary   []string
		}
		require.NoError(t, json.Unmarshal(data, &read))
		table, err := os.ReadFile(filepath.Join(filepath.Dir(path), "response.txt"))
		require.NoError(t, err)
		_, err = response.ReadCurve(bytes.NewReader(table), "response.txt")
		require.NoError(t, err, "the curve is read beside the sentences about conditions")
		if name == "specimens" {
			assert.Contains(t, string(table), "# specimen: off\n# compared: 2 specimens, which differ at 1 kHz by ")
			require.NotNil(t, read.Specimens)
			assert.Equal(t, []string{"off", "on"}, read.Specimens.Names)
			assert.Contains(t, string(text), "where one more may lie")
			assert.Empty(t, read.Changes)
			continue
		}
		require.Len(t, read.Changes, 1)
		assert.Equal(t, "cannot tell", read.Changes[0].Answer)
		assert.NotEmpty(t, read.Changes[0].Level)
		assert.Contains(t, string(text), "on against off:")
		assert.Contains(t, string(text), "too little was measured to say")
		assert.Contains(t, read.Summary[3], "On against off: cannot tell")
		assert.Nil(t, read.Specimens)
		assert.Contains(t, string(table), "# condition: off\n# compared: on against off (independent seatings: 1 seating and 1 seating): Cannot tell")
	}
}
