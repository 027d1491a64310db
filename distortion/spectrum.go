package distortion

import (
	"math/cmplx"
	"slices"
	"sync"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
)

// spectrum is the transform of a windowed impulse response, interpolated between its bins. The
// phase of noise, and of every signal far from the middle of the window, changes from bin to bin.
// So linear interpolation is wrong: by 0.5 dB with bins twice as fine as the window needs. Bins
// four times as fine and the cubic through four of them leave 0.01 dB.
//
// It keeps its values at the frequencies that are read again, and not the bins, which take eight
// times the memory of the response. Another frequency transforms the response once more.
type spectrum struct {
	frequency []float64 // Hz, ascending
	value     []complex128
	again     func() *response.Transfer // for other frequencies
}

const finer = 4

// newSpectrum transforms a window about a time in seconds and counts the phase from that time. It
// is known over the band. The frequencies, in Hz and ascending, are those that are read again.
func newSpectrum(window *response.Impulse, at float64, band response.Band, frequency []float64) spectrum {
	transform := func() *response.Transfer {
		t := window.TransferAbout(at, fft.FastLen(finer*len(window.Samples)))
		t.Valid = band
		return t
	}
	s := spectrum{frequency, make([]complex128, len(frequency)), sync.OnceValue(transform)}
	t := transform()
	for i, f := range frequency {
		s.value[i] = between(t, f)
	}
	return s
}

// at returns the spectrum at f Hz, or NaN where it is not known.
func (s spectrum) at(f float64) complex128 {
	if i, found := slices.BinarySearch(s.frequency, f); found {
		return s.value[i]
	}
	return between(s.again(), f)
}

// between returns a transform at f Hz by Lagrange's cubic through the two bins on either side, or
// NaN where it is not known.
func between(t *response.Transfer, f float64) complex128 {
	x := f * float64(t.Len) / float64(t.SampleRate)
	k := int(x) - 1
	if !t.Valid.Contains(f) || k < 0 || k+3 >= len(t.Bins) {
		return cmplx.NaN()
	}
	x -= float64(k) // 1 to 2
	b := t.Bins[k : k+4]
	w := [4]float64{
		-(x - 1) * (x - 2) * (x - 3) / 6,
		x * (x - 2) * (x - 3) / 2,
		-x * (x - 1) * (x - 3) / 2,
		x * (x - 1) * (x - 2) / 6,
	}
	var sum complex128
	for i, v := range b {
		sum += complex(w[i], 0) * v
	}
	return sum
}
