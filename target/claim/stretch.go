package claim

import (
	"math"
	"slices"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// narrow is how wide a dip or a peak inside a range must be, in octaves, to
// count: what is narrower than 1/9 octave is neglected (IEC 60268-5, effective
// frequency range, from memory).
const narrow = 1. / 9

// slack is the part of an octave by which the last point of a grid may miss the
// end of a range.
const slack = 1. / 20

// stretch is a run of frequencies at which the answer is the same.
type stretch struct {
	answer  target.Answer
	known   bool
	band    response.Band
	worst   response.Figure // with the least to spare
	at      float64         // Hz
	spare   float64
	touches bool // an end of the range
}

// survey walks a range and returns what counts of it: runs that are wide
// enough, or stand at an end.
func survey(d target.Deviation, over response.Band, low, high, confidence float64) []stretch {
	var runs []stretch
	for _, f := range points(d, over) {
		v := d.At(f)
		answer := target.Decide(v, low, high, confidence)
		if n := len(runs); n == 0 || runs[n-1].answer != answer || runs[n-1].known != v.Known() {
			run := stretch{answer: answer, known: v.Known(), band: response.Band{Low: f}, spare: math.Inf(1), at: f, worst: v}
			// What is not known reaches from the last point that is to the next.
			if n > 0 && !run.known {
				run.band.Low = runs[n-1].band.High
			}
			if n > 0 && !runs[n-1].known {
				runs[n-1].band.High = f
			}
			runs = append(runs, run)
		}
		run := &runs[len(runs)-1]
		run.band.High = f
		if spare := min(v.Value-low, high-v.Value); spare < run.spare {
			run.spare, run.worst, run.at = spare, v, f
		}
	}
	runs[0].touches, runs[len(runs)-1].touches = true, true
	return slices.DeleteFunc(runs, func(s stretch) bool {
		width := math.Log2(s.band.High / s.band.Low)
		if !s.known {
			return width < slack
		}
		return !s.touches && width < narrow && s.answer != target.Yes
	})
}

// points returns the points of a deviation in a range, its ends, and no gap wider
// than 1/24 octave.
func points(d target.Deviation, over response.Band) []float64 {
	return grid.Union(over.Low, over.High, []float64{over.Low, over.High}, d.Curve.Frequency, response.LogGrid(over.Low, over.High, 24))
}

// worst returns the stretch of an answer with the least to spare.
func worst(runs []stretch, a target.Answer) (stretch, bool) {
	found := stretch{spare: math.Inf(1)}
	ok := false
	for _, s := range runs {
		if s.known && s.answer == a && s.spare <= found.spare {
			found, ok = s, true
		}
	}
	return found, ok
}

// missing returns the first stretch in which nothing is known.
func missing(runs []stretch) (response.Band, bool) {
	for _, s := range runs {
		if !s.known {
			return s.band, true
		}
	}
	return response.Band{}, false
}

// ends says why nothing is known of a band.
func (e Evidence) ends(b response.Band) (Cause, string) {
	half := float64(e.SampleRate) / 2
	switch mic := e.Microphone; {
	case e.SampleRate > 0 && b.High > half && (mic.Empty() || mic.High >= half):
		return SampleRateEnds, "a sample rate of " + response.FormatFrequency(2*half) + " ends at " + response.FormatFrequency(half)
	case !mic.Empty() && b.High > mic.High*(1+1e-9):
		return MicrophoneEnds, "the microphone is known up to " + response.FormatFrequency(mic.High)
	case !mic.Empty() && b.Low < mic.Low*(1-1e-9):
		return MicrophoneEnds, "the microphone is known from " + response.FormatFrequency(mic.Low)
	}
	return ResponseEnds, "the response is not known over " + b.String()
}
