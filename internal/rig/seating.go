package rig

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// Seating is the variation of a pair each time it is put on. The zero value puts it on the same way
// every time.
type Seating struct {
	// Leak is the standard deviation in dB of the loss of bass, below about 150 Hz, through the gap
	// between cushion and plate. A gap never raises the bass.
	Leak float64
	// Ripple is the standard deviation in dB of each of the peaks and dips above 5 kHz from the
	// position of the cup.
	Ripple float64
}

// seat returns the filters of one seating of one cup. They follow from the seed, the pair, the
// number of the seating and the side.
func (r Rig) seat(h Headphones, side Side, seating int) []Filter {
	if r.Seating == (Seating{}) {
		return nil
	}
	random := r.random("seating", h.Name, seating, side)
	filters := []Filter{LowShelf(60+60*random.Float64(), 0.6, -r.Seating.Leak*math.Abs(random.NormFloat64()))}
	low, high := 5500.0, min(16000, 0.4*float64(r.SampleRate))
	if high <= low {
		return filters
	}
	const peaks = 4
	step := math.Pow(high/low, 1.0/peaks)
	for range peaks {
		f := low * math.Pow(step, random.Float64())
		filters = append(filters, Peak(f, 3+3*random.Float64(), r.Seating.Ripple*random.NormFloat64()))
		low *= step
	}
	return filters
}

// random returns an independent source for each name.
func (r Rig) random(name ...any) *rand.Rand {
	hash := fnv.New64a()
	for _, part := range name {
		fmt.Fprintf(hash, "%v\x00", part)
	}
	return rand.New(rand.NewPCG(r.Seed, hash.Sum64()))
}
