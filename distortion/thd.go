package distortion

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Relative says what total harmonic distortion is stated relative to.
type Relative int

// Many makers state total harmonic distortion relative to the fundamental. IEC 60268-3 (from
// memory) states it relative to the total output, harmonics included. The two differ by 0.5 % of
// the figure at 10 %.
const (
	THDF Relative = iota // relative to the fundamental
	THDR                 // relative to the total
)

// String says it in words.
func (r Relative) String() string {
	if r == THDR {
		return "relative to the total"
	}
	return "relative to the fundamental"
}

// THD is total harmonic distortion at one fundamental: the root sum of squares of harmonics. The
// zero THD is not known.
type THD struct {
	// Reading is the distortion in %.
	Reading
	// Relative says what the percentage is of.
	Relative Relative
	// Frequency of the fundamental in Hz.
	Frequency float64
	// Level is the sound pressure level of the fundamental in dB SPL; NaN when it is not known.
	Level float64
	// Contains lists the orders that are summed.
	Contains []int
	// BelowFloor and OutOfRange list the orders that were asked for and are not summed: each too
	// near its own floor, or not known at all.
	BelowFloor, OutOfRange []int
}

// String writes the distortion with its frequency and level: "0.12 % at 1 kHz and 94 dB SPL".
func (t THD) String() string {
	value := "not known"
	switch {
	case t.Below && math.IsNaN(t.Bound):
		value = "below the floor of this measurement"
	case t.Below:
		value = fmt.Sprintf("at most %.2g %%", t.Bound)
	case t.Known():
		value = fmt.Sprintf("%.2g %%", t.Value)
	}
	at := value + " at " + response.FormatFrequency(t.Frequency)
	if math.IsNaN(t.Level) {
		return at + " and a level that is not known"
	}
	return fmt.Sprintf("%s and %.4g dB SPL", at, t.Level)
}

// ReTotal returns distortion relative to the fundamental as THD-R, relative to the total. With r
// the ratio to the fundamental it is r/√(1 + r²), and its uncertainty u/(1 + r²)^(3/2).
func (t THD) ReTotal() THD {
	t = t.clone()
	if t.Relative == THDR {
		return t
	}
	of := func(percent float64) float64 { return percent / math.Hypot(1, percent/100) }
	t.Relative = THDR
	t.Uncertainty /= math.Pow(math.Hypot(1, t.Value/100), 3)
	t.Value, t.AsRead, t.Floor, t.Bound = of(t.Value), of(t.AsRead), of(t.Floor), of(t.Bound)
	return t
}

func (t THD) clone() THD {
	t.Contains, t.BelowFloor, t.OutOfRange = slices.Clone(t.Contains), slices.Clone(t.BelowFloor), slices.Clone(t.OutOfRange)
	return t
}

// THD sums the harmonics at each fundamental of the set, relative to the fundamental: all orders
// from the second up to the first that is not known there.
//
// The floors of the same orders make the floor. With powers p relative to the fundamental and
// floors N² the uncertainty as a level is
//
//	u = 20/ln 10 · √(Σ p N² / 2) / Σ p,
//
// what the uncertainty of each order makes of their sum.
func (hs *HarmonicSet) THD() []THD {
	total, highest := hs.total()
	out := make([]THD, len(hs.Fundamental))
	for i, f := range hs.Fundamental {
		out[i] = hs.newTHD(f, total.at(i), highest[i])
	}
	return out
}

// THDAt returns total harmonic distortion at the fundamental f Hz, interpolated as a level in dB.
// It contains the orders that both points beside f do.
func (hs *HarmonicSet) THDAt(f float64) THD {
	total, highest := hs.total()
	r, top := total.At(f), 0
	if !math.IsNaN(r.AsRead) {
		i, found := slices.BinarySearch(hs.Fundamental, f)
		top = highest[min(i, len(highest)-1)]
		if !found && i > 0 {
			top = min(top, highest[i-1])
		}
	}
	return hs.newTHD(f, r, top)
}

func (hs *HarmonicSet) newTHD(f float64, r Reading, highest int) THD {
	t := THD{Reading: r.percent(), Frequency: f, Level: math.NaN()}
	for _, o := range hs.Orders {
		if o.N <= highest {
			t.Contains = append(t.Contains, o.N)
		} else {
			t.OutOfRange = append(t.OutOfRange, o.N)
		}
	}
	return t
}

// total is the sum of the orders as readings in dB, with the highest order in each; 0 where not
// even the second harmonic is known.
func (hs *HarmonicSet) total() (Readings, []int) {
	n := len(hs.Fundamental)
	r, highest := Readings{Fundamental: hs.Fundamental, AsRead: make([]float64, n)}, make([]int, n)
	if len(hs.Orders) > 0 && hs.Orders[0].Floor != nil {
		r.Floor, r.Uncertainty = make([]float64, n), make([]float64, n)
	}
	for i := range hs.Fundamental {
		var power, floor, crossed float64 // Σ p, Σ N², Σ p N²
		for _, o := range hs.Orders {
			if math.IsNaN(o.AsRead[i]) {
				break
			}
			p := decibel.Power(o.AsRead[i])
			power += p
			if o.Floor != nil {
				n := decibel.Power(o.Floor[i])
				floor += n
				crossed += p * n
			}
			highest[i] = o.N
		}
		r.AsRead[i] = decibel.OfPower(power) // not known where nothing was summed
		if r.Floor != nil {
			r.Floor[i] = decibel.OfPower(floor)
			r.Uncertainty[i] = decibel.PerNeper * math.Sqrt(crossed/2) / power
		}
	}
	return r, highest
}

// MeanTHD returns the mean of the total harmonic distortion of several seatings at one fundamental,
// with the standard uncertainty of that mean. One seating keeps its own uncertainty, which is the
// noise's alone. Seatings in which nothing was read are left out. If any seating is below its floor
// so is the mean, and its bound is the highest of the bounds.
func MeanTHD(seatings ...THD) THD {
	out := THD{Reading: newReading(math.NaN(), math.NaN(), math.NaN()).percent(), Level: math.NaN()}
	if len(seatings) > 0 {
		out.Frequency = seatings[0].Frequency
	}
	var read []float64
	floor, bound := 0.0, math.Inf(-1)
	for _, t := range seatings {
		if math.IsNaN(t.AsRead) {
			continue
		}
		below := out.Below || t.Below
		if len(read) == 0 {
			out = t.clone()
		}
		out.Below = below
		read = append(read, t.AsRead)
		floor, bound = max(floor, t.Floor), max(bound, t.Bound) // not known where one is not
	}
	n := len(read)
	if n < 2 {
		return out
	}
	var deviation float64
	out.AsRead, deviation = stat.MeanStdDev(read, nil)
	out.Floor, out.Bound = floor, bound
	out.Figure = response.Figure{Value: out.AsRead, Uncertainty: deviation / math.Sqrt(float64(n)), DegreesOfFreedom: float64(n - 1), Unit: "%"}
	if out.Below {
		out.Figure = response.NotKnown("%")
	}
	return out
}
