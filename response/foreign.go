package response

import (
	"math"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/hugepage"
	"example.com/earnest/internal/taper"
)

const (
	// regularisationOfNoise is the regularisation for a signal without a law. Its spectrum may have
	// a hole at any bin, as that of noise has. At a tenth of the mean power, white noise in the
	// recording comes out 3 dB stronger than with a sweep of the same power, at a millionth 11 dB.
	regularisationOfNoise = 0.1
	// leadOfNoise is the time in seconds kept before time zero if there are no harmonics to keep.
	leadOfNoise = 0.5
	// guardOfNoise is the time in seconds before its peak at which the response to such a signal
	// begins.
	guardOfNoise = 0.2
	// leastWidth is half the width in Hz of the narrowest band over which a spectrum's power is
	// averaged. For a signal without a law, half the width is a twelfth of the frequency if that is
	// more.
	leastWidth = 5.0
	twelfth    = 1.0 / 12
)

// divisor describes the divisor of a recording: its magnitude at f Hz, as far as noise is
// concerned, and its band.
type divisor struct {
	level func(f float64) float64
	band  Band
}

// meanPower averages values, added bin by bin, about a frequency inside a band.
type meanPower struct {
	sums      []float64
	bin       float64 // Hz
	low, high int     // of the band
	share     float64 // of the frequency, half the width
}

func newMeanPower(p *fft.Plan, fs float64, b Band, share float64) *meanPower {
	bin := fs / float64(p.Len())
	return &meanPower{sums: make([]float64, 1, p.Bins()+1), bin: bin, low: int(math.Ceil(b.Low / bin)),
		high: int(b.High / bin), share: share}
}

// inverse returns 1 over the root of the mean about f Hz.
func (m *meanPower) inverse(f float64) float64 { return 1 / math.Sqrt(m.at(f)) }

func (m *meanPower) add(v float64) { m.sums = append(m.sums, m.sums[len(m.sums)-1]+v) }

// at returns the mean about f Hz, or about the nearer end of the band.
func (m *meanPower) at(f float64) float64 {
	middle := min(max(f/m.bin, float64(m.low)), float64(m.high))
	half := max(leastWidth, middle*m.bin*m.share) / m.bin
	from, to := max(m.low, int(middle-half)), min(m.high, int(math.Ceil(middle+half)))
	to = min(max(to, from), len(m.sums)-2)
	from = min(from, to)
	return (m.sums[to+1] - m.sums[from]) / float64(to+1-from)
}

// invert returns the inverse of a signal that is not a Sweep of package sweep: conj(S) / (|S|² +
// ε), with the skirt above. In the band, ε is a share of the signal's mean power about each
// frequency; outside, of that at the nearer end. The inverse is divided by its mean response to the
// signal about each frequency, so that the gain is 1 there.
func (d *Deconvolver) invert(band Band) ([]complex128, *divisor) {
	fs := float64(d.signal.SampleRate())
	stop := band.High
	share := regularisationOfNoise
	if d.sweep != nil {
		share = regularisation
	}
	power := newMeanPower(d.plan, fs, band, twelfth)
	for _, s := range d.played {
		power.add(fft.Power(s))
	}
	divide := hugepage.Make[complex128](len(d.played))
	kept, noise := newMeanPower(d.plan, fs, band, twelfth), newMeanPower(d.plan, fs, band, twelfth)
	for k, s := range d.played {
		f := d.plan.Frequency(k, fs)
		p := fft.Power(s)
		if f < stop+skirt && p > 0 {
			scale := taper.Rise(1-(f-stop)/skirt) / (p + share*power.at(f))
			divide[k] = complex(scale*real(s), -scale*imag(s))
		}
		kept.add(math.Sqrt(p * fft.Power(divide[k])))
	}
	for k, v := range divide {
		gain := complex(1/kept.at(d.plan.Frequency(k, fs)), 0)
		divide[k] = v * gain
		noise.add(fft.Power(v * gain))
	}
	return divide, &divisor{noise.inverse, band}
}

// divisorOfSweep returns that of the sweep's own regularised inverse. In its fades the sweep has
// less power than by its law, and the noise is stronger by as much.
func (d *Deconvolver) divisorOfSweep(band Band) *divisor {
	noise := newMeanPower(d.plan, float64(d.sweep.SampleRate()), band, 0)
	for _, v := range d.divide {
		noise.add(fft.Power(v))
	}
	return &divisor{noise.inverse, band}
}
