package fitness

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
)

// Soft clipping behind the headphones turns a tone u sin φ, for slight compression, into
//
//	(u − 3b u³) sin φ + b u³ sin 3φ
//
// (NIST Digital Library of Mathematical Functions, 4.21): the third harmonic is the cube of the
// recorded fundamental, phase included. The third harmonic of the headphones themselves, or of a
// player, has also passed through their response at three times the frequency, and follows that.
const (
	bentLow, bentHigh = 150.0, 5000.0 // Hz
	bentAlike         = 0.75          // normalised correlation of the third harmonic with the cube
	bentAbove         = 4             // power of the third harmonic re its floor
	bentFewest        = 24            // bins
	// The slope of the third harmonic re the fundamental on the fundamental, in dB per dB, is 2 for
	// a cube. It is tested if the fundamental's level varies by bentVaries dB rms.
	bentFlattest, bentSteepest = 1.3, 3.2
	bentVaries                 = 1.0
	bentFollows                = 0.6 // correlation of the two
	// bentAhead is the largest error in dB that is acceptable from soft clipping in the headphones
	// themselves.
	bentAhead = 0.5
)

// bending is the relation of the third harmonic to the fundamental.
type bending struct {
	alike   float64 // real part of the normalised correlation with the cube
	ahead   float64 // the same with the response at the third harmonic, as from clipping ahead of it
	lost    float64 // of the response by clipping ahead of it, in dB
	slope   float64 // dB per dB
	follows float64
	varies  float64 // dB rms
	error   float64 // of the response where it is loudest, in dB
	third   float64 // re the fundamental there, in dB
}

// bentBy returns by how many dB soft clipping lowers the response at its loudest frequency, or 0 if
// no soft clipping is found.
func (c *channel) bentBy() (lost float64) {
	b, known := c.bending()
	if known && b.ahead > bentAlike {
		lost = max(lost, b.lost)
	}
	if known && b.alike > bentAlike {
		lost = max(lost, b.error)
	}
	return lost
}

// bending compares the third harmonic with the cube of the fundamental, in bins weighted so that
// each octave has the same weight.
func (c *channel) bending() (b bending, known bool) {
	s := c.swept()
	plan := c.plans.Plan(fft.FastLen(int(0.1 * c.fs)))
	bin := c.fs / float64(plan.Len())
	transformed := func(x []float64, zero float64) []complex128 {
		x, _ = c.gate(x, int(zero), harmonicBefore, harmonicAfter)
		out := plan.Forward(nil, x)
		for k := range out {
			out[k] *= cmplx.Rect(1, 2*math.Pi*float64(k)*zero/float64(plan.Len()))
		}
		return out
	}
	before := int(linearBefore*c.fs) - int(harmonicBefore*c.fs)
	span := min(int((harmonicBefore+harmonicAfter)*c.fs), len(s.linear)-before)
	zero := harmonicBefore * c.fs
	first := transformed(s.linear[before:before+span], math.Floor(linearBefore*c.fs)-float64(before))
	third := transformed(s.third, zero+s.thirdLate)
	between := transformed(s.between, math.Floor(zero))
	var cross, crossAhead complex128
	var square, cube, ahead float64
	var levels, ratios, weights []float64
	top := min(bentHigh, 0.95*c.Stimulus.Sweep().Stop()/3)
	loudest := 0.0
	for k, v := range first {
		f := float64(k) * bin
		if f > 2*bin && f < 0.8*c.Stimulus.Sweep().Stop() {
			loudest = max(loudest, cmplx.Abs(v))
		}
		if f < bentLow || f > top || 3*k+8 >= len(between) {
			continue
		}
		var floor float64
		for _, v := range between[3*k-8 : 3*k+8] {
			floor += fft.Power(v) / 16
		}
		if h := third[3*k]; fft.Power(h) > bentAbove*floor {
			w, u := 1/f, v*v*v
			cross += complex(w, 0) * h * cmplx.Conj(u)
			crossAhead += complex(w, 0) * h * cmplx.Conj(first[3*k])
			ahead += w * fft.Power(first[3*k])
			square += w * fft.Power(h)
			cube += w * fft.Power(u)
			levels = append(levels, decibel.OfAmplitude(cmplx.Abs(v)))
			ratios = append(ratios, decibel.OfAmplitude(cmplx.Abs(h/v)))
			weights = append(weights, w)
		}
	}
	if len(levels) < bentFewest {
		return b, false
	}
	b.alike = real(cross) / math.Sqrt(square*cube)
	b.ahead = real(crossAhead) / math.Sqrt(square*ahead)
	b.lost = decibel.PerNeper * 3 * real(crossAhead) / ahead
	_, b.slope = stat.LinearRegression(levels, ratios, weights, false)
	b.follows = stat.Correlation(levels, ratios, weights)
	b.varies = stat.PopStdDev(levels, weights)
	ratio := real(cross) / cube * loudest * loudest
	b.third, b.error = decibel.OfAmplitude(ratio), decibel.PerNeper*3*ratio
	return b, true
}

// detectSoftClipping finds an amplifier, a tape or a converter behind the headphones, or in the
// direct recording, that compresses loud peaks.
func detectSoftClipping(c *channel) []response.Finding {
	b, known := c.bending()
	if known && !c.Direct && b.ahead > bentAlike && b.lost > bentAhead {
		return c.finding(response.Finding{Kind: SoftClipping, Severity: response.Warning, Time: nowhere, Duration: nowhere,
			What: fmt.Sprintf("compresses its peaks (soft clipping) ahead of the headphones, or in them: "+
				"the third harmonic follows the response at all frequencies, "+
				"and the response is too low by about %.2g dB", b.lost),
			Remedy:  "lower the level of the player, and the amplifier's, and record again; if it remains, the headphones cause it",
			Figures: figures{"error": figure(b.lost, "dB")}})
	}
	if !known || !(b.alike > bentAlike) {
		return nil
	}
	if !c.Direct && !(b.varies > bentVaries && b.slope > bentFlattest && b.slope < bentSteepest &&
		b.follows > bentFollows) {
		return nil
	}
	severity := grade(b.error, worstError, 3*worstError)
	if severity == response.Note {
		return nil
	}
	return c.finding(response.Finding{Kind: SoftClipping, Severity: severity, Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("compresses its peaks (soft clipping): the third harmonic follows the cube of what was recorded, "+
			"to %s dB where it is loudest, and the response is too low there by about %.2g dB",
			signed(b.third, 0), b.error),
		Remedy: "lower the level ahead of the recorder, or of the player if the direct recording has it too, " +
			"and record again",
		Figures: figures{"third harmonic": figure(b.third, "dB"), "error": figure(b.error, "dB")}})
}
