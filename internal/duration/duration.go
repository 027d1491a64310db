// Package duration converts between time.Duration, which configurations use, seconds, which the
// mathematics uses, and samples.
package duration

import (
	"math"
	"time"
)

// Of converts seconds to a time.Duration.
func Of(seconds float64) time.Duration { return time.Duration(seconds * float64(time.Second)) }

// Samples returns the number of samples in d at a sample rate in Hz, rounded to the nearest.
func Samples(d time.Duration, sampleRate int) int {
	return int(math.Round(d.Seconds() * float64(sampleRate)))
}
