package level_test

import (
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

func readCalibration(t testing.TB, text string) level.Calibration {
	t.Helper()
	c, err := level.ReadCalibration(strings.NewReader(text), "microphone.txt")
	require.NoError(t, err)
	return c
}

func TestReadCalibration(t *testing.T) {
	for _, c := range []struct {
		name, text  string
		level       float64 // at 1000 Hz
		degrees     float64 // NaN for no phase
		sensitivity string
	}{
		{"tabs", "20\t-1.5\n1000\t0.25\n20000\t3\n", 0.25, math.NaN(), ""},
		{"blanks and comments", "* measured at 0 degrees\n# lot 7\n20 -1.5\n1000   0.25\n20000 3", 0.25, math.NaN(), ""},
		{"commas and phase", "20, -1.5, 12\n1000, 0.25, -3.5\n20000, 3, -80\n", 0.25, -3.5, ""},
		{"semicolons and decimal commas", "Hz;dB;Grad\n20;-1,5;12\n1000;0,25;-3,5\n20000;3;-80\n", 0.25, -3.5, ""},
		{"blanks and decimal commas", "20,5 -1,5 12\n1000 0,25 -3,5\n20000 3,0 -80\n", 0.25, -3.5, ""},
		{"quoted columns", "\"20\",\"-1.5\",\"12\"\n\"1000\",\"0.25\",\"-3.5\"\n\"20000\",\"3\",\"-80\"\n", 0.25, -3.5, ""},
		{"a typographic minus sign, and lines ended by CR alone", "20 −1.5 12\r1000 0.25 −3.5\r20000 3 −80\r", 0.25, -3.5, ""},
		{"sensitivity on a line of its own", "Sensitivity 12.5 mV/Pa\r\n20 -1.5\r\n1000 0.25\r\n20000 3\r\n", 0.25, math.NaN(), "Sensitivity 12.5 mV/Pa"},
		{"sensitivity in quotes before a heading", "\ufeff\"sens. -37.2 dB re 1 V/Pa at 1 kHz\"\nfrequency,level\n20,-1.5\n1000,0.25\n20000,3\n", 0.25, math.NaN(), "sens. -37.2 dB re 1 V/Pa at 1 kHz"},
		{"sensitivity in a comment", "# sensitivity: 12.5 mV/Pa\n20 -1.5\n1000 0.25\n20000 3\n", 0.25, math.NaN(), "sensitivity: 12.5 mV/Pa"},
		{"a heading that says sensitivity is no note", "frequency,sensitivity\n20,-1.5\n1000,0.25\n20000,3\n", 0.25, math.NaN(), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			cal := readCalibration(t, c.text)
			assert.Equal(t, c.level, cal.Response.At(1000))
			assert.Equal(t, -1.5, cal.Response.Level[0])
			assert.Equal(t, c.sensitivity, cal.Sensitivity)
			if math.IsNaN(c.degrees) {
				assert.Nil(t, cal.Phase)
			} else {
				require.Len(t, cal.Phase, 3)
				assert.InDelta(t, c.degrees*math.Pi/180, cal.Phase[1], 1e-12, "rounding")
			}
			assert.False(t, cal.SignSuspected)
		})
	}
}

func TestReadCalibrationThatIsWrong(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"not monotonic", "20 0\n1000 0\n900 0\n", "line 3: \"900 0\": 900 Hz comes after 1000 Hz"},
		{"a frequency twice", "20 0\n1000 0\n1000 1\n", "line 3"},
		{"not monotonic after a sensitivity", "sensitivity 12 mV/Pa\n20 0\n1000 0\n900 0\n", "line 4"},
		{"a word among the numbers", "20 0\n1000 zero\n", "line 2"},
		{"no points", "# nothing\n", "at least two points"},
		{"binary", "RIFF\x00\x00WAVE", "not plain text"},
		{"phase on some lines only", "20 0 10\n1000 0\n", "line 2: \"1000 0\": the phase is missing"},
		{"in kHz", "# valid: 20 to 20000 Hz\n0.02 0\n1 0\n20 0\n", "its frequencies end at 20 Hz; write them in Hz, not in kHz"},
		{"phase in words", "20 0 10\n1000 0 none\n", "the phase \"none\" is not a number"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := level.ReadCalibration(strings.NewReader(c.text), "microphone.txt")
			assert.ErrorContains(t, err, c.says)
			assert.ErrorContains(t, err, "level: calibration of the microphone: ")
		})
	}
	_, err := level.ReadCalibrationFile(filepath.Join(t.TempDir(), "none.txt"))
	assert.ErrorIs(t, err, os.ErrNotExist)
	_, err = level.ReadCalibration(&endless{}, "endless")
	assert.ErrorContains(t, err, "more than 16 MiB")
}

// endless is text without an end.
type endless struct{}

func (*endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '#'
	}
	return len(p), nil
}

// A microphone that reads 3 dB too high at 10 kHz: a flat source is recorded 3 dB high there, and
// is flat after the correction.
func TestCalibrationIsTakenOff(t *testing.T) {
	c := readCalibration(t, "200, -1\n1000, 0.5\n5000, 3\n")
	c.Response.Uncertainty = []float64{0.3, 0.3, 0.3}
	recorded, err := response.NewCurve([]float64{100, 200, 1000, 5000, 10000}, []float64{70, 69, 70.5, 73, 70})
	require.NoError(t, err)
	recorded.Uncertainty = []float64{0.4, 0.4, 0.4, 0.4, 0.4}
	recorded.Rig = "flat plate"
	flat, err := c.Correct(recorded)
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{70, 70, 70}, flat.Level[1:4], 1e-12, "rounding")
	assert.True(t, math.IsNaN(flat.Level[0]), "below the calibrated range")
	assert.True(t, math.IsNaN(flat.Level[4]), "above the calibrated range")
	assert.Equal(t, response.Band{Low: 200, High: 5000}, flat.Valid)
	assert.InDelta(t, 0.5, flat.UncertaintyAt(1000), 1e-12, "0.3 and 0.4 at right angles")
	assert.Equal(t, "flat plate", flat.Rig)

	turned, err := c.Inverted().Correct(recorded)
	require.NoError(t, err)
	assert.InDelta(t, 76, turned.At(5000), 1e-12, "added: the file held corrections")

	relative := c
	relative.Response, err = c.Response.NormaliseAt(1000)
	require.NoError(t, err)
	again, err := relative.Correct(recorded)
	require.NoError(t, err)
	assert.InDelta(t, 70.5, again.At(1000), 1e-12, "the calibrator has set the level here already")
	_, err = c.Response.NormaliseAt(100)
	assert.ErrorContains(t, err, "200 Hz–5 kHz")

	recorded.Uncertainty = nil
	flat, err = c.Correct(recorded)
	require.NoError(t, err)
	assert.Nil(t, flat.Uncertainty, "not known of one, not known of both")
}

// The correction includes the phase of the microphone: |H| 3 dB too high and 90° late becomes 1.
func TestCalibrationOfATransferFunction(t *testing.T) {
	const n = 64
	recorded := &response.Transfer{Bins: make([]complex128, n/2+1), SampleRate: rate, Len: n, Valid: response.AllFrequencies}
	for k := range recorded.Bins {
		recorded.Bins[k] = cmplx.Rect(math.Pow(10, 3.0/20), -math.Pi/2)
	}
	got := readCalibration(t, "1000 3 -90\n12000 3 -90\n").CorrectTransfer(recorded)
	assert.Equal(t, response.Band{Low: 1000, High: 12000}, got.Valid)
	assert.InDelta(t, 0, cmplx.Abs(got.At(3000)-1), 1e-12, "rounding")
	assert.True(t, cmplx.IsNaN(got.Bins[n/2]), "24 kHz lies outside")
	got = readCalibration(t, "1000 3\n12000 3\n").CorrectTransfer(recorded)
	assert.InDelta(t, 0, cmplx.Abs(got.At(3000)+1i), 1e-12, "no phase in the file: the phase stays")
}

func TestCalibrationFindings(t *testing.T) {
	const complete = "20 -2\n100 0\n1000 0\n8000 2\n16000 4\n20000 3\n"
	for _, c := range []struct {
		name, text string
		suspected  bool
		says       []string
	}{
		{"a microphone", complete, false, []string{"no uncertainty"}},
		{"with its uncertainty", "# columns: Hz, dB, uncertainty dB\n20 -2 0.3\n1000 0 0.2\n16000 4 0.5\n20000 3 0.5\n", false, nil},
		{"200 Hz to 5 kHz only", "200 0\n1000 0\n5000 0.5\n", false,
			[]string{"nothing is known over 20 Hz–200 Hz, 3.3 octaves", "nothing is known over 5 kHz–20 kHz, 2.0 octaves", "no uncertainty"}},
		{"the correction of that microphone", "20 2\n100 0\n1000 0\n8000 -2\n16000 -4\n20000 -3\n", true, []string{"falls by 2.8 dB from the middle to 8–16 kHz, where a microphone facing the sound rises, and it rises by 1.8 dB below 40 Hz", "no uncertainty"}},
		{"a falling top alone", "20 0\n1000 0\n8000 -2\n16000 -4\n20000 -3\n", true, []string{"suspicion only", "no uncertainty"}},
		{"a falling top with a falling bottom: for sound from all sides", "20 -3\n40 -1\n100 0\n1000 0\n8000 -2\n16000 -4\n20000 -5\n", false, []string{"no uncertainty"}},
		{"a rising bottom alone", "10 6\n20 4\n40 1\n100 0\n1000 0\n20000 0\n", true, []string{"vent", "no uncertainty"}},
		{"flat", "20 0\n20000 0\n", false, []string{"no uncertainty"}},
		{"absolute sensitivities", "20 -38\n1000 -37\n20000 -34\n", false, []string{"the level around 1 kHz is -3", "no uncertainty"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			cal := readCalibration(t, c.text)
			assert.Equal(t, c.suspected, cal.SignSuspected, "%v", cal.Findings)
			require.Len(t, cal.Findings, len(c.says), "%v", cal.Findings)
			for i, says := range c.says {
				assert.Contains(t, cal.Findings[i].String(), says)
			}
			if c.suspected {
				assert.False(t, cal.Inverted().SignSuspected, "turned round it is a microphone")
			}
		})
	}
}

func FuzzReadCalibration(f *testing.F) {
	for _, seed := range []string{
		"20 0\n1000 1\n", "sensitivity 1 mV/Pa\n20,0,1\n1000,1,2\n", "Hz;dB;°\n20;0,5;-1\n30;1;2\n", "\"20\"\t\"1\"\t\"2\"\r30\t1\t1\r", "20,5 1 3\n30 1 unknown", "\ufeff# sens 3\n1 2 3\n2 3 4",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := level.ReadCalibration(strings.NewReader(text), "fuzz")
		if err != nil {
			return
		}
		if c.Phase != nil {
			require.Len(t, c.Phase, len(c.Response.Frequency))
		}
		plain, err := response.ReadCurve(strings.NewReader(text), "fuzz")
		if err == nil && c.Sensitivity == "" { // a line that names the sensitivity is a note, however it begins
			require.Equal(t, plain.Frequency, c.Response.Frequency, "the result equals that of ReadCurve")
		}
		c.Inverted()
	})
}
