package distortion

import (
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Kernel is one branch of the generalised Hammerstein model of a device,
//
//	y = Σ g_m * x^m,    m = 1 … M:
//
// the signal is raised to the power Order and filtered by the kernel. A linear device has only the
// first branch. Unlike harmonics, kernels do not depend on the level of the sweep, as far as the
// model holds.
type Kernel struct {
	// Order is the power m of the signal.
	Order int
	// Frequency is that of the output in Hz.
	Frequency []float64
	// Response is the transfer function G_m of the branch at each frequency, full scale per full
	// scale to the power m, with the delay of the linear peak removed; NaN where it is not known.
	Response []complex128
	// Uncertainty is the standard uncertainty (k = 1) in dB of |G_m| from noise; nil without a
	// silence.
	Uncertainty []float64
	// Valid is the band in which the kernel is known: that in which all harmonics to which it
	// contributes are known.
	Valid response.Band
}

// At returns the transfer function of the branch at f Hz, interpolated linearly over the logarithm
// of frequency, with its standard uncertainty in dB, +Inf without a silence; both are NaN outside
// Valid.
func (k Kernel) At(f float64) (g complex128, uncertainty float64) {
	i, found := slices.BinarySearch(k.Frequency, f)
	switch {
	case i == len(k.Frequency) || i == 0 && !found || !k.Valid.Contains(f):
		return cmplx.NaN(), math.NaN()
	case found:
		g, uncertainty = k.Response[i], math.Inf(1)
		if k.Uncertainty != nil {
			uncertainty = k.Uncertainty[i]
		}
		return g, uncertainty
	}
	x := math.Log(f/k.Frequency[i-1]) / math.Log(k.Frequency[i]/k.Frequency[i-1])
	g, uncertainty = k.Response[i-1]+complex(x, 0)*(k.Response[i]-k.Response[i-1]), math.Inf(1)
	if k.Uncertainty != nil {
		uncertainty = k.Uncertainty[i-1] + x*(k.Uncertainty[i]-k.Uncertainty[i-1])
	}
	return g, uncertainty
}

// Kernels converts the harmonics to the kernels of a generalised Hammerstein model with one branch
// for each order (Novak, Lotton, Simon, J. Audio Eng. Soc. 63(10), 2015). By the power-reduction
// identities (NIST DLMF §4.21) a sine of amplitude A raised to the power m contains the harmonic n
// as
//
//	c_mn A^m sin(nφ + arg),    c_mn = C(m, (m−n)/2) (−1)^((m−n)/2) (2j)^(1−m),
//
// for n = m, m−2, …. So the measured harmonics are, at each output frequency,
//
//	H_n = Σ A^(m−1) c_mn G_m,    m ≥ n,
//
// which is solved from the highest order down. Phases are right because the sweep is synchronised.
// A kernel needs the harmonics of its own and all higher orders of its parity, all at one
// frequency: kernel m of M is known from about M f1 (or (M−1) f1) up to m f2. Powers above the
// highest order appear as lower ones. In the lowest octave the start of the other harmonics' sweeps
// disturbs a much weaker kernel: by 0.6 dB for one 80 dB below the fundamental.
func (hs *HarmonicSet) Kernels() []Kernel {
	top := len(hs.Orders) + 1
	inverse := inverseIdentities(top, hs.Sweep.Amplitude())
	kernels := make([]Kernel, top)
	for m := 1; m <= top; m++ {
		kernels[m-1] = hs.kernel(m, inverse[m])
	}
	return kernels
}

// kernel returns G_m; weights are the weights of the harmonics in it.
func (hs *HarmonicSet) kernel(m int, weights []complex128) Kernel {
	k := Kernel{Order: m, Valid: hs.kernelBand(m)}
	k.Frequency = response.LogGrid(k.Valid.Low, k.Valid.High, hs.perOctave)
	for _, f := range k.Frequency {
		var g complex128
		var noise float64
		for n := m; n < len(weights); n += 2 {
			h, a := hs.harmonic(n, f)
			g += weights[n] * h
			noise = math.Hypot(noise, cmplx.Abs(weights[n])*a)
		}
		k.Response = append(k.Response, g)
		if hs.noise != nil {
			k.Uncertainty = append(k.Uncertainty,
				noiseUncertainty(decibel.OfAmplitude(cmplx.Abs(g)), decibel.OfAmplitude(noise)))
		}
	}
	return k
}

// harmonic returns H_n, n counting from 1, and the amplitude of the noise in it, at the output
// frequency f in Hz.
func (hs *HarmonicSet) harmonic(n int, f float64) (h complex128, noise float64) {
	if n == 1 {
		if hs.noise == nil {
			return hs.linear.at(f), math.NaN()
		}
		return hs.linear.at(f), hs.noise(f)
	}
	o := hs.Orders[n-2]
	if o.noise == nil {
		return o.at(f), math.NaN()
	}
	return o.at(f), o.noise(f)
}

// kernelBand returns the band in which the harmonics m, m+2, … are all known.
func (hs *HarmonicSet) kernelBand(m int) response.Band {
	band := response.AllFrequencies
	if m == 1 {
		// The fades of a power of the sweep differ from those of the sweep.
		band = believable(hs.Sweep)
	}
	for _, o := range hs.Orders {
		if n := float64(o.N); o.N >= m && (o.N-m)%2 == 0 {
			band = band.Intersect(response.Band{Low: n * o.Valid.Low, High: n * o.Valid.High})
		}
	}
	return band
}

// identity returns c_mn: the n-th harmonic of a sine to the power m, as a sine, n being m, m−2, …,
// at least 1.
func identity(m, n int) complex128 {
	k := (m - n) / 2
	c := complex(binomial(m, k), 0) * cmplx.Pow(2i, complex(float64(1-m), 0))
	if k%2 == 1 {
		return -c
	}
	return c
}

func binomial(n, k int) float64 {
	c := 1.0
	for i := 1; i <= k; i++ {
		c *= float64(n-k+i) / float64(i)
	}
	return c
}

// inverseIdentities returns for each power m ≤ top, counting from 1, the weights of the harmonics n
// in its kernel for a sweep of amplitude A: the inverse of the triangular matrix A^(m−1) c_mn.
func inverseIdentities(top int, a float64) [][]complex128 {
	inverse := make([][]complex128, top+1)
	for m := top; m >= 1; m-- {
		w := make([]complex128, top+1)
		w[m] = 1
		// G_m = (H_m − Σ_{p>m} A^(p−1) c_pm G_p) / (A^(m−1) c_mm)
		for p := m + 2; p <= top; p += 2 {
			c := complex(math.Pow(a, float64(p-1)), 0) * identity(p, m)
			for n := p; n <= top; n += 2 {
				w[n] -= c * inverse[p][n]
			}
		}
		c := complex(math.Pow(a, float64(m-1)), 0) * identity(m, m)
		for n := m; n <= top; n += 2 {
			w[n] /= c
		}
		inverse[m] = w
	}
	return inverse
}
