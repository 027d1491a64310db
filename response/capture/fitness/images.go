package fitness

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
)

// A conversion of the sample rate that does not filter mirrors the sweep at multiples of the rate:
// an image at K − f or f − K beside the sweep at f. Multiplied by the conjugate of the sweep, an
// image is a tone at K that lasts as long as the sweep. Nothing else is: harmonics, echoes, hum and
// voices glide there at r Hz/s or more, r being the glide of the sweep, so none is narrower than
// the square root of r, however short it is.
const (
	imageStands   = 100.0 // power re the largest beside it
	imageNarrow   = 0.1   // re the square root of r: a block of frequencies
	imageWidth    = 1     // blocks on either side; the delay of a device moves it by less
	imageBeside   = 8     // blocks
	imageNearest  = 600.0 // Hz re the sweep: wow and hum move it by less
	imageShortest = 1024  // samples
)

// images returns the power of the images re the sweep while it rises through its highest octave,
// and the offset in Hz of the strongest; 0 if there are none.
func (c *channel) images() (power, offset float64) {
	s := c.Stimulus.Sweep()
	first := c.recordedAt(c.Stimulus.Sweeps(c.side)[0].Start)
	from, to := int(first+s.TimeAt(max(s.Start(), s.Stop()/2))*c.fs*c.ratio), int(first+s.Duration()*c.fs*c.ratio)
	if from < 0 || to > len(c.x) || to-from < imageShortest {
		return 0, 0
	}
	n := fft.FastLen(to - from)
	transform, x := fft.NewComplex(n), make([]complex128, n)
	for i, w := range taper.Hann(to - from) {
		x[i] = complex(w*(c.x[from+i]-c.offset), 0)
	}
	turn := func(times float64) {
		for i := range x {
			phase := s.PhaseAt((float64(from+i) - first) / c.fs / c.ratio)
			if math.IsNaN(phase) {
				x[i] = 0
				continue
			}
			x[i] *= cmplx.Rect(1, times*phase)
		}
		transform.Transform(x)
	}
	back := func() {
		slices.Reverse(x[1:])
		transform.Transform(x)
	}
	transform.Transform(x)
	clear(x[n/2+1:]) // the analytic signal
	back()
	turn(-1) // the sweep is now at 0 Hz
	bin := c.fs / float64(n)
	block := max(1, int(imageNarrow*math.Sqrt(s.Stop()/math.Sqrt2/s.TimeConstant())/bin))
	moved, movedBy := lines(x, block, bin, imageNearest)
	var swept float64
	for k := range x {
		if bin*float64(min(k, n-k)) < imageNearest {
			swept += fft.Power(x[k])
			x[k] = 0
		}
	}
	back()
	turn(2) // what falls while the sweep rises
	mirrored, mirroredAt := lines(x, block, bin, 0)
	mirrored /= float64(n) * float64(n) // of the transforms there and back
	power = (moved + mirrored) / swept
	if mirrored > moved {
		return power, mirroredAt
	}
	return power, movedBy
}

// detectImages finds the images of the sweep that a poor conversion of the sample rate leaves.
func detectImages(c *channel) []response.Finding {
	level, offset := c.images()
	off := decibel.PerNeper * math.Sqrt(level)
	severity := grade(off, noticeableError, worstError)
	if severity == response.Note {
		return nil
	}
	return c.finding(response.Finding{Kind: Resampled, Severity: severity, Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("holds images of the sweep, %s dB re it where it is high and mirrored or moved by %s: "+
			"player or recorder converts the sample rate and does not filter, so the treble is off by %.2g dB or more",
			signed(decibel.OfPower(level), 0), response.FormatFrequency(offset), off),
		Remedy: "set player, system and recorder to one sample rate, and record again",
		Figures: figures{"images": figure(decibel.OfPower(level), "dB"), "offset": figure(offset, "Hz"),
			"error": figure(off, "dB")}})
}

// lines returns the power of a spectrum in lines from a frequency on, on either side of 0 Hz, and
// the distance in Hz from 0 of the strongest, given the bins of a block.
func lines(x []complex128, block int, bin, nearest float64) (power, at float64) {
	blocks := make([]float64, len(x)/block)
	for k := range blocks {
		for _, v := range x[k*block : (k+1)*block] {
			blocks[k] += fft.Power(v)
		}
	}
	level := func(k int) float64 { return blocks[(k+len(blocks))%len(blocks)] }
	var strongest float64
	for k, v := range blocks {
		f := bin * float64(min(k*block, len(x)-k*block))
		if f < nearest || v < level(k-1) || v < level(k+1) {
			continue
		}
		var beside float64
		for d := imageWidth + 1; d <= imageBeside; d++ {
			beside = max(beside, level(k-d), level(k+d))
		}
		if v += level(k-1) + level(k+1); v > imageStands*beside {
			power += v
			if v > strongest {
				strongest, at = v, f
			}
		}
	}
	return power, at
}
