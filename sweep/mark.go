package sweep

import "math"

// The timing mark falls from MarkHigh, or a quarter of the sample rate if that is lower, to
// MarkLow, in Hz.
const (
	MarkHigh = 8000.0
	MarkLow  = 500.0
)

const markSeconds = 0.2

func (s *Sweep) markLen() int { return int(math.Round(markSeconds * float64(s.sampleRate))) }

// Mark returns the timing mark that is at both ends of a stimulus: an exponential chirp that falls
// from 8 kHz to 500 Hz in 0.2 s, under a Hann window, at the level of the sweep. It falls so that
// it cannot be taken for a part of the sweep, which rises. Every pair of headphones and every
// microphone passes its band. Its autocorrelation is a peak 0.1 ms wide, so two marks give the
// ratio of two clocks.
func (s *Sweep) Mark() []float64 {
	x := make([]float64, s.markLen())
	high := min(MarkHigh, float64(s.sampleRate)/4)
	rate := markSeconds / math.Log(high/MarkLow)
	amplitude := s.Amplitude()
	for i := range x {
		t := float64(i) / float64(s.sampleRate)
		cycles := -high * rate * math.Expm1(-t/rate)
		w := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(x)))
		x[i] = amplitude * w * math.Sin(2*math.Pi*cycles)
	}
	return x
}
