package plot

import (
	"bytes"
	"encoding/xml"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// count counts the pixels of a colour, within a step or two of it.
func count(picture image.Image, want color.Color) (n int) {
	near := func(a, b uint32) bool { return math.Abs(float64(a)-float64(b)) < 600 }
	r, g, b, _ := want.RGBA()
	for y := range picture.Bounds().Dy() {
		for x := range picture.Bounds().Dx() {
			pr, pg, pb, _ := picture.At(x, y).RGBA()
			if near(r, pr) && near(g, pg) && near(b, pb) {
				n++
			}
		}
	}
	return n
}

func TestPictureForVideo(t *testing.T) {
	p := simple()
	p.Unknown = []Stretch{{p.X.Min, 40, "not known"}}
	for _, isDark := range []bool{false, true} {
		var out bytes.Buffer
		require.NoError(t, WritePicture(&out, p, Picture{Format: "png", Dark: isDark, Line: "a rig"}))
		picture, err := png.Decode(&out)
		require.NoError(t, err)
		assert.Equal(t, image.Rect(0, 0, 1920, 1080), picture.Bounds())
		paper, curve := light.paper, styles[p.Series[0].Style].light
		if isDark {
			paper, curve = dark.paper, styles[p.Series[0].Style].dark
		}
		assert.Greater(t, count(picture, hex(paper, 255)), 1920*1080/2, "mostly paper")
		assert.Greater(t, count(picture, hex(curve, 255)), 500, "and the curve")
	}
}

func TestPictureForPrint(t *testing.T) {
	p := simple()
	p.Unknown = []Stretch{{p.X.Min, 2000, "not known"}}
	var out bytes.Buffer
	require.NoError(t, WritePicture(&out, p, Picture{Format: "svg", Column: true, Line: "on a rig & more"}))
	var words strings.Builder
	for decoder := xml.NewDecoder(&out); ; {
		token, err := decoder.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		if text, is := token.(xml.CharData); is {
			words.Write(text)
		}
	}
	for _, want := range []string{p.Title, p.X.title(), p.Y.title(), "not known", "on a rig & more", "1k"} {
		assert.Contains(t, words.String(), want)
	}
	assert.ErrorContains(t, WritePicture(io.Discard, p, Picture{Format: "gif"}), "svg and png")
}

// One decade is as long as 50, 25 or 10 dB (IEC 60263, from memory), whatever the shape of the
// picture.
func TestPictureKeepsIEC60263(t *testing.T) {
	for _, span := range []float64{8, 30, 70, 110} {
		p := simple()
		p.Y.Min, p.Y.Max = -span/2, span/2
		d := painter{height: 810, text: 25}
		d.place(&p, 1440, 1)
		decibels := (p.Y.Max - p.Y.Min) / d.frame.height * d.frame.width / p.X.decades()
		assert.Contains(t, []float64{10, 25, 50}, math.Round(decibels*1e6)/1e6, "rounding")
		assert.GreaterOrEqual(t, p.Y.Max, span/2)
	}
}
