package programme

import (
	"math"

	"example.com/earnest/internal/fft"
)

// otherLow and otherHigh bound the band in Hz over which the other channel is looked for.
// otherApart is the least share of its power that its own channel does not predict: of a voice in
// the middle there is none.
const (
	otherLow, otherHigh = 200.0, 8000.0
	otherApart          = 1e-3
)

// OtherChannel returns a share, 0 to 1, of the residual of the recording through the headphones,
// from 200 Hz to 8 kHz: the part that the other channel of the direct recording explains by a
// steady linear filter. With the spectra of all three, the part of z beyond x explains of y
//
//	|Szy·x|²/Szz·x,  Sab·x = Sab − Sax Sxb/Sxx.
//
// (J. S. Bendat, A. G. Piersol, Random Data, ch. 7; from memory.) It is NaN if the channels are alike,
// or the recordings share fewer than three segments with sound.
func (c *Comparison) OtherChannel(direct, other, through Channel) float64 {
	a := c.Alignment
	x := newSegments(direct, through, a.from, a.to)
	x.place(a.line)
	z := newSegments(direct, other, a.from, a.to)
	z.place(line{})
	bin := float64(direct.SampleRate) / float64(x.plan.Len())
	var explained, left, n float64
	for k := int(otherLow / bin); k < min(int(otherHigh/bin), x.plan.Bins()); k++ {
		var xx, yy, zz float64
		var xy, xz, zy complex128
		n = 0
		for i, v := range x.x {
			if math.IsNaN(x.lag[i]) {
				continue
			}
			y, w := x.y[i][k], z.y[i][k]
			conj := complex(real(v[k]), -imag(v[k]))
			xx, yy, zz = xx+fft.Power(v[k]), yy+fft.Power(y), zz+fft.Power(w)
			xy, xz, zy = xy+conj*y, xz+conj*w, zy+complex(real(w), -imag(w))*y
			n++
		}
		apart := zz - fft.Power(xz)/xx
		if !(xx > 0 && apart > otherApart*zz) {
			continue
		}
		beyond := zy - complex(real(xz), -imag(xz))*xy/complex(xx, 0)
		rest := yy - fft.Power(xy)/xx
		explained, left = explained+fft.Power(beyond)/apart, left+rest
	}
	if !(left > 0 && n > 2) {
		return math.NaN()
	}
	chance := 1 / (n - 1)
	return max(0, explained/left-chance) / (1 - chance)
}
