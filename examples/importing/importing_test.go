// Package importing compiles and runs the programs that the pages show, in a module of their own,
// as anybody who imports earnest would. It checks the links and commands of the pages, and the
// texts of the findings and errors that they quote.
package importing

import (
	"example.com/earnest/internal/testing/long"
	"fmt"
	"go/format"
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// caution is the caution that a report must contain.
const caution = level.Caution

// stranger is a module elsewhere that imports earnest.
type stranger struct {
	t      *testing.T
	folder string
}

func newStranger(t *testing.T) *stranger {
	root := root(t)
	s := &stranger{t, t.TempDir()}
	sums, err := os.ReadFile(filepath.Join(root, "go.sum"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(s.folder, "go.sum"), sums, 0o644))
	s.run("mod", "init", "example.org/my-report")
	s.run("mod", "edit", "-require", "example.com/earnest@v0.0.0", "-replace", "example.com/earnest="+root)
	return s
}

func (s *stranger) run(args ...string) {
	command := exec.Command("go", args...)
	command.Dir = s.folder
	// All modules are in the cache, since the tests compile with them.
	command.Env = append(os.Environ(), "GOFLAGS=-mod=mod", "GOPROXY=off", "GOWORK=off")
	out, err := command.CombinedOutput()
	require.NoError(s.t, err, "go %s: %s", strings.Join(args, " "), out)
}

// program builds a program and returns its path.
func (s *stranger) program(name, code string) string {
	require.NoError(s.t, os.MkdirAll(filepath.Join(s.folder, name), 0o755))
	require.NoError(s.t, os.WriteFile(filepath.Join(s.folder, name, "main.go"), []byte(code), 0o644))
	path := filepath.Join(s.folder, name, "program")
	s.run("build", "-o", path, "./"+name)
	return path
}

// decibels returns the level of a true response of the rig.
func decibels(h complex128) float64 { return 20 * math.Log10(cmplx.Abs(h)) }

// trueTHD is the distortion relative to the fundamental, as a ratio, that the rig gives a steady
// tone of −12 dBFS.
func trueTHD(r rig.Rig, h rig.Headphones, side rig.Side, f float64) float64 {
	amplitude := math.Pow(10, -12.0/20)
	sum := 0.0
	for n := 2; n <= 5; n++ {
		sum += math.Pow(cmplx.Abs(r.Harmonic(h, side, 0, n, f, amplitude)), 2)
	}
	return math.Sqrt(sum) / cmplx.Abs(r.Harmonic(h, side, 0, 1, f, amplitude))
}

func TestReportOfTheReadme(t *testing.T) {
	long.Skip(t)
	page := readPage(t, filepath.Join(root(t), "README.md"))
	programs := page.blocks("go")
	require.Len(t, programs, 1)
	code := programs[0]
	assert.LessOrEqual(t, strings.Count(code, "\n"), 60, "lines")
	formatted, err := format.Source([]byte(code))
	require.NoError(t, err)
	assert.Equal(t, string(formatted), code, "as gofmt writes it")
	program := newStranger(t).program("report", code)

	folder := t.TempDir()
	const seatings = 2
	require.NoError(t, demo.Write(folder, demo.Options{Seconds: 1.5, Seatings: seatings, Material: -1, Alone: true}, func(string) {}))
	out, err := exec.Command(program, folder).CombinedOutput()
	require.NoError(t, err, string(out))

	h, _, r := rig.Demonstration()
	r.Microphone = nil // the session takes it off
	assert.Contains(t, string(out), "# "+h.Name+"\n")
	assert.Contains(t, string(out), caution)
	rows, distortions := 0, 0
	var side rig.Side
	for _, line := range strings.Split(string(out), "\n") {
		switch {
		case strings.HasPrefix(line, "## left"):
			side = rig.Left
		case strings.HasPrefix(line, "## right"):
			side = rig.Right
		}
		if m := regexp.MustCompile(`^\| ([0-9.]+) \| (.*) \| (.*) \|$`).FindStringSubmatch(line); m != nil {
			rows++
			checkRow(t, r, h, side, seatings, number(t, m[1]), m[2], m[3])
		}
		if m := regexp.MustCompile(`^Distortion at 1 kHz: ([0-9.]+) % with u = ([0-9.]+) %$`).FindStringSubmatch(line); m != nil {
			distortions++
			assert.InDelta(t, 100*trueTHD(r, h, side, 1000), number(t, m[1]), 3*number(t, m[2]), "%%; three of the standard uncertainties it states")
		}
	}
	assert.Equal(t, 2*32, rows, "third octaves from 20 Hz to 25 kHz, on both sides")
	assert.Equal(t, 2, distortions)

	// If the direct recording is missing, the error says so and what to do.
	require.NoError(t, os.Remove(filepath.Join(folder, "direct.wav")))
	out, err = exec.Command(program, folder).CombinedOutput()
	require.Error(t, err)
	assert.Regexp(t, `session: \[direct\]: .*direct.wav: file does not exist; check the name`, string(out))
}

// checkRow compares a third octave of the report with the rig's own curve.
func checkRow(t *testing.T, r rig.Rig, h rig.Headphones, side rig.Side, seatings int, nominal float64, level, deviation string) {
	if nominal < 25 || nominal > 20000 {
		assert.Equal(t, []string{"not known", "not known"}, []string{level, deviation}, "%v Hz was not measured", nominal)
		return
	}
	exact := 1000 * math.Pow(10, math.Round(10*math.Log10(nominal/1000))/10) // IEC 61260-1
	truth := 0.0
	for i := range seatings {
		truth += decibels(r.Truth(h, side, i, exact)) / float64(seatings)
	}
	got := number(t, strings.Fields(level)[0])
	assert.InDelta(t, truth, got, 0.5, "dB at %v Hz, %v; smoothing over 1/12 octave, the plate's ripple, the microphone's file in third octaves", nominal, side)
	assert.Regexp(t, `^-?[0-9.]+ dB with u = [0-9.]+ dB$`, deviation)
}

func number(t *testing.T, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// The program without a session file runs on recordings whose results are known.
func TestProgramWithoutSession(t *testing.T) {
	long.Skip(t)
	programs := readPage(t, filepath.Join(root(t), "examples/importing/README.md")).blocks("go")
	require.Len(t, programs, 1)
	assert.LessOrEqual(t, strings.Count(programs[0], "\n"), 60, "lines")
	program := newStranger(t).program("review", programs[0])

	s, err := sweep.New(sweep.Config{Start: 20, Stop: 20000, Duration: 6 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(t, err)
	h, _, r := rig.Demonstration()
	folder := t.TempDir()
	save := func(name string, channels [][]float64) {
		recording := &capture.Recording{Name: name, SampleRate: 48000, Format: capture.Format{Bits: 24}, Channels: channels}
		require.NoError(t, capture.Write(filepath.Join(folder, name), recording, capture.WriteConfig{Overwrite: true}))
	}
	save("direct.wav", r.Direct(stimulus.Channels()))
	for i, name := range []string{"first.wav", "second.wav", "third.wav"} {
		save(name, r.Through(h, i, stimulus.Channels()))
	}
	out, err := command(program, folder, "first.wav", "second.wav", "third.wav").CombinedOutput()
	require.NoError(t, err, string(out))
	lines := regexp.MustCompile(`(left|right), ([0-9]+) Hz: (-?[0-9.]+) dB with u = ([0-9.]+) dB, distortion ([0-9.]+) % with u = ([0-9.]+) %, floor ([0-9.e-]+) %\n`).FindAllStringSubmatch(string(out), -1)
	require.Len(t, lines, 6, string(out))
	assert.Contains(t, string(out), caution)
	for _, m := range lines {
		side, f := map[string]rig.Side{"left": rig.Left, "right": rig.Right}[m[1]], number(t, m[2])
		var level, distortion float64
		for i := range 3 {
			level += decibels(r.Truth(h, side, i, f)) / 3
		}
		distortion = 100 * trueTHD(r, h, side, f)
		assert.InDelta(t, level, number(t, m[3]), 0.5, "dB; smoothing over 1/12 octave, the plate's ripple; %s", m[0])
		assert.GreaterOrEqual(t, number(t, m[4]), 0.3, "dB; what the rig adds is in it")
		assert.InDelta(t, distortion, number(t, m[5]), 4*number(t, m[6])+0.02*distortion, "%%; four standard uncertainties of three seatings, and the level at each; %s", m[0])
		assert.Less(t, number(t, m[7]), distortion, "%%; the reading stands above its floor")
	}

	// A seating that is not fit is left out and reported, and the others are measured.
	clipped := r.Through(h, 1, stimulus.Channels())
	for k := range clipped {
		for i, v := range clipped[k] {
			clipped[k][i] = math.Max(-1, math.Min(1, 40*v))
		}
	}
	save("second.wav", clipped)
	out, err = command(program, folder, "first.wav", "second.wav", "third.wav").CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Regexp(t, `second.wav, left side: .*\n.*clips`, string(out))
	assert.Contains(t, string(out), "right, 1000 Hz: ")
}

func command(program, folder string, args ...string) *exec.Cmd {
	c := exec.Command(program, args...)
	c.Dir = folder
	return c
}

// Programs on other pages compile too.
func TestProgramsOnPagesCompile(t *testing.T) {
	var s *stranger
	for _, page := range pages(t) {
		if name := page.name(t); name == "README.md" || name == "examples/importing/README.md" {
			continue // they are run
		}
		for i, code := range page.blocks("go") {
			if s == nil {
				s = newStranger(t)
			}
			s.program(fmt.Sprintf("block%d", i), code)
		}
	}
}
