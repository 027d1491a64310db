package programme

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
)

// A steady tone that is not part of the material, such as the whistle of a power supply, biases the
// response: in the direct recording it counts as material that does not come through, and in both
// recordings the ratio of the two tones counts as the response. In the other recording alone it is
// residual. Its bins are left out.
const (
	// toneProminence is the least power of the bin of a tone, re the median of the bins beside it.
	toneProminence = 4
	// toneNearest and toneFarthest bound the bins beside a tone, from its reach on: clear of the
	// main lobe of a Hann window, and close enough for the response to be the same.
	toneNearest, toneFarthest = 4, 11
	// toneLeast is the least share of its mean power, or of its median amplitude, that a steady
	// tone has. toneLess is the greatest share of the time in which it may have less: the material
	// may cancel it there.
	toneLeast, toneLess = 0.7, 0.125
	// toneUnlike is the least difference between the response at a tone and that beside it, as a
	// share of the latter, at which the tone is not part of the material. toneCoherent is the
	// coherence from which on the response beside it is known.
	toneUnlike, toneCoherent = 0.3, 0.3
	// toneApart is the least distance of two tones that are named, re their frequency: two
	// resolutions find one tone.
	toneApart = 0.01
	// toneFrames is the greatest number of frames in which a tone is looked for.
	toneFrames = 400
	// loudTone is the level in dB re the recording from which on a tone gives a warning.
	loudTone = -50
)

// toneReaches are the bins on either side over which a tone may wander.
var toneReaches = []int{1, 5}

// tone is a steady tone in a recording that is not part of the material.
type tone struct {
	frequency float64 // Hz
	level     float64 // dB re the recording, both rms
}

// leaveOutTones leaves out the bins in which a recording holds a steady tone that is not part of
// the material, and adds these tones to those of the pass, direct and through.
func (p *pass) leaveOutTones(t *resolution) {
	if len(t.groups) < humPieces {
		return
	}
	signals := [2][]float64{p.direct, p.through}
	powers := [2]func(*sums, int) float64{directPower, throughPower}
	for i, power := range powers {
		last := math.Inf(-1)
		for k := 2 * toneFarthest; k+2*toneFarthest < len(t.hum); k++ {
			for _, reach := range toneReaches {
				if float64(k) < last+float64(reach+toneNearest) || !t.isLine(k, reach, power) ||
					!t.isForeign(k, reach, i == 1) {
					continue
				}
				f := t.frequencyOf(k, power)
				if !isSteady(signals[i], t.rate*float64(t.factor), f, shortest/float64(reach)) {
					continue
				}
				last = float64(k)
				for bin := range t.hum {
					nearest := min(max(bin, k-reach+1), k+reach-1)
					t.hum[bin] = t.hum[bin] || t.spreads(k, k+bin-nearest, power)
				}
				named := func(o tone) bool { return math.Abs(o.frequency/f-1) < toneApart }
				if !slices.ContainsFunc(p.tones[i], named) {
					re := p.levels[i].power / float64(p.shared)
					p.tones[i] = append(p.tones[i], tone{f, decibel.OfPower(t.powerOf(k, reach, power) / re)})
				}
			}
		}
	}
}

// isLine reports whether a bin holds the peak of a line that is there in nearly all pieces of time,
// and wanders over the bins within its reach.
func (t *resolution) isLine(k, reach int, power func(*sums, int) float64) bool {
	at := power(t.total, k)
	for d := 1; d <= reach+1; d++ {
		if power(t.total, k-d) >= at || power(t.total, k+d) > at {
			return false
		}
	}
	if !(at > toneProminence*t.beside(k, reach, power)) {
		return false
	}
	of := func(s *sums) (sum float64) {
		for i := k - reach; i <= k+reach; i++ {
			sum += power(s, i) / float64(s.count)
		}
		return sum
	}
	mean, less := of(t.total), 0
	for _, g := range t.groups {
		if of(g) < toneLeast*mean {
			less++
		}
	}
	return float64(less) <= toneLess*float64(len(t.groups))
}

// beside returns the median power of the bins beside a line.
func (t *resolution) beside(k, reach int, power func(*sums, int) float64) float64 {
	var all []float64
	for d := reach + toneNearest; d <= reach+toneFarthest; d++ {
		all = append(all, power(t.total, k-d), power(t.total, k+d))
	}
	return statistic.Median(all)
}

// isForeign reports whether a line is not part of the material: the material beside it is not
// known, or the response at the line is another one. A line in the other recording alone has no
// response.
func (t *resolution) isForeign(k, reach int, through bool) bool {
	at, near := t.response(k, 0, reach), t.response(k, reach+toneNearest, reach+toneFarthest)
	switch {
	case near.coherence < toneCoherent:
		return true
	case through:
		return at.coherence < 0.5
	}
	return cmplx.Abs(at.h1-near.h1) > toneUnlike*cmplx.Abs(near.h1)
}

// response returns the response over the bins that lie nearest to farthest bins from bin k.
func (t *resolution) response(k, nearest, farthest int) (e estimate) {
	var xx, yy float64
	var xy complex128
	for i := k - farthest; i <= k+farthest; i++ {
		if max(i-k, k-i) >= nearest {
			xx, yy, xy = xx+t.total.xx[i], yy+t.total.yy[i], xy+t.total.xy[i]
		}
	}
	return estimate{h1: h1(xx, xy), coherence: coherence(xx, yy, xy)}
}

// frequencyOf returns the frequency in Hz of a line: the centroid of the power of three bins.
func (t *resolution) frequencyOf(k int, power func(*sums, int) float64) float64 {
	a, b, c := power(t.total, k-1), power(t.total, k), power(t.total, k+1)
	return (float64(k) + (c-a)/(a+b+c)) * t.rate / float64(t.n)
}

// powerOf returns the power of a line re full scale squared.
func (t *resolution) powerOf(k, reach int, power func(*sums, int) float64) (sum float64) {
	floor := t.beside(k, reach, power)
	for i := k - reach - 1; i <= k+reach+1; i++ {
		sum += power(t.total, i) - floor
	}
	return sum * t.density() * t.rate / float64(t.n)
}

// isSteady reports whether a tone has about the same amplitude throughout a signal, unlike a note
// or noise. It looks at frames of a length in seconds under a Hann window.
func isSteady(x []float64, sampleRate, frequency, length float64) bool {
	n := int(length * sampleRate)
	window, frames := taper.Hann(n), min(toneFrames, len(x)/n)
	turn := cmplx.Rect(1, -2*math.Pi*frequency/sampleRate)
	var amplitudes []float64
	for i := range frames {
		at := (len(x) - n) * i / max(1, frames-1)
		phasor, sum := complex(1, 0), complex(0, 0)
		for j, w := range window {
			sum += complex(w*x[at+j], 0) * phasor
			phasor *= turn
		}
		amplitudes = append(amplitudes, cmplx.Abs(sum))
	}
	median, away := statistic.Median(amplitudes), 0
	for _, a := range amplitudes {
		if a < toneLeast*median || a > median/toneLeast {
			away++
		}
	}
	return frames >= humPieces && float64(away) <= 2*toneLess*float64(frames)
}

// tonesFinding returns the finding about the tones of a recording.
func tonesFinding(name string, tones []tone) response.Finding {
	loudest := slices.MaxFunc(tones, func(a, b tone) int { return int(math.Copysign(1, a.level-b.level)) })
	f := response.Finding{Recording: name, Kind: SteadyTone, Severity: response.Note,
		Time: math.NaN(), Duration: math.NaN(),
		Figures: map[string]response.Figure{"frequency": {Value: loudest.frequency, Unit: "Hz"},
			"level": {Value: loudest.level, Unit: "dB"}},
		What: fmt.Sprintf("%s holds a steady tone at %s, %.0f dB re the recording, that is not part of the material",
			name, response.FormatFrequency(loudest.frequency), loudest.level)}
	if n := len(tones); n > 1 {
		f.What = fmt.Sprintf("%s holds %d steady tones that are not part of the material, the loudest at %s, %.0f dB re the "+
			"recording", name, n, response.FormatFrequency(loudest.frequency), loudest.level)
	}
	f.What += ": its frequencies are left out of the comparison. Find what whistles (a power supply, a fan, a computer), " +
		"and record again."
	if loudest.level > loudTone {
		f.Severity = response.Warning
	}
	return f
}
