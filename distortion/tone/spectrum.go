package tone

import (
	"math"
	"slices"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// spectrum is a one-sided power spectral density under a Hann window.
type spectrum struct {
	density    []float64 // full scale² per Hz
	step       float64   // Hz between densities
	resolution float64   // Hz, one over the length of the recording
	bandwidth  float64   // Hz, the window's equivalent noise bandwidth
}

// reach returns the half width in Hz of the main lobe of a line.
func (s spectrum) reach() float64 { return 2.5 * s.resolution }

// bins returns the range of densities [from, to) within the band.
func (s spectrum) bins(b response.Band) (from, to int) {
	from = max(0, int(math.Ceil(b.Low/s.step-1e-9)))
	to = min(len(s.density), int(math.Floor(min(b.High/s.step, 1e9)+1e-9))+1)
	return from, max(from, to)
}

// power returns the mean square within the band, each density times its weight unless these are
// nil, and its relative standard uncertainty: densities are exponentially distributed.
func (s spectrum) power(b response.Band, weights []float64) (power, uncertainty float64) {
	from, to := s.bins(b)
	var square float64
	for k := from; k < to; k++ {
		p := s.density[k]
		if weights != nil {
			p *= weights[k]
		}
		power += p
		square += p * p
	}
	if power == 0 {
		return 0, 0
	}
	return power * s.step, math.Sqrt(alike*square/2*s.resolution/s.step) / power
}

// alike is the number of neighbouring bins of the resolution under a Hann window that make one
// independent value: Σw⁴N/(Σw²)².
const alike = 35. / 18

// noise returns the density around f Hz, full scale² per Hz: the median over ln 2, which is the
// mean of an exponential distribution and is not affected by a line of hum. It is taken over at
// most 64 bins of the resolution to either side and at most half the spacing to the next line,
// without the bins that the fit of lines has emptied. The median of n exponential values has a
// relative variance of 1/(n ln² 2), like a χ² variable of 2n ln² 2 degrees of freedom; noise
// returns this number too.
func (s spectrum) noise(f, spacing float64, fitted func(f float64) bool) (density, degrees float64) {
	side := min(64*s.resolution, max(spacing/2, 8*s.resolution))
	from, to := s.bins(response.Band{Low: f - side, High: f + side})
	var around []float64
	for k := max(from, 1); k < min(to, len(s.density)-1); k++ {
		if !fitted(float64(k) * s.step) {
			around = append(around, s.density[k])
		}
	}
	n := float64(len(around)) * s.step / (alike * s.resolution)
	return statistic.Median(around) / math.Ln2, 2 * n * math.Ln2 * math.Ln2
}

// prominent is the least power of a tone's peak over the noise around it: 15 dB, which noise alone
// exceeds once in exp(31) bins.
const prominent = 31

// tone returns the strongest tone within the band: its highest local maximum, if that is prominent.
func (s spectrum) tone(b response.Band, leaveOut func(f float64) bool) (peak, bool) {
	p, ok := s.strongest(b, leaveOut)
	return p, ok && p.stands > prominent
}

// strongest returns the highest local maximum within the band. leaveOut may be nil.
func (s spectrum) strongest(b response.Band, leaveOut func(f float64) bool) (peak, bool) {
	from, to := s.bins(b)
	best := -1
	for k := max(from, 1); k < min(to, len(s.density)-1); k++ {
		d := s.density[k]
		peaks := d > 0 && d >= s.density[k-1] && d >= s.density[k+1]
		if peaks && (best < 0 || d > s.density[best]) && (leaveOut == nil || !leaveOut(float64(k)*s.step)) {
			best = k
		}
	}
	if best < 0 {
		return peak{}, false
	}
	return s.peakAt(best), true
}

// peakAt returns a maximum between bins by a parabola through the logarithms of the three highest.
// For a Hann window this is right to 0.05 bin and 0.2 dB.
func (s spectrum) peakAt(k int) peak {
	floor := 1e-30 * s.density[k]
	a, b, c := math.Log(s.density[k-1]+floor), math.Log(s.density[k]), math.Log(s.density[k+1]+floor)
	shift := interpolate.Vertex(a, b, c)
	p := peak{frequency: (float64(k) + shift) * s.step}
	p.amplitude = math.Sqrt(2 * s.bandwidth * math.Exp(b-(a-c)*shift/4))
	around, _ := s.noise(p.frequency, 128*s.resolution,
		func(f float64) bool { return math.Abs(f-p.frequency) < 2*s.reach() })
	p.stands = s.density[k] / around
	p.u = math.Sqrt(around * s.bandwidth)
	return p
}

// level returns the amplitude of the highest bin within the main lobe around f Hz.
func (s spectrum) level(f float64) float64 {
	from, to := s.bins(response.Band{Low: f - s.reach(), High: f + s.reach()})
	return math.Sqrt(2 * s.bandwidth * slices.Max(append(s.density[from:to:to], 0)))
}

// peak is a local maximum of a spectrum.
type peak struct {
	frequency float64 // Hz
	amplitude float64 // full scale, of a tone with this maximum
	stands    float64 // power over that of the noise around it
	u         float64 // of each quadrature, from that noise
}

// spectrum returns that of the recording, or of the remainder of a fit.
func (r *recording) spectrum(x []float64) spectrum {
	weighted := make([]float64, r.plan.Len())
	for i, v := range x {
		weighted[i] = v * r.window.weight[i]
	}
	bins := r.plan.Forward(nil, weighted)
	s := spectrum{
		density:    make([]float64, len(bins)),
		step:       r.rate / float64(r.plan.Len()),
		resolution: r.rate / float64(len(x)),
		bandwidth:  r.window.bandwidth(r.rate),
	}
	for k, v := range bins {
		s.density[k] = 2 * fft.Power(v) / (r.rate * r.window.square)
	}
	// Nothing folds onto 0 Hz and half the sample rate.
	s.density[0] /= 2
	s.density[len(bins)-1] /= 2
	return s
}
