package report_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/browser"
	"example.com/earnest/internal/testing/long"
)

// extreme returns the page of the short demonstration with other names and a multiple of its
// seatings.
func extreme(t *testing.T, pair, rig, rival string, times int) string {
	t.Helper()
	page(t, "whole", all()) // makes the recordings
	s, err := session.Read(short)
	require.NoError(t, err)
	r, err := s.Review(nil)
	require.NoError(t, err)
	r.About.Name, r.About.Title, r.About.Kind, r.Config.Rig = pair, pair, rival, rig
	for i := range r.Judgement.Ranking.Places {
		r.Judgement.Ranking.Places[i].Name = rival
	}
	for _, p := range r.Programmes {
		p.Name = rival
	}
	r.Seatings *= times
	for _, s := range r.Sides() {
		s.Seatings = slices.Repeat(s.Seatings, times)
		for _, one := range s.Seatings {
			one.Name = rival
		}
	}
	r.Judgement.Target.Name, r.Drive.AmplifierName = rival, rig
	to := filepath.Join(t.TempDir(), "report")
	require.NoError(t, report.Write(to, r, false))
	require.NoError(t, report.WriteTranslation(to, r, "de", false))
	return filepath.Join(to, "report.html")
}

// Extreme content fits a telephone and a desktop, with and without script.
func TestPagesOfExtremesInABrowser(t *testing.T) {
	long.Skip(t)
	v := browser.Visit(t)
	for name, path := range map[string]string{
		"forty seatings": extreme(t, "Wexcombe Ardle", "plate", "Ollerthwaite", 20),
		"long names":     extreme(t, strings.Repeat("Wexcombe", 25), strings.Repeat("plate of flatness ", 12), strings.Repeat("Ollerthwaite", 17), 1),
		"right to left":  extreme(t, "אוזניות לדוגמה (1)", "משטח ישר, דוגמה", "سماعات أخرى 2", 1),
		"German":         strings.Replace(page(t, "whole", all()), "report.html", "report-de.html", 1),
	} {
		for _, script := range []bool{true, false} {
			t.Run(name, func(t *testing.T) {
				v.Script(script)
				for _, screen := range [][2]int64{{390, 844}, {1400, 900}} {
					v.Do(chromedp.EmulateViewport(screen[0], screen[1]))
					v.Open("file://" + path)
					if !script {
						v.Do(chromedp.WaitVisible(chromedp.CSS("#response svg .plot-path")), chromedp.WaitVisible(chromedp.CSS("#seatings svg")))
						continue // nothing can be evaluated
					}
					assert.LessOrEqual(t, see[int64](v, "document.documentElement.scrollWidth"), screen[0], "nothing sticks out")
					assert.Empty(t, see[[]string](v, "crowded()"))
					assert.Empty(t, see[[]string](v, "faint(4.5, 3)"))
				}
			})
		}
	}
	assert.Empty(t, v.Said())
}
