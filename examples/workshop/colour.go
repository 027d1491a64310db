package main

import (
	"image/color"
	"math"
)

// ramp is a map from level to colour: lightness goes in equal steps from the
// page to the ink, so that equal steps in decibels look equal, and the hue
// turns with it, from sand by green to blue.
type ramp []color.Color

// Lightness, chroma and hue (degrees) at both ends and between, in OKLab.
type stop struct{ lightness, chroma, hue float64 }

var (
	onLight = newRamp(stop{0.985, 0.008, 90}, stop{0.80, 0.075, 115}, stop{0.615, 0.10, 165}, stop{0.43, 0.105, 235},
		stop{0.245, 0.09, 285})
	onDark = newRamp(stop{0.205, 0.012, 265}, stop{0.39, 0.09, 280}, stop{0.575, 0.105, 225}, stop{0.76, 0.11, 165},
		stop{0.945, 0.08, 105})
)

const shades = 256

// newRamp goes through the stops, which are as far apart as their lightness is.
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

// oklch is the sRGB colour of OKLab coordinates in polar form (B. Ottosson, "A
// perceptual color space for image processing", 2020; matrices from memory).
func oklch(lightness, chroma, hue float64) color.Color {
	a, b := chroma*math.Cos(hue*math.Pi/180), chroma*math.Sin(hue*math.Pi/180)
	l := cube(lightness + 0.3963377774*a + 0.2158037573*b)
	m := cube(lightness - 0.1055613458*a - 0.0638541728*b)
	s := cube(lightness - 0.0894841775*a - 1.2914855480*b)
	return color.RGBA{
		gamma(4.0767416621*l - 3.3077115913*m + 0.2309699292*s),
		gamma(-1.2684380046*l + 2.6097574011*m - 0.3413193965*s),
		gamma(-0.0041960863*l - 0.7034186147*m + 1.7076147010*s),
		255,
	}
}

func cube(x float64) float64 { return x * x * x }

// gamma is the transfer function of sRGB (IEC 61966-2-1), to a byte.
func gamma(linear float64) uint8 {
	v := 12.92 * linear
	if linear > 0.0031308 {
		v = 1.055*math.Pow(linear, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * min(1, max(0, v))))
}
