package fitness

import (
	"fmt"
	"math"

	"github.com/mjibson/go-dsp/window"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// bandLevel is the level in dB of a band of a twenty-fourth of an octave.
type bandLevel struct{ frequency, level float64 }

// bandsPerOctave makes a sixth of an octave four bands.
const bandsPerOctave = 24

// bands returns the levels from a twelfth of half the sample rate up: of the response to the sweep,
// or the mean of any other sound.
func (c *channel) bands() []bandLevel {
	top := 0.98 * c.fs / 2
	var s *spectrum
	if c.placed != nil { // the response itself, without the images of a poor conversion
		top = 0.97 * c.Stimulus.Sweep().Stop()
		h, _ := c.gate(c.swept().linear, int(linearBefore*c.fs), harmonicBefore, harmonicAfter)
		s = c.powerOf(h, 1)
	} else {
		s = c.longTerm()
	}
	var out []bandLevel
	for f := c.fs / 24; f < top; f *= math.Exp2(1.0 / bandsPerOctave) {
		power := stat.Mean(s.around(f, math.Exp2(0.5/bandsPerOctave), 1), nil)
		out = append(out, bandLevel{f, decibel.OfPower(max(1e-30, power))})
	}
	return out
}

// madeAt returns the usual sample rate whose half lies a little above the cutoff, if the noise has
// the same cutoff as the sound.
func (c *channel) madeAt(cutoff float64) (rate int, ok bool) {
	for _, r := range []int{8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000} {
		if half := float64(r) / 2; cutoff > 0.86*half && cutoff < 1.04*half && r < c.Recording.SampleRate {
			rate = r
			break
		}
	}
	if rate == 0 {
		return 0, false
	}
	still := c.quietSpectrum()
	if still == nil {
		return rate, true
	}
	low, high := 1.15*cutoff, 0.95*c.fs/2
	below, above := statistic.Median(still.around(0.75*cutoff, 1.15, 8)),
		statistic.Median(still.around(math.Sqrt(low*high), math.Sqrt(high/low), 8))
	return rate, above < below/30
}

// longTerm returns the summed power spectrum of up to 400 stretches of 2048 samples, spread over
// the channel, each under a Hann window.
func (c *channel) longTerm() *spectrum {
	const n, most = 2048, 400
	p, weights := c.plans.Plan(n), window.Hann(n)
	s := &spectrum{make([]float64, p.Bins()), c.fs / n, n}
	work, bins := make([]float64, n), make([]complex128, p.Bins())
	for at := 0; at+n <= len(c.x); at += max(n, len(c.x)/most) {
		for i, w := range weights {
			work[i] = w * c.x[at+i]
		}
		for k, v := range p.Forward(bins, work) {
			s.power[k] += fft.Power(v)
		}
	}
	return s
}

// detectBandwidth finds a cutoff that no device has: the spectrum falls by 30 dB within a sixth of
// an octave, below 0.9 of half the sample rate, and stays down. For a sweep it uses the response.
// Other sound has to be broad-band up to the cutoff, since a tune may simply end there. (A
// converter's own filter begins above 0.9 of half the rate.) It also returns the cutoff in Hz, 0 if
// there is none.
//
// A conversion of the sample rate removes the noise with the sound, and has its cutoff a little
// below half of a usual rate. Any other cutoff counts as a coder's.
func detectBandwidth(c *channel) (found []response.Finding, cutoff float64) {
	if c.Stimulus != nil && c.placed == nil {
		return nil, 0
	}
	bands := c.bands()
	k := cutoffOf(bands, c.placed == nil)
	if k < 0 || bands[k].frequency > 0.9*c.fs/2 {
		return nil, 0
	}
	cutoff = bands[k].frequency
	f := response.Finding{Kind: LossyCodec, Severity: unfitIf(c.Stimulus != nil), Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("holds nothing above about %s, as after a lossy coder",
			response.FormatFrequency(cutoff)),
		Remedy:  "play and record without compression, by cable, and keep the file as it was recorded",
		Figures: figures{"cutoff": figure(cutoff, "Hz")}}
	if rate, ok := c.madeAt(cutoff); ok {
		f.Kind = Resampled
		f.What = fmt.Sprintf("holds nothing above about %s, as after conversion from %d Hz or lossy compression",
			response.FormatFrequency(cutoff), rate)
		f.Remedy = "set player and recorder to the rate of the session, play and record without compression, and record again"
		f.Figures["made at"] = figure(float64(rate), "Hz")
	}
	return c.finding(f), cutoff
}

// cutoffOf returns the last band below a cutoff, or −1 if there is none.
func cutoffOf(bands []bandLevel, broad bool) int {
	const drop, sixth = 30, bandsPerOctave / 6
	highest := math.Inf(-1) // from k+sixth on
	for k := len(bands) - 1 - sixth - 2; k >= bandsPerOctave/3; k-- {
		if highest = max(highest, bands[k+sixth].level, bands[k+sixth+1].level,
			bands[k+sixth+2].level); math.IsInf(highest, -1) {
			continue
		}
		before := bands[k].level
		if broad { // the softest of a third of an octave
			for _, b := range bands[k-bandsPerOctave/3 : k] {
				before = min(before, b.level)
			}
		}
		if before-highest >= drop {
			return edgeOf(bands, k)
		}
	}
	return -1
}

// edgeOf returns the last band that is less than 6 dB below those before band k, which may lie in
// the slope.
func edgeOf(bands []bandLevel, k int) int {
	var before []float64
	for _, b := range bands[k-bandsPerOctave/3 : k-bandsPerOctave/12] {
		before = append(before, b.level)
	}
	plateau := statistic.Median(before)
	k -= bandsPerOctave / 12
	for k+1 < len(bands) && bands[k+1].level > plateau-6 {
		k++
	}
	return k
}
