package plot

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// linear is the light of a channel, 0 to 1, by the curve of sRGB as WCAG 2.2 gives
// it in its definition of relative luminance.
func linear(t *testing.T, colour string) [3]float64 {
	t.Helper()
	var rgb [3]int
	_, err := fmt.Sscanf(colour, "#%02x%02x%02x", &rgb[0], &rgb[1], &rgb[2])
	require.NoError(t, err)
	var out [3]float64
	for i, v := range rgb {
		c := float64(v) / 255
		if c <= 0.04045 {
			out[i] = c / 12.92
		} else {
			out[i] = math.Pow((c+0.055)/1.055, 2.4)
		}
	}
	return out
}

func contrast(t *testing.T, a, b string) float64 {
	luminance := func(c string) float64 {
		rgb := linear(t, c)
		return 0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2]
	}
	high, low := max(luminance(a), luminance(b)), min(luminance(a), luminance(b))
	return (high + 0.05) / (low + 0.05)
}

func TestContrastWCAG(t *testing.T) {
	assert.InDelta(t, 21, contrast(t, "#000000", "#ffffff"), 1e-9, "the formula itself: black on white is 21:1")
	assert.InDelta(t, 4.48, contrast(t, "#777777", "#ffffff"), 0.005, "and #777 on white the well-known near miss, 4.48:1 (from memory)")
	for i, s := range styles {
		assert.GreaterOrEqual(t, contrast(t, s.light, light.paper), 4.5, "style %d on light, also a label's colour", i)
		assert.GreaterOrEqual(t, contrast(t, s.dark, dark.paper), 4.5, "style %d on dark", i)
	}
	for name, th := range map[string]theme{"light": light, "dark": dark} {
		assert.GreaterOrEqual(t, contrast(t, th.ink, th.paper), 7.0, "%s ink", name)
		assert.GreaterOrEqual(t, contrast(t, th.quiet, th.paper), 4.5, "%s quiet text", name)
		assert.Less(t, contrast(t, th.decade, th.paper), 2.5, "%s: the grid stays behind the curves", name)
	}
}

// These matrices map red and green to what dichromats see: Viénot, Brettel, Mollon, Color Research
// and Application 24(4), 1999, on linear RGB (matrices from memory, rounded). The distance is that
// of CIE 1976 L*a*b*, where 2.3 can just be noticed; dashes distinguish the curves even without a
// difference in colour.
func TestPaletteForColourBlindReaders(t *testing.T) {
	sights := map[string][3][3]float64{
		"normal":       {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
		"protanopia":   {{0.1124, 0.8876, 0}, {0.1124, 0.8876, 0}, {0.0040, -0.0040, 1}},
		"deuteranopia": {{0.2928, 0.7072, 0}, {0.2928, 0.7072, 0}, {-0.0223, 0.0223, 1}},
	}
	for name, sight := range sights {
		for _, dark := range []bool{false, true} {
			for i := range styles {
				for j := range i {
					a, b := styles[i].light, styles[j].light
					if dark {
						a, b = styles[i].dark, styles[j].dark
					}
					d := distance(lab(sight, linear(t, a)), lab(sight, linear(t, b)))
					assert.Greater(t, d, 10.0, "%s: styles %d and %d, dark %v", name, i, j, dark)
				}
			}
		}
	}
}

// lab is CIE L*a*b* under D65 of a linear sRGB colour as seen.
func lab(sight [3][3]float64, rgb [3]float64) [3]float64 {
	var seen [3]float64
	for i := range seen {
		for j := range rgb {
			seen[i] += sight[i][j] * rgb[j]
		}
		seen[i] = max(0, min(1, seen[i]))
	}
	f := func(v float64) float64 {
		if v > 216.0/24389 {
			return math.Cbrt(v)
		}
		return (24389.0/27*v + 16) / 116
	}
	x := f((0.4124*seen[0] + 0.3576*seen[1] + 0.1805*seen[2]) / 0.9505)
	y := f(0.2126*seen[0] + 0.7152*seen[1] + 0.0722*seen[2])
	z := f((0.0193*seen[0] + 0.1192*seen[1] + 0.9505*seen[2]) / 1.089)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

func distance(a, b [3]float64) float64 {
	return math.Sqrt(math.Pow(a[0]-b[0], 2) + math.Pow(a[1]-b[1], 2) + math.Pow(a[2]-b[2], 2))
}

// No two styles share a line: the dash, the weight or the markers differ.
func TestStylesDifferInMoreThanColour(t *testing.T) {
	seen := map[string]int{}
	for i, s := range styles {
		look := fmt.Sprint(s.marked)
		for _, line := range strings.Split(css, "\n") {
			if rest, ok := strings.CutPrefix(line, fmt.Sprintf(".plot-s%d{", i)); ok {
				look += rest
			}
		}
		other, ok := seen[look]
		assert.False(t, ok, "styles %d and %d look alike: %s", other, i, look)
		seen[look] = i
	}
}

func TestStyleSheet(t *testing.T) {
	sheet := string(CSS())
	assert.Contains(t, sheet, "prefers-color-scheme:dark")
	assert.Contains(t, sheet, "@media print")
	assert.Contains(t, sheet, "--plot-5:"+styles[5].light)
	assert.Contains(t, sheet, "--plot-5:"+styles[5].dark)
	assert.Equal(t, strings.Count(sheet, "{"), strings.Count(sheet, "}"))
	for _, outside := range []string{"url(", "http:", "https:", "@import", "</style"} {
		assert.NotContains(t, sheet, outside)
	}
	assert.NotContains(t, string(Script(English)), "</script")
}
