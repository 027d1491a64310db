package distortion

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// Relative is the reference of total harmonic distortion.
type Relative int

// Many makers state total harmonic distortion relative to the fundamental. IEC 60268-3 (from
// memory) states it relative to the total output, harmonics included. At 10 % the two differ by 0.5
// % of the figure.
const (
	THDF Relative = iota // relative to the fundamental
	THDR                 // relative to the total
)

// String returns the reference in words.
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
	// Relative is the reference of the percentage.
	Relative Relative
	// Frequency is that of the fundamental in Hz.
	Frequency float64
	// Level is the sound pressure level of the fundamental in dB SPL; NaN if it is not known.
	Level float64
	// Contains lists the orders that are summed.
	Contains []int
	// OutOfRange lists the orders that were asked for but are not summed, since they are not known.
	OutOfRange []int
}

// THD returns total harmonic distortion at the fundamental f Hz, relative to the fundamental: the
// sum of all orders from the second up to the first whose reading or floor is not known there.
// Between two points of the set it is interpolated as a level in dB, and contains the orders that
// both contain.
//
// The floors of the same orders make the floor. Its power N² = Σ Nᵢ² is subtracted from the power
// R² = Σ Rᵢ² of the readings, so that the noise of the orders does not add up. The noise of the sum
// has about N²/c degrees of freedom, c = Σ Rᵢ² Nᵢ² / 2R², by its variance (Satterthwaite's
// approximation, weighted by the readings).
func (hs *HarmonicSet) THD(f float64) THD {
	i, found := slices.BinarySearch(hs.Fundamental, f)
	total, highest := hs.total(max(0, i-1), min(len(hs.Fundamental), i+1)) // the points beside f
	r, top := total.At(f), 0
	if !math.IsNaN(r.AsRead) {
		top = highest[len(highest)-1]
		if !found {
			top = min(top, highest[0])
		}
	}
	return hs.newTHD(f, r, top)
}

func (hs *HarmonicSet) newTHD(f float64, r Reading, highest int) THD {
	t := THD{Reading: r.Percent(), Frequency: f, Level: math.NaN()}
	for _, o := range hs.Orders {
		if o.N <= highest {
			t.Contains = append(t.Contains, o.N)
		} else {
			t.OutOfRange = append(t.OutOfRange, o.N)
		}
	}
	return t
}

// MeanTHD returns the mean of the total harmonic distortion of several seatings at one fundamental,
// as [Mean] does. Seatings without a reading are left out.
func MeanTHD(seatings ...THD) THD {
	read := slices.DeleteFunc(slices.Clone(seatings), func(t THD) bool { return math.IsNaN(t.AsRead) })
	if len(read) == 0 {
		out := THD{Reading: NewReading(math.NaN(), math.NaN(), "%", Noise{}), Level: math.NaN()}
		if len(seatings) > 0 {
			out.Frequency = seatings[0].Frequency
		}
		return out
	}
	out, readings := read[0].clone(), make([]Reading, len(read))
	for i, t := range read {
		readings[i] = t.Reading
	}
	out.Reading = Mean(readings[0], readings[1:]...)
	return out
}

// String formats the distortion with its frequency and level: "0.12 % at 1 kHz and 94 dB SPL".
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
	return fmt.Sprintf("%s and %.3g dB SPL", at, t.Level)
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
	relative := t.Uncertainty / t.Value / (1 + t.Value*t.Value/1e4)
	t.AsRead, t.Floor, t.Bound = of(t.AsRead), of(t.Floor), of(t.Bound)
	freedom := t.DegreesOfFreedom
	t.Reading = t.with(of(t.Value), relative)
	t.DegreesOfFreedom = freedom
	return t
}

func (t THD) clone() THD {
	t.Contains, t.OutOfRange = slices.Clone(t.Contains), slices.Clone(t.OutOfRange)
	return t
}

// powerSum adds up readings of independent noise.
type powerSum struct {
	power, floor     float64 // Σ R², and Σ N² with the rig's part
	rig              float64 // the rig's part of the floor
	moving, along    float64 // Σ of its part that moves each, and Σ R² times that part
	crossed, unknown float64 // Σ R² N², Σ N⁴/k
	reference        float64 // Σ R² times the common relative uncertainty of each
}

func (s *powerSum) add(r Reading) {
	p, n := r.rms(r.AsRead)*r.rms(r.AsRead), r.rms(r.Floor)*r.rms(r.Floor)
	s.power += p
	s.floor += n
	s.rig += n * r.noise.Rig
	s.moving += n * r.noise.moving()
	s.along += p * n * r.noise.moving()
	n *= 1 - r.noise.Rig
	s.crossed += p * n / (r.noise.Degrees / 2)
	if r.noise.Known > 0 {
		s.unknown += n * n / r.noise.Known
	}
	s.reference += p * r.noise.Reference
}

// noise returns the noise of the sum. The phase of the rig's part ρᵢ is another in each term, and
// moves the power of the sum by 2 Rᵢ ρᵢ cos φᵢ: only the part Σ Rᵢ² ρᵢ²/Σ Rᵢ² of Σ ρᵢ² changes it.
func (s *powerSum) noise() Noise {
	n := Noise{Degrees: 2, Reference: s.reference / s.power}
	if s.crossed > 0 {
		n.Degrees *= s.power * (s.floor - s.rig) / s.crossed
	}
	if s.unknown > 0 {
		n.Known = (s.floor - s.rig) * (s.floor - s.rig) / s.unknown
	}
	if s.rig > 0 && s.power > 0 {
		n.Rig, n.apart = s.rig/s.floor, 1-s.along/s.power/s.rig
	}
	return n
}

// ofMean is like noise, for readings of one quantity. The rig's part has one phase in all of them.
func (s *powerSum) ofMean() Noise {
	n := s.noise()
	if s.rig > 0 {
		n.apart = 1 - s.moving/s.rig
	}
	return n
}

// total returns the sums of the orders at the fundamentals from ≤ i < to as readings in dB, with
// the highest order in each; 0 if not even the second harmonic is known.
func (hs *HarmonicSet) total(from, to int) (Readings, []int) {
	r := newReadings(to - from)
	highest := make([]int, to-from)
	for i := from; i < to; i++ {
		var sum powerSum
		for _, o := range hs.Orders {
			if math.IsNaN(o.AsRead[i]) || math.IsNaN(o.floor(i)) && !math.IsNaN(hs.Orders[0].floor(i)) {
				break
			}
			sum.add(o.Readings.read(i))
			highest[i-from] = o.N
		}
		// not known if nothing was summed
		r.add(hs.Fundamental[i], unbounded(decibel.OfPower(sum.power), decibel.OfPower(sum.floor), "dB", sum.noise()))
	}
	return r, highest
}

// Sum returns the root sum of squares of readings in one unit whose noise is independent, such as
// harmonics of one tone, by the rule of [HarmonicSet.THD]. It is not known if one of them has no
// reading.
func Sum(first Reading, more ...Reading) Reading {
	var s powerSum
	s.add(first)
	for _, r := range more {
		s.add(r)
	}
	return NewReading(first.of(math.Sqrt(s.power)), first.of(math.Sqrt(s.floor)), first.Unit, s.noise())
}

// Mean returns the mean of the readings of one quantity in several seatings, in the unit of the
// first, with the standard uncertainty of that mean: from their scatter or, where that gives a
// narrower interval, from the noise in them, and from the causes that are common to all of them
// (HarmonicSet.Unsure). Readings in dB are averaged as amplitudes too. One reading keeps its own
// uncertainty. Seatings in which nothing was read are left out. If any seating is not known, or
// below its floor, so is the mean. The bound is then that of the root mean square of all.
func Mean(first Reading, more ...Reading) Reading {
	read := append([]Reading{first}, more...)
	read = slices.DeleteFunc(read, func(r Reading) bool { return math.IsNaN(r.AsRead) })
	switch len(read) {
	case 0:
		return first
	case 1:
		return read[0]
	}
	var sum powerSum
	values := make([]float64, len(read))
	below := false
	for i, r := range read {
		sum.add(r)
		values[i] = r.rms(r.Value)
		below = below || r.Below
	}
	n := float64(len(read))
	out := NewReading(first.of(math.Sqrt(sum.power/n)), first.of(math.Sqrt(sum.floor/n)), first.Unit, sum.ofMean())
	out.Below = out.Below || below
	common := 0.0
	for _, r := range read {
		common += r.common() / n
	}
	mean, deviation := stat.MeanStdDev(values, nil) // not known if one value is not
	out.Figure, out.noise = response.NotKnown(first.Unit), Noise{}
	if !math.IsNaN(mean) {
		size := 1.0 // of the unit per unit of amplitude
		if first.level() {
			size = decibel.PerNeper / mean
		}
		own := response.Component{Effects: []float64{size * deviation / math.Sqrt(n)},
			Cause: response.Cause{Name: response.ScatterOfSeatings, CommonTo: response.OneSide, DegreesOfFreedom: n - 1}}
		// Few seatings may scatter less by chance than their noise does.
		noise, student, normal := size*noiseOfMean(read), statistic.StudentQuantile(0.975, n-1),
			distuv.UnitNormal.Quantile(0.975)
		if student*own.Effects[0] < normal*noise {
			own = response.Component{Effects: []float64{noise},
				Cause: response.Cause{Name: response.NoiseOfRecording, CommonTo: response.OneSide}}
		}
		out.Figure = response.Budget{
			own,
			{Cause: response.Cause{Name: "microphone and rig", CommonTo: response.OneRig},
				Effects: []float64{size * mean * common}},
		}.Figure(first.of(mean), first.Unit)
		// The scatter of few seatings may be small by chance, so each part has its own quantile.
		// The common part is a factor, as errors in dB are.
		scatter := response.Figure{DegreesOfFreedom: own.DegreesOfFreedom}.Coverage(0.95) * own.Effects[0]
		factor := math.Exp(distuv.UnitNormal.Quantile(0.95) * common)
		out.Bound = out.Value + math.Hypot(scatter, first.of(mean*factor)-out.Value)
	}
	return out
}

// noiseOfMean returns the standard uncertainty of the mean amplitude of readings from their noise
// alone, which is independent in each.
func noiseOfMean(read []Reading) float64 {
	var sum float64
	for _, r := range read {
		relative := r.Uncertainty / r.Value
		if r.level() {
			relative = r.Uncertainty / decibel.PerNeper
		}
		size := r.rms(r.Value)
		sum += size * size * max(0, relative*relative-r.common()*r.common())
	}
	return math.Sqrt(sum) / float64(len(read))
}
