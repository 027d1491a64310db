package tone

import "fmt"

// Difference is what two high tones make at the difference of their frequencies
// and beside them.
//
// By IEC 60268-3 (from memory) the difference-frequency distortion of the second
// and the third order, relative to the sum of the two tones as they come out, is
//
//	d₂ = U(f₂−f₁) / (U(f₁) + U(f₂))
//	d₃ = (U(2f₁−f₂) + U(2f₂−f₁)) / (U(f₁) + U(f₂))
//
// With 19 kHz and 20 kHz the products lie at 1 kHz, 18 kHz and 21 kHz: the last
// is above the range of many microphones, and the third order then not known.
type Difference struct {
	Lower, Upper TonePart
	Second       Intermodulation
	Third        Intermodulation
	// Total is the root sum of squares of all three products relative to
	// U(f₁) + U(f₂).
	Total Intermodulation
}

// Difference measures difference-frequency distortion in the steady part of a
// recording of the two tones: see Steady. Of the options, only Ceiling is used.
//
// Errors: ErrAbsent, ErrTwoTones for a third tone, ErrTooShort, ErrNotFinite; the
// upper tone may be at most a third higher than the lower one, so that the
// products keep apart.
func (t TwoTones) Difference(x []float64, o Options) (Difference, error) {
	if !(t.Upper <= 4./3*t.Lower) {
		return Difference{}, fmt.Errorf("tone: difference-frequency distortion of %v Hz and %v Hz; choose an upper tone at most a third higher than the lower one", t.Lower, t.Upper)
	}
	f, err := t.takeApart(x, o)
	if err != nil {
		return Difference{}, err
	}
	lower, upper := f.parts()
	both := plainSum([]Figure{f.at(line{1, 0}).amplitude(), f.at(line{0, 1}).amplitude()})
	return Difference{Lower: lower, Upper: upper,
		Second: f.intermodulation(both, plainSum, line{-1, 1}),
		Third:  f.intermodulation(both, plainSum, line{2, -1}, line{-1, 2}),
		Total:  f.intermodulation(both, rootSum, line{-1, 1}, line{2, -1}, line{-1, 2}),
	}, nil
}
