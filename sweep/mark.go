package sweep

import "math"

// The timing mark falls from MarkHigh to MarkLow, in Hz, or from a quarter of
// the sample rate where that is lower.
const (
	MarkHigh = 8000.0
	MarkLow  = 500.0
)

const markSeconds = 0.2

func (s *Sweep) markLen() int { return int(math.Round(markSeconds * float64(s.sampleRate))) }

// Mark returns the timing mark that stands at both ends of a stimulus: an
// exponential chirp falling from 8 kHz to 500 Hz in 0.2 s under a Hann
// weight, at the sweep's level. It falls so that nothing takes it for a piece
// of the sweep, which rises, and its band is one that every pair of
// headphones and every microphone passes. Its autocorrelation is a peak of
// 0.1 ms, so two of them tell the ratio of two clocks.
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
