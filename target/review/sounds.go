package review

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep/recognise"
)

// sound identifies a recording that does not hold the stimulus.
func (s *Sorter) sound(rec *capture.Recording) []Candidate {
	if rec.Len() == 0 || len(rec.Channels) == 0 {
		return []Candidate{{Role: NothingToReview, Chance: 1, Why: "It has no samples."}}
	}
	if found := s.pieceOf(rec); found != nil {
		return found
	}
	loud := loudestChannel(rec) - 1
	length := min(rec.Len(), longestExamined*rec.SampleRate)
	from, most := 0, -1.0
	for at := 0; at+length <= rec.Len(); at += max(1, length/2) {
		if p := statistic.MeanSquare(rec.Channels[loud][at : at+length]); p > most {
			from, most = at, p
		}
	}
	excerpts := make([][]float64, len(rec.Channels))
	for c, x := range rec.Channels {
		excerpts[c] = x[from : from+length]
	}
	level := decibel.OfPower(statistic.MeanSquare(excerpts[loud]))
	if level < -85 {
		return []Candidate{{Role: NothingToReview, Chance: 0.7,
			Why: fmt.Sprintf("It is nearly silent, %s dBFS "+
				"rms.", signed(level))}, {Role: BackgroundNoise, Chance: 0.3}}
	}
	if f, share := toneIn(excerpts[loud], rec.SampleRate); share > 0.9 {
		return tones(f, level, loud+1)
	}
	var found *recognise.Content
	for _, c := range recognise.Find(excerpts[loud:loud+1], rec.SampleRate) {
		if found == nil || c.Len > found.Len {
			found = &c
		}
	}
	switch {
	case found == nil:
	case found.Kind == recognise.Noise, found.Kind == recognise.MaximumLength:
		return noises(excerpts, rec.SampleRate, level)
	case found.Kind == recognise.ExponentialSweep, found.Kind == recognise.LinearSweep:
		why := fmt.Sprintf("It holds a different %s from the one played here.", found.Kind)
		if s.Stimulus == nil {
			why = fmt.Sprintf("It holds a sweep (%s), but the stimulus is not known: put stimulus.wav "+
				"beside it, or state the stimulus.", found.Kind)
		}
		return []Candidate{{Role: NothingToReview, Chance: 1, Why: why}}
	}
	if level < -60 {
		return []Candidate{{Role: BackgroundNoise, Chance: 0.6, Why: "It is soft, and neither steady noise nor a tone."},
			{Role: LonePiece, Chance: 0.3}, {Role: NothingToReview, Chance: 0.1}}
	}
	return []Candidate{{Role: LonePiece, Chance: 1, Left: 1, Right: min(2, len(rec.Channels)),
		Why: "It is not a sweep, a tone or steady noise, and no other recording here has the same content."}}
}

// toneIn returns the frequency in Hz of the strongest tone, and its share of the power above 100
// Hz.
func toneIn(x []float64, sampleRate int) (frequency, share float64) {
	power := make([]float64, segment/2+1)
	spectraOf(x, x, 0, sampleRate, func(a, _ []complex128) {
		for k, v := range a {
			power[k] += fft.Power(v)
		}
	})
	clear(power[:100*segment/sampleRate])
	top := floats.MaxIdx(power)
	var sum, moment float64
	for k := max(0, top-2); k <= min(top+2, len(power)-1); k++ {
		sum, moment = sum+power[k], moment+power[k]*float64(k)
	}
	if !(sum > 0) {
		return 0, 0
	}
	return moment / sum * float64(sampleRate) / segment, sum / floats.Sum(power)
}

// tones identifies a steady tone.
func tones(f, level float64, channel int) []Candidate {
	why := fmt.Sprintf("It is one steady tone of %.0f Hz at %s dBFS rms", f, signed(level))
	for _, calibrator := range []float64{250, 1000} { // IEC 60942 (from memory)
		if math.Abs(f/calibrator-1) < 0.03 {
			return []Candidate{{Role: CalibratorTone, Left: channel, Chance: 1, Why: why + "."}}
		}
	}
	return []Candidate{{Role: CalibratorTone, Left: channel, Chance: 0.5,
		Why: why + "; calibrators have 250 or 1000 Hz."},
		{Role: NothingToReview, Chance: 0.5}}
}

// noises identifies steady noise.
func noises(channels [][]float64, sampleRate int, level float64) []Candidate {
	if len(channels) >= 2 {
		if b := newBetween(channels[0], channels[1], 0, sampleRate); b.coherence > 0.97 {
			scatter, mean := scatterOf(b.ratio), stat.Mean(numbers(b.ratio), nil)
			source, load := 1, 2
			if mean > 0 {
				source, load = 2, 1
			}
			if math.Abs(mean) > 0.5 || scatter > 0.3 {
				same, _ := likeness(scatter, 0.3, 6, "")
				varies := 1 - same
				out := []Candidate{{Role: ImpedanceNoise, Left: source, Right: load, Chance: varies,
					Why: fmt.Sprintf("Both channels hold the same noise, one %.1f dB softer, with a "+
						"difference that varies by %.2f dB.",
						math.Abs(mean), scatter)},
					{Role: ReferenceNoise, Left: source, Right: load, Chance: 1 - varies}}
				if varies < 0.5 {
					out[0], out[1] = out[1], out[0]
					out[0].Why = out[1].Why
				}
				return out
			}
		}
	}
	why := fmt.Sprintf("It is steady noise, %s dBFS rms; one recording does not show what covered the "+
		"microphone.", signed(level))
	if level < -65 {
		return []Candidate{{Role: BackgroundNoise, Chance: 0.6, Why: why}, {Role: CoveredNoise, Chance: 0.3},
			{Role: OpenNoise, Chance: 0.1}}
	}
	return []Candidate{{Role: OpenNoise, Chance: 0.5, Why: why}, {Role: CoveredNoise, Chance: 0.35},
		{Role: BackgroundNoise, Chance: 0.15}}
}

// signed formats a level to a tenth, with a minus sign.
func signed(level float64) string { return strings.Replace(fmt.Sprintf("%.1f", level), "-", "−", 1) }
