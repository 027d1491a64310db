package report_test

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
)

// The changes that reduce the session of the demonstration.
var (
	noMusic  = func(s *session.Session) { s.Programmes = nil }
	noClaims = func(s *session.Session) { s.Claims = nil }
	noTarget = func(s *session.Session) { s.Target = session.Target{} }
	noRivals = func(s *session.Session) { s.Rivals = nil }
	noBench  = func(s *session.Session) { s.ImpedanceFile, s.Isolation = session.ImpedanceFile{}, session.Isolation{} }
	silent   = func(s *session.Session) {
		s.Calibrator, s.Drive, s.Amplifier = session.Calibrator{}, session.Drive{}, session.Amplifier{}
	}
	// music and speech are all that there is
	noSweeps = func(s *session.Session) {
		s.Stimulus, s.Direct, s.Seatings = session.Stimulus{}, session.StereoFile{}, nil
		for i := range s.Programmes {
			p := &s.Programmes[i]
			p.Left, p.Right, p.Through = session.File{File: p.Through.File}, session.File{File: p.Through.File}, session.File{}
		}
	}
	once      = func(s *session.Session) { s.Seatings = s.Seatings[:1] }
	leftAlone = only(func(g *session.Seating) { g.Right = session.File{} })
	onlyRight = only(func(g *session.Seating) { g.Left = session.File{} })
)

func only(change func(*session.Seating)) func(*session.Session) {
	return func(s *session.Session) {
		for i := range s.Seatings {
			change(&s.Seatings[i])
		}
	}
}

func all(changes ...func(*session.Session)) func(*session.Session) {
	return func(s *session.Session) {
		for _, change := range changes {
			change(s)
		}
	}
}

// reduced are sessions from which something is missing: the texts that the page then has, and the
// sections that it leaves out.
var reduced = []struct {
	name   string
	change func(*session.Session)
	says   []string
	lacks  []string // ids of sections and plots
}{
	{"both sides and no more", all(noMusic, noClaims, noTarget, noRivals, noBench, silent),
		[]string{"Not part of this session: music and speech; manufacturer’s specifications; other pairs; a calibrator’s tone", "names no <a", "is compared with a flat response"},
		[]string{"programme", "programme-1", "claims", "rivals", "electrical", "noise", "loud"}},
	{"one seating", all(once, noMusic, noRivals),
		[]string{"only one seating", "put on once", "not how much another seating would differ", "includes only the noise and the stated components", "Not part of this session: music and speech; other pairs"}, []string{"programme", "rivals"}},
	{"the left side only", all(leftAlone, noRivals, noBench),
		[]string{"One side was recorded", "Not part of this session: the right side; other pairs; impedance"}, []string{"sides", "match", "distortion-right", "electrical", "noise"}},
	{"the right side only, once, and what others hear", func(s *session.Session) {
		all(onlyRight, once, noClaims, noMusic, noRivals)(s)
		s.Spill = session.Spill{Beside: "noise-covered.wav", Background: "noise-background.wav"}
	}, []string{"Not part of this session: the left side;", "Sound leakage", "at a distance of 0.5 m"}, []string{"sides", "match", "distortion-left", "claims"}},
	{"another pair for a target", func(s *session.Session) {
		all(noClaims, noRivals, noBench, silent)(s)
		s.Target.Pair = "tarrowby/session.toml"
	}, []string{"Tarrowby Quen", "a calibrator’s tone (so sound pressure levels"}, []string{"loud", "claims"}},
	{"music and speech alone", all(noSweeps, noRivals),
		[]string{"because the response comes from music and speech alone", "Channel balance (L−R)", "put on once", "The two sides have the same polarity", "the steady linear filter"},
		[]string{"harmonics", "time", "impulse", "rivals", "distortion-left"}},
	{"next to nothing", all(leftAlone, once, noMusic, noClaims, noTarget, noRivals, noBench, silent),
		[]string{"One side was recorded", "only one seating", "Not part of this session"}, []string{"sides", "programme", "claims", "rivals", "electrical", "noise", "loud"}},
}

var (
	script  = regexp.MustCompile(`(?s)<(script|style)>.*?</(script|style)>|data:image/(?:png|jpeg);base64,[^"]*`)
	heading = regexp.MustCompile(`<h2 id="([a-z]+)">`)
	tag     = regexp.MustCompile(`<[^>]*>`)
	linkTo  = regexp.MustCompile(`href="#([^"]*)"`)
	idOf    = regexp.MustCompile(`\bid="([^"]*)"`)
)

// wellMade checks what holds for every page, whatever is missing.
func wellMade(t *testing.T, text string) {
	t.Helper()
	text = script.ReplaceAllString(text, "")
	for _, wrong := range []string{"NaN", "Inf", "%!", "ZgotmplZ", "<no value>", "e+0", "1 seatings", " -0.", " -1."} {
		assert.NotContains(t, text, wrong)
	}
	ids := map[string]int{}
	for _, id := range idOf.FindAllStringSubmatch(text, -1) {
		ids[id[1]]++
		assert.Equal(t, 1, ids[id[1]], "id %s stands once", id[1])
	}
	for _, to := range linkTo.FindAllStringSubmatch(text, -1) {
		assert.Equal(t, 1, ids[to[1]], "a link leads to %s", to[1])
	}
	at := append(heading.FindAllStringIndex(text, -1), []int{len(text), len(text)})
	for i := range at[:len(at)-1] {
		words := strings.Fields(tag.ReplaceAllString(text[at[i][1]:at[i+1][0]], " "))
		assert.Greater(t, len(words), 12, "under %s stands something", text[at[i][0]:at[i][1]])
	}
	for _, cell := range []string{"<td></td>", "<li></li>", "<p></p>", "<tbody></tbody>", "<ul></ul>"} {
		assert.NotContains(t, strings.Join(strings.Fields(text), ""), cell, "no empty boxes")
	}
}

func TestReducedSessions(t *testing.T) {
	race.Skip(t)
	for i, c := range reduced {
		if !long.Enabled() && i+1 < len(reduced) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			data, err := os.ReadFile(page(t, c.name, c.change))
			require.NoError(t, err)
			text := string(data)
			wellMade(t, text)
			text = strings.ReplaceAll(text, "\u00a0", " ")
			for _, words := range c.says {
				assert.Contains(t, text, words)
			}
			for _, id := range c.lacks {
				assert.NotContains(t, text, fmt.Sprintf(`id="%s"`, id))
			}
			data, err = os.ReadFile(strings.Replace(page(t, c.name, c.change), "report.html", "report-de.html", 1))
			require.NoError(t, err)
			wellMade(t, string(data))
			assert.Contains(t, string(data), `<html lang="de">`)
			assert.NotContains(t, string(data), "%!", "package fmt found all that it was asked for")
			assert.NotRegexp(t, `\d\.\d+ dB rms`, string(data), "the decimal sign")
		})
	}
}
