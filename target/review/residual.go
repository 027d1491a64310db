package review

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// Residual is the part of a piece of music or speech that no steady linear filter explains in a
// third octave, in dB relative to the recording through the headphones there, with the levels
// expected from noise and distortion.
type Residual struct {
	// Frequency is the midband frequency in Hz, and Read the measured residual.
	Frequency, Read float64
	// Noise is the level that the noise in the sweep's silence would have here; NaN if the gain was
	// changed since.
	Noise float64
	// Predicted is the residual expected from the pair's distortion as measured with the sweep,
	// modelled as a polynomial with a filter after each power (distortion.Kernel); NaN if a kernel
	// is not known. It is too low for a pair with a filter before the nonlinearity, such as one in
	// which bass moves the diaphragm furthest: by 4 to 5 dB with a bass boost of 9 dB (simulated).
	// Programme.FilterBefore tells such a pair.
	Predicted float64
}

const (
	powers          = 5       // highest power of the material
	powerSegment    = 1 << 15 // samples
	powerSegments   = 24      // evenly spaced in the piece
	powerFiner      = 3       // times the sample rate, so that aliases of the fifth power stay above half the sample rate
	mostKernelDoubt = 3       // dB; a kernel of higher standard uncertainty is taken for noise
)

// powerSpectra holds the cross-spectra of the powers of a piece at each bin.
type powerSpectra struct {
	step  float64 // Hz
	cross []crossSpectra
}

// newPowerSpectra computes them for the part between two times in seconds, with full scale 1; nil
// if the part is too short.
func newPowerSpectra(direct programme.Channel, from, to float64) *powerSpectra {
	rate := float64(direct.SampleRate)
	first, last := max(0, int(from*rate)), min(len(direct.Samples), int(to*rate))
	if last-first < 2*powerSegment {
		return nil
	}
	plan, fine := fft.NewPlan(powerSegment), fft.NewPlan(powerFiner*powerSegment)
	out := &powerSpectra{step: rate / powerSegment, cross: make([]crossSpectra, plan.Bins())}
	spectrum, window := make([]complex128, fine.Bins()), taper.Hann(fine.Len())
	x, product := make([]float64, fine.Len()), make([]float64, fine.Len())
	var spectra [powers][]complex128
	for k := range powerSegments {
		at := first + k*(last-first-powerSegment)/(powerSegments-1)
		clear(spectrum)
		plan.Forward(spectrum[:plan.Bins()], direct.Samples[at:at+powerSegment])
		fine.Inverse(x, spectrum) // Inverse divides by the length, which is powerFiner times as long
		floats.Scale(powerFiner, x)
		copy(product, window)
		for m := range powers {
			floats.Mul(product, x)
			spectra[m] = fine.Forward(spectra[m], product)
		}
		for i := range out.cross {
			sums, at := &out.cross[i], 0
			for m := range powers {
				for n := range m + 1 {
					sums[at] += spectra[m][i] * cmplx.Conj(spectra[n][i])
					at++
				}
			}
		}
	}
	return out
}

// predict returns the part of the kernels' output that no linear filter of the piece explains, in
// dB relative to their whole output in a band; scale converts samples of the recording to samples
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
				continue // where known, the fourth and fifth power are far below the others
			}
			if m > 0 && !(doubt < mostKernelDoubt) {
				continue
			}
			g[m] = v * complex(math.Pow(scale, float64(m+1)), 0)
		}
		var whole, crossed complex128
		for m := range powers {
			crossed += g[m] * p.cross[i].of(m, 0)
			for n := range powers {
				whole += g[m] * cmplx.Conj(g[n]) * p.cross[i].of(m, n)
			}
		}
		all += real(whole)
		if own := real(p.cross[i].of(0, 0)); own > 0 {
			left += max(0, real(whole)-fft.Power(crossed)/own)
		}
	}
	return decibel.OfPower(left / all)
}

// crossSpectra are those of one bin: of the powers 1 and 1, 2 and 1, 2 and 2, 3 and 1 …
type crossSpectra [powers * (powers + 1) / 2]complex128

// of returns that of the powers m+1 and n+1.
func (c *crossSpectra) of(m, n int) complex128 {
	if n > m {
		return cmplx.Conj(c.of(n, m))
	}
	return c[m*(m+1)/2+n]
}

// leastInOctave is the number of known harmonics, of 24 to an octave, that make its mean.
const leastInOctave = 12

// residuals returns the residual of a piece by third octaves, with the expected levels from the
// first seating of its side.
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
	for _, band := range p.Comparison.Bands(3) {
		r := Residual{Frequency: band.Centre, Read: band.Residual, Noise: math.NaN(), Predicted: math.NaN()}
		within := response.Band{Low: band.Low, High: band.High}
		if reading.noise != nil && sameGain {
			r.Noise = decibel.OfPower(reading.noise.Power(within)) - band.Through
			if c := p.Comparison.Config.Correction; c != nil {
				r.Noise += c.At(band.Centre)
			}
		}
		if kernels != nil {
			r.Predicted = p.powers.predict(kernels, scale, within)
		}
		all = append(all, r)
	}
	return all
}

// filterBefore returns by how much in dB the second or third harmonic varies with frequency beyond
// what a filter behind the nonlinearity explains, from 50 Hz to 4 kHz; NaN if too little is known.
//
// With A before a memoryless nonlinearity and B behind it, harmonic n of a tone at f is
// proportional to A(f)ⁿ B(nf), and the response is AB. So the harmonic at nf, relative to the
// response there, is proportional to A(f)ⁿ / A(nf): constant without A. Its means over octaves are
// compared.
func filterBefore(r *Reading) float64 {
	most := math.NaN()
	for _, o := range r.Harmonics.Orders[:min(2, len(r.Harmonics.Orders))] {
		low, high, octaves := math.Inf(1), math.Inf(-1), 0
		level := o.Level()
		for _, middle := range response.LogGrid(60, 3000, 1) {
			sum, count := 0.0, 0
			for i, f := range o.Fundamental {
				v := level[i] + r.Response.At(f) - r.Response.At(float64(o.N)*f)
				if math.Abs(math.Log2(f/middle)) < 0.5 && !math.IsNaN(v) {
					sum, count = sum+v, count+1
				}
			}
			if count >= leastInOctave {
				low, high, octaves = min(low, sum/float64(count)), max(high, sum/float64(count)), octaves+1
			}
		}
		if octaves >= 3 && !(high-low < most) {
			most = high - low
		}
	}
	return most
}
