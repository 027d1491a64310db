package main

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Colours whose OKLCh coordinates CSS Color Module Level 4 states (from
// memory): oklch(51.975% 0.17686 142.495) is green, #008000.
func TestOKLChColoursOfCSSColor4(t *testing.T) {
	for _, test := range []struct {
		name                   string
		lightness, chroma, hue float64
		want                   color.NRGBA
	}{
		{"white", 1, 0, 0, color.NRGBA{255, 255, 255, 255}},
		{"black", 0, 0, 0, color.NRGBA{0, 0, 0, 255}},
		{"green", 0.51975, 0.17686, 142.495, color.NRGBA{0, 128, 0, 255}},
		{"red", 0.62796, 0.25768, 29.234, color.NRGBA{255, 0, 0, 255}},
		{"blue", 0.45201, 0.31321, 264.052, color.NRGBA{0, 0, 255, 255}},
	} {
		assert.Equal(t, test.want, oklch(test.lightness, test.chroma, test.hue), test.name)
	}
}

// Equal steps in level are about equal steps in lightness by CIE 15, another
// measure than the one the map is made in, and never go back.
func TestTheRampsAreEven(t *testing.T) {
	for name, r := range map[string]ramp{"on light": onLight, "on dark": onDark} {
		total := cieLightness(r[shades-1]) - cieLightness(r[0])
		assert.Greater(t, math.Abs(total), 70.0, "%s: uses most of the range", name)
		const step = shades / 16
		for i := step; i < shades; i += step {
			share := (cieLightness(r[i]) - cieLightness(r[i-step])) / total * 16
			assert.InDelta(t, 1, share, 0.35, "%s at %d: the two measures differ by a third for strong colours", name, i)
		}
	}
}

// cieLightness is L* of CIE 15, from the luminance of sRGB (IEC 61966-2-1).
func cieLightness(c color.Color) float64 {
	r, g, b, _ := c.RGBA()
	linear := func(v uint32) float64 {
		x := float64(v) / 65535
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	y := 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}
