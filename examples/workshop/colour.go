package main

import (
	"image/color"
	"math"

	"example.com/earnest/examples/report/plot"
)

// ramp maps levels to colours. Lightness changes in equal steps from page to ink, so equal steps in
// decibels look equal. The hue changes with it, from sand through green to blue.
type ramp []color.Color

var (
	onLight = newRamp(stop{0.985, 0.008, 90}, stop{0.80, 0.075, 115}, stop{0.615, 0.10, 165}, stop{0.43, 0.105, 235},
		stop{0.245, 0.09, 285})
	onDark = newRamp(stop{0.205, 0.012, 265}, stop{0.39, 0.09, 280}, stop{0.575, 0.105, 225}, stop{0.76, 0.11, 165},
		stop{0.945, 0.08, 105})
)

const shades = 256

// newRamp interpolates between the stops, spaced by their lightness.
func newRamp(stops ...stop) ramp {
	out := make(ramp, shades)
	for i := range out {
		at := float64(i) / (shades - 1) * float64(len(stops)-1)
		k := min(int(at), len(stops)-2)
		a, b, t := stops[k], stops[k+1], at-float64(k)
		mix := func(from, to float64) float64 { return from + t*(to-from) }
		out[i] = oklch(mix(a.lightness, b.lightness), mix(a.chroma, b.chroma), mix(a.hue, b.hue))
	}
	return out
}

// Lightness, chroma and hue (degrees) at both ends and between, in OKLab.
type stop struct{ lightness, chroma, hue float64 }

// oklch returns the sRGB colour of OKLab coordinates in polar form, with the hue in degrees.
func oklch(lightness, chroma, hue float64) color.Color {
	return plot.OKLab(lightness, chroma*math.Cos(hue*math.Pi/180), chroma*math.Sin(hue*math.Pi/180))
}
