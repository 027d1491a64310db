package review

import (
	"math"
	"math/cmplx"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// Residual is what no steady linear filter explains of a piece of music or speech in a third of an
// octave, in dB relative to the recording through the headphones there, and what could explain it.
type Residual struct {
	// Frequency is midband in Hz, and Read the residual.
	Frequency, Read float64
	// Noise is what the noise of the sweep's silence would be; NaN where the gain was turned since.
	Noise float64
	// Predicted is what the pair's distortion by the sweep would make of this material, if it is a
	// polynomial with a filter behind each power (distortion.Kernel); NaN where a kernel is not known.
	// Of a pair that has a filter before what distorts, as one has whose bass moves furthest, it is
	// too low: by 4 to 5 dB with 9 dB of bass before it (simulated).
	Predicted float64
}

const (
	powers          = 5       // highest power of the material
	powerSegment    = 1 << 15 // samples
	powerSegments   = 24      // spread over the piece
	powerFiner      = 4       // times the sample rate: what folds from the fifth power stays above half of it
	mostKernelDoubt = 3       // dB of standard uncertainty, beyond which a kernel is taken for noise
)

// powerSpectra are the cross-spectra of the powers of a piece: of powers m+1 and n+1 at each bin.
type powerSpectra struct {
	step  float64 // Hz
	cross [][powers][powers]complex128
}

// newPowerSpectra takes them of the stretch from one second to another, of samples that are full scale 1
// in the recording; nil where it is too short.
func newPowerSpectra(direct programme.Channel, from, to float64) *powerSpectra {
	rate := float64(direct.SampleRate)
	first, last := max(0, int(from*rate)), min(len(direct.Samples), int(to*rate))
	if last-first < 2*powerSegment {
		return nil
	}
	plan, fine := fft.NewPlan(powerSegment), fft.NewPlan(powerFiner*powerSegment)
	out := &powerSpectra{step: rate / powerSegment, cross: make([][powers][powers]complex128, plan.Bins())}
	window := taper.Hann(fine.Len())
	spectrum, product := make([]complex128, fine.Bins()), make([]float64, fine.Len())
	var spectra [powers][]complex128
	x := make([]float64, fine.Len())
	for k := range powerSegments {
		at := first + k*(last-first-powerSegment)/(powerSegments-1)
		clear(spectrum)
		plan.Forward(spectrum[:plan.Bins()], direct.Samples[at:at+powerSegment])
		fine.Inverse(x, spectrum) // a sum over the bins divided by the length, which is powerFiner times as long
		for i := range x {
			x[i] *= powerFiner
			product[i] = window[i]
		}
		for m := range powers {
			for i, v := range x {
				product[i] *= v
			}
			spectra[m] = fine.Forward(spectra[m], product)
		}
		for i := range out.cross {
			for m := range powers {
				for n := range m + 1 {
					out.cross[i][m][n] += spectra[m][i] * cmplx.Conj(spectra[n][i])
				}
			}
		}
	}
	for i := range out.cross { // of two powers the other way round it is the conjugate
		for m := range powers {
			for n := range m {
				out.cross[i][n][m] = cmplx.Conj(out.cross[i][m][n])
			}
		}
	}
	return out
}

// predict returns the level of what the kernels make of the piece that no linear filter explains, in dB
// relative to all that they make of it, in a band; scale turns samples of the recording into samples
// played.
func (p *powerSpectra) predict(kernels []distortion.Kernel, scale float64, band response.Band) float64 {
	var left, all float64
	for i := range p.cross {
		f := float64(i) * p.step
		if !band.Contains(f) {
			continue
		}
		var g [powers]complex128
		for m := range powers {
			v, doubt := kernels[m].At(f)
			if cmplx.IsNaN(v) {
				if m < 3 {
					return math.NaN()
				}
				continue // the fourth and fifth power are far below the others where they are known
			}
			if m > 0 && !(doubt < mostKernelDoubt) {
				continue
			}
			g[m] = v * complex(math.Pow(scale, float64(m+1)), 0)
		}
		var whole, crossed complex128
		for m := range powers {
			crossed += g[m] * p.cross[i][m][0]
			for n := range powers {
				whole += g[m] * cmplx.Conj(g[n]) * p.cross[i][m][n]
			}
		}
		all += real(whole)
		if own := real(p.cross[i][0][0]); own > 0 {
			left += max(0, real(whole)-fft.Power(crossed)/own)
		}
	}
	return decibel.OfPower(left / all)
}

// residuals says what is left of a piece by third octaves, and what could explain it, by the first
// seating of its side.
func (b *Bench) residuals(p *Programme, s *Side) (all []Residual) {
	if p.Comparison == nil || s == nil || len(s.Seatings) == 0 || s.Seatings[0].Harmonics == nil {
		return nil
	}
	reading := s.Seatings[0]
	var kernels []distortion.Kernel
	if len(reading.Harmonics.Orders) >= powers-1 && p.powers != nil {
		kernels = reading.Harmonics.Kernels()
	}
	scale := 1 / cmplx.Abs(b.parts[reading.side].transfer.At(1000))
	sameGain := p.Agreement != nil && math.Abs(p.Agreement.Level.Value) < mostBetween
	for _, band := range p.Comparison.Bands() {
		r := Residual{Frequency: band.Centre, Read: band.Residual, Noise: math.NaN(), Predicted: math.NaN()}
		within := response.Band{Low: band.Low, High: band.High}
		if reading.noise != nil && sameGain {
			r.Noise = decibel.OfPower(reading.noise.Power(within)) - band.Through
		}
		if kernels != nil {
			r.Predicted = p.powers.predict(kernels, scale, within)
		}
		all = append(all, r)
	}
	return all
}
