package response_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func ExampleReadCurve() {
	text := `# rig: flat plate with a felt ring
# reference: 20 µPa
frequency; level
100; 93,5
1000; 94
10000; 90,5
`
	c, err := response.ReadCurve(strings.NewReader(text), "plate.txt")
	if err != nil {
		panic(err)
	}
	response.WriteCurve(os.Stdout, c, nil)

	_, err = response.ReadCurve(strings.NewReader("100 93.5\n90 94\n"), "muddle.txt")
	os.Stdout.WriteString(err.Error())
	// Output:
	// # columns: frequency Hz, level dB
	// # reference: 20 µPa
	// # rig: flat plate with a felt ring
	// # valid: 100 to 10000 Hz
	// 100	93.5
	// 1000	94
	// 10000	90.5
	// response: muddle.txt: line 2: "90 94": 90 Hz comes after 100 Hz; sort the lines by ascending frequency
}

// A response with its phase, in the format of many other programs.
func ExampleWriteCurve() {
	c, err := response.NewCurve([]float64{100, 1000, 10000}, []float64{0, -3, -20})
	if err != nil {
		panic(err)
	}
	var text bytes.Buffer
	response.WriteCurve(&text, c, []float64{0, -math.Pi / 4, math.NaN()})
	fmt.Print(text.String())

	_, phase, err := response.ReadCurveWithPhase(&text, "low-pass.txt")
	fmt.Printf("%.4f rad, %v\n", phase[1], err)
	// Output:
	// # columns: frequency Hz, level dB, phase degrees
	// # valid: 100 to 10000 Hz
	// 100	0	0
	// 1000	-3	-45
	// 10000	-20	unknown
	// -0.7854 rad, <nil>
}

func TestTextCurvesThatPeopleWrite(t *testing.T) {
	for name, text := range map[string]string{
		"blanks":                      "20 -1.5\n1000 0.25\n",
		"many blanks and a margin":    "   20    -1.5  \n 1000    0.25\n\n",
		"tabs":                        "20\t-1.5\n1000\t0.25",
		"commas":                      "20,-1.5\n1000,0.25\n",
		"commas and blanks":           "20, -1.5\n1000 , 0.25\n",
		"semicolons":                  "20;-1.5\n1000;0.25\n",
		"decimal commas, semicolons":  "20,0;-1,5\n1000;0,25\n",
		"decimal commas, tabs":        "20,0\t-1,5\n1000,0\t0,25\n",
		"decimal commas, blanks":      "20,0 -1,5\n1000 0,25\n",
		"exponents":                   "2e1 -15E-1\n1.0e+3 2.5e-1\n",
		"typographer's minus":         "20 \u22121.5\n1000 0.25\n",
		"quoted":                      "\"20\",\"-1.5\"\n\"1000\",\"0.25\"\n",
		"phase in a third column":     "20 -1.5 12\n1000 0.25 -170\n",
		"trailing separators":         "20,-1.5,\n1000,0.25,\n",
		"lines of another system":     "20 -1.5\r\n1000 0.25\r\n",
		"lines of an old system":      "20 -1.5\r1000 0.25\r",
		"byte order mark":             "\ufeff20 -1.5\n1000 0.25\n",
		"heading":                     "Frequency (Hz), SPL (dB)\n20,-1.5\n1000,0.25\n",
		"heading after comments":      "# made by hand\n\nfrequency level\n20 -1.5\n1000 0.25\n",
		"comments of all kinds":       "# a\n; b\n* c\n// d\n20 -1.5\n# between\n1000 0.25\n# after\n",
		"comment in another encoding": "# 20 \xb5Pa\n20 -1.5\n1000 0.25\n",
		"columns named, third phase":  "# columns: frequency, level, phase\n20 -1.5 3\n1000 0.25 4\n",
		"columns named, radians":      "# columns: frequency, level, phase rad\n20 -1.5 3\n1000 0.25 late\n",
		"columns named, third is not": "# columns: frequency, level\n20 -1.5 3\n1000 0.25 4\n",
	} {
		t.Run(name, func(t *testing.T) {
			c, err := response.ReadCurve(strings.NewReader(text), "x.txt")
			require.NoError(t, err)
			assert.Equal(t, []float64{20, 1000}, c.Frequency)
			assert.Equal(t, []float64{-1.5, 0.25}, c.Level)
			assert.Nil(t, c.Uncertainty)
			assert.Equal(t, response.Band{Low: 20, High: 1000}, c.Valid)

			slow, err := response.ReadCurve(iotest.OneByteReader(strings.NewReader(text)), "x.txt")
			require.NoError(t, err)
			assert.Equal(t, c, slow, "however the bytes arrive")
		})
	}
}

// "20,5" by itself could be a number; without a second column the comma separates.
func TestWholeNumbersSeparatedByCommas(t *testing.T) {
	c, err := response.ReadCurve(strings.NewReader("20,5\n1000,6\n"), "x.txt")
	require.NoError(t, err)
	assert.Equal(t, []float64{20, 1000}, c.Frequency)
	assert.Equal(t, []float64{5, 6}, c.Level)
}

func TestCommentsOfACurve(t *testing.T) {
	c, err := response.ReadCurve(strings.NewReader(`; RIG: flat plate
// Reference: 20 µPa
* valid: 30 to 15000 Hz
# columns: frequency Hz, level dB, standard uncertainty dB
20 1 0.5
20000 2 unknown
`), "x.txt")
	require.NoError(t, err)
	assert.Equal(t, "flat plate", c.Rig)
	assert.Equal(t, "20 µPa", c.Reference)
	assert.Equal(t, response.Band{Low: 30, High: 15000}, c.Valid)
	assert.Equal(t, 0.5, c.Uncertainty[0])
	assert.True(t, math.IsNaN(c.Uncertainty[1]))
}

func TestTextCurvesThatCannotBeRead(t *testing.T) {
	for name, row := range map[string]struct {
		text string
		line int
		want string
	}{
		"unsorted":                   {"20 1\n10 2\n", 2, `line 2: "10 2": 10 Hz comes after 20 Hz; sort`},
		"duplicate":                  {"20 1\n20 2\n", 2, "20 Hz is there twice; keep one"},
		"word for a level":           {"20 1\n30 loud\n", 2, `the level "loud" is not a number`},
		"word for a frequency":       {"20 1\nhigh 2\n", 2, `the frequency "high" is not a number`},
		"second heading":             {"frequency level\nHz dB\n20 1\n30 1\n", 2, "is not a number"},
		"heading after points":       {"20 1\nfrequency level\n30 1\n", 2, "is not a number"},
		"slip in the first point":    {"2O 1\n30 1\n", 1, `the frequency "2O"`},
		"units":                      {"20Hz 1dB\n30Hz 1dB\n", 1, `the frequency "20Hz"`},
		"negative frequency":         {"-20 1\n20 1\n", 1, "not above zero; remove this line"},
		"zero frequency":             {"0 -80\n20 1\n", 1, "not above zero"},
		"NaN frequency":              {"NaN 1\n20 1\n", 1, "is not a number"},
		"NaN level":                  {"20 1\n30 NaN\n", 2, `write it in digits alone, in dB, or "unknown"`},
		"infinite level":             {"20 1\n30 -Inf\n", 2, "is not a number"},
		"level out of all range":     {"20 1\n30 1e999\n", 2, "too large"},
		"hexadecimal":                {"0x20 1\n30 1\n", 1, "is not a number"},
		"one point":                  {"# hm\n20 1\n", 0, "response: x.txt: a curve needs at least two points; the text holds 1"},
		"nothing":                    {"", 0, "the text holds 0"},
		"one column":                 {"20\n30\n", 1, "not two columns"},
		"separators alone":           {",\n20,1\n30,1\n", 1, "not two columns"},
		"line of 60 characters":      {"20 " + strings.Repeat("µ", 57) + "\n", 1, `line 1: "20 ` + strings.Repeat("µ", 57) + `": the level`},
		"line of 61 characters":      {"20 " + strings.Repeat("µ", 58) + "\n", 1, `line 1: "20 ` + strings.Repeat("µ", 57) + `…": the level`},
		"level missing":              {"20\t\t1\n30\t\t1\n", 1, "the level is missing"},
		"four columns":               {"20 1 2 3\n", 1, "at most one more, or name them all above"},
		"commas doing both":          {"20,0,1,5\n30,0,1,5\n", 1, "separate the columns by semicolons"},
		"thousands by commas":        {"900 1.5\n1,000 1.5\n", 2, "keep to one decimal mark"},
		"separator changes":          {"20,5 1,5\n100,5\n", 2, "not two columns"},
		"long line":                  {"20 1\n# " + strings.Repeat("long ", 1000) + "\n", 2, "longer than 4096 characters"},
		"line without end":           {strings.Repeat("1", 100000), 1, "longer than 4096 characters"},
		"binary":                     {"20 1\nRIFF\x00\x01\x02WAVE", 2, "this is not plain text; save the curve as UTF-8"},
		"UTF-16":                     {"\xff\xfe2\x000\x00 \x001\x00\n\x00", 1, "this is not plain text"},
		"rig said twice":             {"# rig: a\n# rig: b\n20 1\n30 1\n", 2, `already given as "a"`},
		"rig without end":            {"# rig: " + strings.Repeat("x", 2000) + "\n", 1, "fewer words"},
		"valid band not a band":      {"# valid: mostly\n20 1\n30 1\n", 1, "20 to 20000 Hz"},
		"valid band upside down":     {"# valid: 200 to 20 Hz\n20 1\n30 1\n", 1, "is not understood"},
		"five columns, four named":   {"# columns: f, level, phase, uncertainty\n20 1 2 3 4\n", 2, "there are 5 columns"},
		"uncertainty missing":        {"# columns: f, level, uncertainty\n20 1\n30 1\n", 2, "the uncertainty is missing"},
		"uncertainty below zero":     {"# columns: f, level, uncertainty\n20 1 -1\n30 1 1\n", 2, "below zero"},
		"uncertainty announced late": {"20 1 1\n# columns: f, level, uncertainty\n30 1 1\n", 2, "move this line above"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := response.ReadCurve(strings.NewReader(row.text), "x.txt")
			assert.ErrorContains(t, err, "response: x.txt: ")
			if row.line > 0 {
				assert.ErrorContains(t, err, fmt.Sprintf("line %d: ", row.line))
			}
			assert.ErrorContains(t, err, row.want)
			assert.Less(t, len(err.Error()), 400, "a message is for reading")
		})
	}
}

func TestPhaseInTextThatPeopleWrite(t *testing.T) {
	for name, row := range map[string]struct {
		text               string
		phase, uncertainty []float64 // degrees, dB
	}{
		"third column":            {"20 1 90\n1000 2 -180\n", []float64{90, -180}, nil},
		"no third column":         {"20 1\n1000 2\n", nil, nil},
		"heading, decimal commas": {"Hz;dB;Grad\n20;1,5;90,5\n1000;2;-180\n", []float64{90.5, -180}, nil},
		"third is named":          {"# columns: frequency, level, phase\n20,1,90\n1000,2,720\n", []float64{90, 720}, nil},
		"third is uncertainty":    {"# columns: frequency, level, uncertainty\n20 1 0.5\n1000 2 1\n", nil, []float64{0.5, 1}},
		"third is something else": {"# columns: frequency, level, coherence\n20 1 0.5\n1000 2 1\n", nil, nil},
		"fourth is uncertainty":   {"# columns: frequency, level, phase, uncertainty\n20 1 90 0.5\n1000 2 -180 1\n", []float64{90, -180}, []float64{0.5, 1}},
		"fourth is phase":         {"# columns: frequency, level, uncertainty, phase\n20 1 0.5 90\n1000 2 1 -180\n", []float64{90, -180}, []float64{0.5, 1}},
		"fifth is its own":        {"# columns: frequency, level, phase, uncertainty, uncertainty of phase\n20 1 90 0.5 3\n1000 2 -180 1 4\n", []float64{90, -180}, []float64{0.5, 1}},
	} {
		t.Run(name, func(t *testing.T) {
			c, phase, err := response.ReadCurveWithPhase(strings.NewReader(row.text), "x.txt")
			require.NoError(t, err)
			assert.Equal(t, row.uncertainty, c.Uncertainty)
			require.Len(t, phase, len(row.phase))
			assert.Equal(t, row.phase == nil, phase == nil, "nil where there is none")
			for i, degrees := range row.phase {
				assert.InDelta(t, degrees*math.Pi/180, phase[i], 1e-14, "rad; rounding")
			}
			alone, err := response.ReadCurve(strings.NewReader(row.text), "x.txt")
			require.NoError(t, err)
			assertSameCurve(t, c, alone)
		})
	}
}

func TestPhaseInTextThatCannotBeRead(t *testing.T) {
	for name, row := range map[string]struct {
		text string
		line int
		want string
	}{
		"missing below":         {"20 1 90\n30 1\n", 2, "the phase is missing here or above"},
		"missing above":         {"20 1\n30 1 90\n", 2, "the phase is missing here or above"},
		"a word":                {"20 1 late\n30 1 90\n", 1, `the phase "late" is not a number; write it in digits alone, in degrees, or "unknown"`},
		"another decimal mark":  {"20 1.5 90,5\n30 1.5 90\n", 1, "keep to one decimal mark"},
		"radians":               {"# columns: f, level, phase rad\n20 1 1.57\n30 1 1.57\n", 1, "the phase is named in radians; write it in degrees"},
		"named after the first": {"20 1 90\n# columns: f, level, phase\n30 1 90\n", 2, "move this line above"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := response.ReadCurveWithPhase(strings.NewReader(row.text), "x.txt")
			assert.ErrorContains(t, err, fmt.Sprintf("line %d: ", row.line))
			assert.ErrorContains(t, err, row.want)
		})
	}
}

func TestWrittenPhaseReadsBack(t *testing.T) {
	c := response.Curve{Frequency: []float64{20, 1000, 20000}, Level: []float64{-1.5, math.Pi, math.NaN()}, Uncertainty: []float64{0.1, 0.2, math.NaN()},
		Reference: "20 µPa", Rig: "flat plate", Valid: response.Band{Low: 20, High: 20000}}
	phase := []float64{-math.Pi, 1e-9, math.NaN()}
	var text bytes.Buffer
	require.NoError(t, response.WriteCurve(&text, c, phase))
	back, backPhase, err := response.ReadCurveWithPhase(&text, "x.txt")
	require.NoError(t, err)
	assertSameCurve(t, c, back)
	require.Len(t, backPhase, 3)
	assert.InEpsilon(t, -math.Pi, backPhase[0], 1e-15, "two roundings")
	assert.InEpsilon(t, 1e-9, backPhase[1], 1e-15, "two roundings")
	assert.True(t, math.IsNaN(backPhase[2]))

	assert.ErrorContains(t, response.WriteCurve(io.Discard, c, []float64{0, 0, math.Inf(1)}), "infinite phase")
	assert.PanicsWithValue(t, "response: a curve is written with one phase degrees per frequency", func() { response.WriteCurve(io.Discard, c, phase[:2]) })
}

func TestReadCurveReaderFails(t *testing.T) {
	broken := errors.New("cable out")
	_, err := response.ReadCurve(io.MultiReader(strings.NewReader("20 1\n30 1\n"), iotest.ErrReader(broken)), "x.txt")
	assert.ErrorIs(t, err, broken)
}

func TestReadCurveFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.txt")
	require.NoError(t, os.WriteFile(path, []byte("20 1\n30 2\n"), 0o600))
	c, err := response.ReadCurveFile(path)
	require.NoError(t, err)
	assert.Equal(t, []float64{1, 2}, c.Level)

	_, err = response.ReadCurveFile(path + "x")
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestWrittenCurveReadsBackEqual(t *testing.T) {
	for name, c := range map[string]response.Curve{
		"plain": {Frequency: []float64{20, 1000}, Level: []float64{-1.5, math.Pi}, Valid: response.Band{Low: 20, High: 1000}},
		"everything": {Frequency: []float64{19.999999999999996, 1e5 / 3, 1e-300 + 1e6}, Level: []float64{1e-17, math.NaN(), -120}, Uncertainty: []float64{0, math.NaN(), 0.1},
			Reference: "20 µPa", Rig: "flat plate: felt ring; 3 mm, no. 2", Valid: response.Band{Low: 31.5, High: 8000}},
		"valid nowhere":    {Frequency: []float64{20, 1000}, Level: []float64{0, 0}},
		"valid everywhere": {Frequency: []float64{20, 1000}, Level: []float64{0, 0}, Valid: response.AllFrequencies},
	} {
		t.Run(name, func(t *testing.T) {
			var text bytes.Buffer
			require.NoError(t, response.WriteCurve(&text, c, nil))
			back, err := response.ReadCurve(&text, "x.txt")
			require.NoError(t, err)
			assertSameCurve(t, c, back)
		})
	}
}

func TestCurvesThatCannotBeWritten(t *testing.T) {
	good := response.Curve{Frequency: []float64{20, 1000}, Level: []float64{0, 0}, Valid: response.AllFrequencies}
	for name, row := range map[string]struct {
		spoil func(c *response.Curve)
		want  string
	}{
		"no points":              {func(c *response.Curve) { *c = response.Curve{} }, "at least two points"},
		"rig on two lines":       {func(c *response.Curve) { c.Rig = "a\nb" }, "rig holds a line break"},
		"reference after blanks": {func(c *response.Curve) { c.Reference = " a" }, "reference begins or ends with a blank"},
		"a rig like a book":      {func(c *response.Curve) { c.Rig = strings.Repeat("x", 2000) }, "rig is longer than"},
		"uncertainty below zero": {func(c *response.Curve) { c.Uncertainty = []float64{1, -1} }, "uncertainty of -1 dB"},
	} {
		t.Run(name, func(t *testing.T) {
			c := good
			row.spoil(&c)
			assert.ErrorContains(t, response.WriteCurve(io.Discard, c, nil), row.want)
		})
	}
	bad := good
	bad.Uncertainty = []float64{1}
	assert.Panics(t, func() { response.WriteCurve(io.Discard, bad, nil) })
	r, w := io.Pipe()
	require.NoError(t, r.CloseWithError(io.ErrShortWrite))
	assert.ErrorIs(t, response.WriteCurve(w, good, nil), io.ErrShortWrite)
}

func assertSameCurve(t *testing.T, want, got response.Curve) {
	t.Helper()
	same := func(a, b []float64) bool {
		if len(a) != len(b) || (a == nil) != (b == nil) {
			return false
		}
		for i := range a {
			if a[i] != b[i] && !(math.IsNaN(a[i]) && math.IsNaN(b[i])) {
				return false
			}
		}
		return true
	}
	assert.True(t, same(want.Frequency, got.Frequency), "frequency %v, %v", want.Frequency, got.Frequency)
	assert.True(t, same(want.Level, got.Level), "level %v, %v", want.Level, got.Level)
	assert.True(t, same(want.Uncertainty, got.Uncertainty), "uncertainty %v, %v", want.Uncertainty, got.Uncertainty)
	assert.Equal(t, want.Reference, got.Reference)
	assert.Equal(t, want.Rig, got.Rig)
	assert.Equal(t, want.Valid, got.Valid)
}

// FuzzReadCurve checks that no text makes the reader panic or return an invalid curve, and that
// every curve that was read can be written and read back.
func FuzzReadCurve(f *testing.F) {
	for _, seed := range []string{
		"20 -1.5\n1000 0.25\n", "20,0;-1,5\r\n1000;0,25", "\ufeff# rig: plate\nf level\n20\t1\t2\r30\t2\t3\r",
		"# columns: f, level, uncertainty\n# valid: 0 to inf Hz\n20 1 unknown\n30 unknown 1\n", "; reference: 20 \xb5Pa\n\"20\",\"1\"\n30, 2,\n",
		"20 1\n\x00", "* valid: nowhere\n20,5 1\n21 1,5\n", "# columns: f, level, phase, uncertainty\n20 1 unknown 3\n30 1 -170 unknown\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		c, phase, err := response.ReadCurveWithPhase(bytes.NewReader(text), "x.txt")
		if err != nil {
			return
		}
		_, err = response.NewCurve(c.Frequency, c.Level)
		require.NoError(t, err)
		require.LessOrEqual(t, 4*len(c.Frequency), len(text)+1, "a point takes four bytes of text")
		alone, err := response.ReadCurve(bytes.NewReader(text), "x.txt")
		require.NoError(t, err)
		assertSameCurve(t, c, alone)
		var written bytes.Buffer
		require.NoError(t, response.WriteCurve(&written, c, phase))
		back, backPhase, err := response.ReadCurveWithPhase(&written, "x.txt")
		require.NoError(t, err)
		assertSameCurve(t, c, back)
		require.Len(t, backPhase, len(phase))
		for i, v := range phase {
			require.True(t, math.IsNaN(v) == math.IsNaN(backPhase[i]) && !(math.Abs(v-backPhase[i]) > 1e-15*math.Abs(v)+1e-300), "%v, %v: two roundings", v, backPhase[i])
		}
	})
}
