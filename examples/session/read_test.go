package session

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
)

// least is the shortest session that can be used.
const least = `
[headphones]
name = "Finchale"
[rig]
name = "plate"
[direct]
file = "direct.wav"
[[seating]]
left = { file = "left.wav" }
`

func TestLeastSession(t *testing.T) {
	s, err := Decode([]byte(least))
	require.NoError(t, err)
	assert.Equal(t, "Finchale", s.Headphones.Name)
	st, err := s.Stimulus.Build()
	require.NoError(t, err)
	assert.Equal(t, 48000, st.Sweep().SampleRate())
}

// music is the shortest session of music alone.
const music = `
[headphones]
name = "Finchale"
[rig]
name = "plate"
[[programme]]
name = "tune"
direct = { file = "a.wav" }
left = { file = "b.wav" }
`

func TestSessionOfMusicAlone(t *testing.T) {
	s, err := Decode([]byte(music))
	require.NoError(t, err)
	assert.True(t, s.alone())
	st, err := s.Played()
	require.NoError(t, err)
	assert.Nil(t, st)
}

func TestSessionFaultsAreExplained(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"unknown key", strings.Replace(least, "file = \"direct.wav\"", "fiel = \"direct.wav\"", 1), `unknown key "direct.fiel"; the nearest known one is "direct.file"`},
		{"unknown table", least + "[stimulous]\nseconds = 3\n", `unknown key "stimulous"; the nearest known one is "stimulus"`},
		{"unknown key, its line", strings.Replace(least, "name = \"plate\"", "nmae = \"plate\"", 1), "line 5"},
		{"not TOML", "this is a review", "line 1"},
		{"a number as text", least + "[stimulus]\nseconds = \"six\"\n", "line 11"},
		{"empty", "", "does not say what was measured"},
		{"no rig", strings.Replace(least, "[rig]\nname = \"plate\"", "", 1), "[rig]"},
		{"no direct recording", strings.Replace(least, "file = \"direct.wav\"", "", 1), "no direct recording"},
		{"no seating", strings.Split(least, "[[seating]]")[0], "[[seating]]"},
		{"a seating without a file", strings.Split(least, "left =")[0], "seating 1 names no file"},
		{"two targets", least + "[target]\nfile = \"a\"\npair = \"b\"\n", "keep one"},
		{"a tolerance below zero", least + "[target]\ntolerance = -1\n", "below zero"},
		{"half a programme", least + "[[programme]]\nname = \"tune\"\ndirect = { file = \"a.wav\" }\n", `programme 1 ("tune") needs both`},
		{"music alone, and a stimulus", music + "[stimulus]\nseconds = 3\n", "no recording of it"},
		{"music alone, and a second direct recording", music + "[direct_after]\nfile = \"c.wav\"\n", "no [direct]"},
		{"music that ends before it begins", music + "right = { file = \"b.wav\", from = 20, to = 10 }\n", "the end must come after the beginning"},
		{"a part of a sweep", strings.Replace(least, "\"left.wav\"", "\"left.wav\", from = 3", 1), "with play = 1"},
		{"music with sides and a side", music + "side = \"left\"\n", "through and side for one"},
		{"music beside sweeps with a seating", least + "[[programme]]\nname = \"tune\"\nseating = \"first\"\ndirect = { file = \"a.wav\" }\nleft = { file = \"b.wav\" }\n", "music and speech alone; leave it out"},
		{"music of a channel below zero", music + "right = { file = \"b.wav\", channel = -1 }\n", "a channel is -1"},
		{"a claim of no kind", least + "[[claim]]\nwhat = \"range\"\n", "the kinds are"},
		{"a range without ends", least + "[[claim]]\nwhat = \"frequency range\"\nlow = 20\n", "low and high"},
		{"a distortion without a figure", least + "[[claim]]\nwhat = \"distortion\"\nat = 1000\n", "needs percent"},
		{"a sensitivity in a unit of its own", least + "[[claim]]\nwhat = \"sensitivity\"\nvalue = 100\nunit = \"dB\"\n", "dB/mW or dB/V"},
		{"an uncertainty that is not a number", strings.Replace(least, "name = \"plate\"", "name = \"plate\"\nuncertainty = nan", 1), "rig.uncertainty is not a number"},
		{"an uncertainty below zero", strings.Replace(least, "name = \"plate\"", "name = \"plate\"\nuncertainty = -1", 1), "uncertainty = -1"},
		{"a component without a name", "uncertainty = [{ db = 0.3 }]\n" + least, "uncertainty, number 1, has no name"},
		{"a component below zero", "uncertainty = [{ name = \"placement\", db = -0.3 }]\n" + least, "has a number below zero"},
		{"a component that is not a number", "uncertainty = [{ name = \"placement\", db = nan }]\n" + least, "uncertainty.db, number 1, is not a number"},
		{"a component twice", "uncertainty = [{ name = \"placement\", db = 0.3 }, { name = \"placement\", db = 0.2 }]\n" + least, `number 2 ("placement") is stated twice`},
		{"a component of no size", "uncertainty = [{ name = \"placement\" }]\n" + least, "needs either db"},
		{"a component of two sizes", "uncertainty = [{ name = \"coupler\", db = 1, file = \"a.txt\" }]\n" + least, "needs either db"},
		{"a component of one sample", "uncertainty = [{ name = \"samples\", db = 1, count = 1 }]\n" + least, "needs at least two"},
		{"a component of its own", "uncertainty = [{ name = \"draught\", db = 1 }]\n" + least, "state its scope"},
		{"a component of no scope", "uncertainty = [{ name = \"draught\", db = 1, common_to = \"room\" }]\n" + least, "one of seating, side"},
		{"a component too narrow", "uncertainty = [{ name = \"coupler\", db = 1, octaves = 0.01 }]\n" + least, "at least 1/24"},
		{"a right microphone alone", strings.Replace(least, "name = \"plate\"", "name = \"plate\"\nmicrophone_right = \"m.txt\"", 1), "no microphone; name the left side's file too"},
		{"a second direct recording of play −1", least + "[direct_after]\nfile = \"a.wav\"\nplay = -1\n", "[direct_after] has play = -1"},
		{"a level without end", least + "[stimulus]\nlevel = -inf\n", "stimulus.level is not a number"},
		{"a claim that is not a number", least + "[[claim]]\nwhat = \"impedance\"\nvalue = 32\n[[claim]]\nwhat = \"impedance\"\nvalue = nan\n", "claim.value, number 2, is not a number"},
		{"a channel below zero", strings.Replace(least, "\"direct.wav\"", "\"direct.wav\"\nleft = -1", 1), "a channel is -1"},
		{"too many seatings", least + strings.Repeat("[[seating]]\nleft = { file = \"a.wav\" }\n", maxEntries), "101 times [[seating]]"},
		{"too many keys", least + strings.Repeat("x = 1\n", maxKeys), "keys, but at most"},
		{"a key without end", strings.Repeat("k", 900_000) + " = 1\n" + least, "kkkk…"},
		{"a text without end", "title = \"" + strings.Repeat("k", 900_000) + "\n", "line 1"},
		{"curly quotes", strings.Replace(least, "file = \"direct.wav\"", "file = “direct.wav”", 1), "curly quotes of a text processor; use straight quotes: file = \"direct.wav\""},
		{"single backslashes", strings.Replace(least, "\"direct.wav\"", `"C:\pairs\direct.wav"`, 1), `write the path in single quotes: file = 'C:\pairs\direct.wav'`},
		{"a backslash that begins a special character", strings.Replace(least, "\"direct.wav\"", `"C:\takes\new.wav"`, 1), "direct.file = \"C:\\takes\\new.wav\" contains a special character"},
		{"how a path is written then", strings.Replace(least, "\"direct.wav\"", `"C:\takes\new.wav"`, 1), `single quotes: 'C:\takes\new.wav'`},
		{"a channel of the direct recording", strings.Replace(least, "file = \"direct.wav\"", "file = \"direct.wav\"\nchannel = 2", 1), "left = 2, right = 2 or both"},
		{"the keys of the stimulus", least + "[stimulus]\nvolts = 2\n", "fade_in, fade_out, with, tones, louder"},
		{"a key of another table", strings.Replace(least, "file = \"direct.wav\"", "file = \"direct.wav\"\nvolts = 2", 1), `unknown key "direct.volts"; the keys of direct are: file, left, right`},
		{"a file of a seating outside braces", least + "file = 'a.wav'\n", "line 10: unknown key \"seating.file\"; it belongs in the braces of a side: left = { file = 'a.wav' }"},
		{"a channel of a seating outside braces", least + "channel = 2\n", `left = { file = "…", channel = 2 }`},
		{"a side without braces", strings.Replace(least, "{ file = \"left.wav\" }", "\"left.wav\"", 1), `line 9: write the recording in braces: left = { file = "left.wav" }`},
		{"a channel in quotes", strings.Replace(least, "\"left.wav\"", "\"left.wav\", channel = \"1\"", 1), `without quotes: left = { file = "left.wav", channel = 1 }`},
		{"a path without quotes", strings.Replace(least, "\"direct.wav\"", `C:\pairs\direct.wav # first`, 1), `line 7: write the text in quotes: file = 'C:\pairs\direct.wav' # first`},
		{"a quote that is missing", strings.Replace(least, "\"direct.wav\"", `"direct.wav`, 1), `at the end of the text: file = "direct.wav"`},
		{"a colon", strings.Replace(least, "file =", "file:", 1), `line 7: write = between a key and its value: file = "direct.wav"`},
		{"a comma between thousands", strings.Replace(least, "[direct]", "ceiling = 20,000\n[direct]", 1), "ceiling = 20000"},
		{"a decimal comma", strings.Replace(least, "[direct]", "uncertainty = 0,5\n[direct]", 1), "a decimal point, not a comma: uncertainty = 0.5"},
		{"a unit", strings.Replace(least, "[direct]", "ceiling = 20000 Hz\n[direct]", 1), "without its unit: ceiling = 20000"},
		{"yes", "resample = Yes\n" + least, "line 1: write true or false, in small letters: resample = true"},
		{"a list of texts", strings.Replace(least, "\"direct.wav\"", "[\"a.wav\", \"b.wav\"]", 1), "line 7, column 8: direct.file cannot be a TOML array"},
		{"notes without end", least + "[notes]\nsound = '" + strings.Repeat("a", 40_000) + "'\n", "sound has 40000 bytes"},
		{"a voltage below zero", least + "[drive]\nvolts = -1\n", "[drive] volts = -1; it lies from 0 to 1000 V"},
		{"a peak above full scale", least + "[drive]\nvolts = 1\npeak = 3\n", "[drive] peak = 3; it lies from -120 to 0 dBFS"},
		{"a calibrator in tenths", least + "[calibrator]\nfile = \"a.wav\"\nlevel = 940\n", "[calibrator] level = 940; it lies from 60 to 140 dB SPL"},
		{"a resistor below zero", least + "[impedance]\nfile = \"a.wav\"\nseries = -10\n", "[impedance] series = -10"},
		{"a distance in centimetres", least + "[spill]\nbeside = \"a.wav\"\nmetres = 500\n", "[spill] metres = 500; it lies from 0.01 to 100 m"},
		{"two rivals chosen", least + strings.Repeat("[[rival]]\nsession = \"a\"\nchosen = true\n", 2), "rivals 1 and 2 are both chosen"},
		{"a date without quotes", "date = 2026-05-04\n" + least, "write the text in quotes: date = '2026-05-04'"},
		{"an impossible stimulus", least + "[stimulus]\nstart = 30000\n", "[stimulus]: sweep: stop frequency"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Decode([]byte(c.text))
			require.ErrorIs(t, err, ErrSession)
			assert.Contains(t, err.Error(), c.says)
			assert.Less(t, len(err.Error()), 400, "a few lines, however long the file")
		})
	}
}

// Sessions of before notes had sections.
func TestNotesWithoutSections(t *testing.T) {
	s, err := Decode([]byte("notes = 'light on the **head**'\n" + least))
	require.NoError(t, err)
	assert.Equal(t, map[string]string{"": "light on the **head**"}, s.Notes.sections())
	s, err = Decode([]byte(least + "[notes]\nsound = 'dark'\nprice = '90'\n"))
	require.NoError(t, err)
	assert.Equal(t, Notes{Sound: "dark", Price: "90"}, s.Notes)
}

func TestByteOrderMarkIsSkipped(t *testing.T) {
	s, err := Decode([]byte("\ufeff" + least))
	require.NoError(t, err)
	assert.Equal(t, "Finchale", s.Headphones.Name)
}

func TestReadNamesTheFile(t *testing.T) {
	folder := t.TempDir()
	_, err := Read(filepath.Join(folder, "none.toml"))
	require.ErrorIs(t, err, fs.ErrNotExist)
	assert.Contains(t, err.Error(), "none.toml")

	require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), []byte(least), 0o644))
	s, err := Read(folder)
	require.NoError(t, err, "a folder stands for the session.toml in it")
	assert.Equal(t, filepath.Join(folder, "direct.wav"), s.path("direct.wav"))

	huge := filepath.Join(folder, "huge.toml")
	require.NoError(t, os.WriteFile(huge, make([]byte, maxBytes+1), 0o644))
	_, err = Read(huge)
	require.ErrorIs(t, err, ErrSession)
}

// The bench receives the components that the session states.
func TestComponentsOfASession(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "coupler.txt"), []byte("20 0.5\n20000 1.5\n"), 0o600))
	s, err := Decode([]byte(`uncertainty = [
	{ name = "coupler", file = "coupler.txt", octaves = 0.5 },
	{ name = "samples", db = 0.9, count = 9 },
	{ name = "draught", db = 0.1, common_to = "seating", one_value = true },
]
` + least))
	require.NoError(t, err)
	s.folder = folder
	all, err := s.stated()
	require.NoError(t, err)
	require.Len(t, all, 3)
	assert.InDelta(t, 1.5, all[0].ByFrequency.At(20000), 1e-12, "dB; as written")
	assert.Equal(t, 0.5, all[0].Octaves)
	assert.InDelta(t, 0.3, all[1].Uncertainty, 1e-12, "0.9/√9; rounding")
	assert.Equal(t, 8.0, all[1].DegreesOfFreedom)
	assert.Equal(t, response.OneSeating, all[2].CommonTo)
	assert.True(t, math.IsInf(all[2].Octaves, 1))
	s.Uncertainty[0].File = "nowhere.txt"
	_, err = s.stated()
	assert.ErrorContains(t, err, "uncertainty coupler: ")
}

func FuzzDecode(f *testing.F) {
	f.Add([]byte(least))
	f.Add([]byte("[[claim]]\nwhat = 3"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > maxBytes {
			return
		}
		s, err := Decode(data)
		if err == nil {
			_, err = s.Stimulus.Build()
			assert.NoError(t, err, "a checked stimulus can be built")
		}
	})
}
