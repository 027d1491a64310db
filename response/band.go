package response

import (
	"fmt"
	"math"
)

// Band is a range of frequencies in Hz, both ends included, in which a result is valid. The zero
// Band is empty.
type Band struct {
	Low, High float64 // Hz
}

// AllFrequencies is the band from 0 Hz without an upper limit.
var AllFrequencies = Band{Low: 0, High: math.Inf(1)}

// Contains reports whether f, in Hz, lies in the band.
func (b Band) Contains(f float64) bool { return b.Low <= f && f <= b.High && !b.Empty() }

// holds is like Contains, but allows for the rounding of a frequency at an end of the band.
func (b Band) holds(f float64) bool {
	return Band{b.Low * (1 - edge), b.High * (1 + edge)}.Contains(f) && !b.Empty()
}

// Empty reports whether the band contains no frequency.
func (b Band) Empty() bool { return !(b.High > b.Low) }

// Intersect returns the frequencies that both bands contain, or the zero Band if there are none.
func (b Band) Intersect(other Band) Band {
	both := Band{Low: max(b.Low, other.Low), High: min(b.High, other.High)}
	if both.Empty() {
		return Band{}
	}
	return both
}

// Octaves returns the width of the band, log2(High/Low), or 0 if it is empty.
func (b Band) Octaves() float64 {
	if b.Empty() {
		return 0
	}
	return math.Log2(b.High / b.Low)
}

// String formats the band for a reader: "20 Hz–20 kHz".
func (b Band) String() string {
	switch {
	case b.Empty():
		return "nowhere"
	case math.IsInf(b.High, 1) && b.Low <= 0:
		return "everywhere"
	case math.IsInf(b.High, 1):
		return "from " + FormatFrequency(b.Low)
	}
	return FormatFrequency(b.Low) + "–" + FormatFrequency(b.High)
}

// FormatFrequency formats a frequency with three significant digits and its unit: "31.5 Hz", "1
// kHz", "12.5 kHz".
func FormatFrequency(f float64) string {
	if math.IsInf(f, 0) {
		return fmt.Sprint(f, " Hz")
	}
	if math.Abs(f) >= 999.5 {
		return fmt.Sprintf("%.4g kHz", roundTo3(f)/1000)
	}
	return fmt.Sprintf("%.4g Hz", roundTo3(f))
}

func roundTo3(f float64) float64 {
	if f == 0 {
		return 0
	}
	scale := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(f))))
	return math.Round(f*scale) / scale
}
