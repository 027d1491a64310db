package plot

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Lightness as WCAG 2.2 has it rises from colour to colour, from nearly black to nearly white, so
// that paper without colour and every kind of colour vision keep the order.
func TestPaletteGrowsLighter(t *testing.T) {
	light := func(c color.Color) float64 {
		n := c.(color.NRGBA)
		of := func(v uint8) float64 {
			x := float64(v) / 255
			if x <= 0.04045 {
				return x / 12.92
			}
			return math.Pow((x+0.055)/1.055, 2.4)
		}
		return 0.2126*of(n.R) + 0.7152*of(n.G) + 0.0722*of(n.B)
	}
	require.Len(t, palette, shades+1)
	for k := 1; k < shades; k++ {
		assert.Greater(t, light(palette[k]), light(palette[k-1]), "colour %d", k)
	}
	assert.Greater(t, (light(palette[shades-1])+0.05)/(light(palette[0])+0.05), 12.0)
}

// OKLab's grey of lightness 1 is white, by its definition.
func TestOKLabWhite(t *testing.T) {
	assert.Equal(t, color.NRGBA{255, 255, 255, 255}, OKLab(1, 0, 0))
	assert.Equal(t, color.NRGBA{0, 0, 0, 255}, OKLab(0, 0, 0))
}

func TestRasterIsDrawn(t *testing.T) {
	p := simple()
	p.Series = nil
	p.Raster = &Raster{Values: [][]float64{{0, math.NaN()}, {1, 2}}, Left: p.X.Min, Right: p.X.Max, Bottom: p.Y.Min, Top: p.Y.Max, Min: 0, Max: 2, Label: "level", Unit: "dB"}
	require.False(t, p.Empty())
	figure, err := Figure(p)
	require.NoError(t, err)
	assert.Contains(t, string(figure), `href="data:image/png;base64,`)
	assert.Contains(t, string(figure), "level, dB")
	assert.NotContains(t, string(figure), "plot-legend")
	p.Raster.Values = [][]float64{{math.NaN()}}
	assert.True(t, p.Empty())
	p.Raster.Max = 0
	_, err = SVG(p)
	assert.ErrorContains(t, err, "scale that rises")
}
