package programme

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

const (
	// matchedBelow is a prominence in dB. A matched filter confirms matches below it; those of
	// music with treble above the noise lie higher.
	matchedBelow = 40
	// matchedBlock is the length in seconds of the blocks of lags that are compared: the phase of
	// the headphones moves the peak of a matched filter by less.
	matchedBlock = 0.015
	// matchedBetter is the number of stretches that another delay has to explain in addition.
	matchedBetter = 0.5
)

// confirmed returns the delays, or those at which matched filters find the recording. The error is
// ErrDifferent if these fit at several places.
func (t *decimated) confirmed(delays line, name string, direct Channel) (line, error) {
	better, elsewhere := t.placedElsewhere(delays)
	if !elsewhere {
		return delays, nil
	}
	moved, err := t.follow(better, name, direct.SampleRate)
	if err == nil {
		_, elsewhere = t.placedElsewhere(moved)
	}
	if err != nil || elsewhere {
		return line{}, fmt.Errorf("programme: %s: %w as %s, as far as its noise shows: the bass fits at several places; "+
			"record again with less noise, or take a piece with treble", name, ErrDifferent, direct.Name)
	}
	return moved, nil
}

// placedElsewhere returns a match at another delay than the one stated, if it explains the
// recording better. The search whitens both recordings, which makes its peak sharp. If noise hides
// all but the bass, it whitens the noise and may find a repeat of the tune. A matched filter does
// not whiten. Its output, normalised, is the share ρ² of the power in the recording that a stretch
// explains with one gain. A delay is better if the sum over the stretches is larger; a stretch
// outside the recording adds nothing.
func (t *decimated) placedElsewhere(delays line) (better match, found bool) {
	block := int(matchedBlock * searchRate)
	starts := t.loudest()
	total := make([]float64, (len(t.direct)+len(t.through))/block+3)
	// drifted is the block of the lag of a stretch, in decimated samples, less the drift.
	drifted := func(start, lag int) int {
		lag += len(t.direct) - int(math.Round(delays.slope*float64(start+t.excerpt/2)))
		return min(max(1, lag/block+1), len(total)-2)
	}
	of := make([]float64, len(total))
	for _, start := range starts {
		clear(of)
		for i, v := range t.matched(start) {
			k := drifted(start, i-start)
			of[k] = max(of[k], v)
		}
		for k := 1; k < len(of)-1; k++ {
			total[k] += max(of[k-1], of[k], of[k+1])
		}
	}
	best, stated := floats.MaxIdx(total), drifted(0, int(math.Round(delays.at(0)/float64(t.step))))
	if total[best] < slices.Max(total[stated-1:stated+2])+matchedBetter {
		return match{}, false
	}
	lag := float64(((best-1)*block + block/2 - len(t.direct)) * t.step)
	return t.near((starts[0]+t.excerpt/2)*t.step, lag, 2*block*t.step), true
}

// matched returns, for each place in the through recording, the share of the power there that a
// stretch of the direct recording explains, from 0 to 1.
func (t *decimated) matched(start int) []float64 {
	x := t.direct[start : start+t.excerpt]
	square := t.correlate(start, 0, len(t.through), conjugate)
	own, there := floats.Dot(x, x), 0.0
	for _, v := range t.through[:t.excerpt] {
		there += v * v
	}
	loud := floats.Dot(t.through, t.through) / float64(len(t.through)) * float64(t.excerpt)
	for i, c := range square {
		// In a pause any stretch may explain what little there is.
		square[i] = c * c / (own*max(there, loud/10) + math.SmallestNonzeroFloat64)
		if i+t.excerpt < len(t.through) {
			a, b := t.through[i], t.through[i+t.excerpt]
			there += b*b - a*a
		}
	}
	return square
}

// conjugate turns the spectrum of a stretch into that of the filter matched to it, in place.
func conjugate(spectrum []complex128) []complex128 {
	for k, v := range spectrum {
		spectrum[k] = complex(real(v), -imag(v))
	}
	return spectrum
}
