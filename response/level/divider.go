package level

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/cmplxs"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// Divider is the circuit that measures impedance: an amplifier drives the load through a known
// resistor; one channel records the voltage across both, the other the voltage across the load
// alone.
//
//	amplifier ──┬──[ Series ]──┬──[ load Z ]── ground
//	            │              │
//	      source channel  load channel
//
// With T the ratio of load to source voltage,
//
//	T = Z/(Z + Rs),  so  Z = Rs T/(1 − T)
//
// A resistor of the order of the impedance is best, since the relative uncertainty of Z is up to
// (Rs + |Z|)²/(Rs |Z|) times the uncertainty of T. The two channels never have exactly the same
// gain; a second recording, with a known resistor as the load, corrects for the difference.
//
// Keep the level so low that the headphones do not distort. Nobody may wear them meanwhile.
type Divider struct {
	// Series is the resistor in Ω, with its standard uncertainty: the tolerance/√3, or that of the
	// ohmmeter.
	Series response.Figure
	// Known is the resistor in Ω that replaced the load in Reference. It is not used without one.
	Known response.Figure
	// Reference is the ratio of load to source voltage measured with the known resistor. If it is
	// nil, the channels are taken as equal, and a finding says so.
	Reference *Ratio
	// InputImpedance is that of the load channel in Ω, which is in parallel to the load. Zero means
	// that it is high enough to be ignored.
	InputImpedance float64
}

// Impedance returns the impedance of the load for a measured ratio of load to source voltage. If
// the resistance is below zero by more than its uncertainty, which no passive load has, the
// impedance is not known there, or not at all if that is so at many frequencies, and a finding says
// where. Its uncertainty is known only if that of the ratio is.
//
// Errors: ErrSeriesResistor for a resistor that is not above zero, or above 1 MΩ; ErrUnequal for a
// reference at other frequencies, the same as the ratio, or exchanged with it; ErrSwapped,
// ErrReversed, ErrNoCurrent and ErrShorted for a ratio that no passive load gives.
func (d Divider) Impedance(ratio *Ratio) (Impedance, error) {
	if err := d.check(ratio); err != nil {
		return Impedance{}, err
	}
	z := Impedance{Frequency: slices.Clone(ratio.Frequency), PhaseKnown: true, Coherence: slices.Clone(ratio.Coherence),
		Valid: ratio.Valid}
	known := ratio.Uncertainty != nil && !math.IsNaN(d.Series.Uncertainty)
	if d.Reference == nil {
		z.Findings = append(z.Findings, remark(UnequalChannels,
			"the channels were taken to have the same gain",
			"measure a known resistor in place of the load to correct for their difference"))
	} else {
		found, err := d.compareChannels(ratio)
		if err != nil {
			return Impedance{}, err
		}
		z.Findings = append(z.Findings, found...)
		z.Valid = z.Valid.Intersect(d.Reference.Valid)
		known = known && d.Reference.Uncertainty != nil && !math.IsNaN(d.Known.Uncertainty)
	}
	z.Ohms = make([]complex128, len(ratio.T))
	if known {
		z.Uncertainty = make([]float64, len(ratio.T))
	}
	corrected := make([]complex128, len(ratio.T))
	for i, t := range ratio.T {
		reference := complex(math.NaN(), 0)
		if d.Reference != nil {
			reference = d.Reference.T[i]
		}
		if corrected[i] = d.corrected(t, reference); !z.Valid.Contains(ratio.Frequency[i]) {
			corrected[i] = cmplx.NaN()
		}
		z.Ohms[i] = d.load(corrected[i])
		if known {
			z.Uncertainty[i] = d.uncertainty(ratio, i)
		}
	}
	late := lag(z.Frequency, corrected)
	if err := d.plausible(corrected, late); err != nil {
		return Impedance{}, err
	}
	z.refuseNegative(late)
	return z, nil
}

// corrected removes the difference between the channels from a ratio: it multiplies by the ratio
// that the known resistor should have given, over the one that it gave.
func (d Divider) corrected(t, reference complex128) complex128 {
	if d.Reference == nil {
		return t
	}
	return t / reference * complex(d.knownRatio(), 0)
}

// knownRatio returns the ratio that the known resistor gives if the channels are equal.
func (d Divider) knownRatio() float64 {
	r := d.Known.Value
	if d.InputImpedance > 0 {
		r = r * d.InputImpedance / (r + d.InputImpedance)
	}
	return r / (r + d.Series.Value)
}

// compareChannels returns an error if the recordings of load and known resistor are exchanged, or
// one of them has its channels exchanged, and findings if the known resistor gives a ratio that two
// inputs of one gain do not.
func (d Divider) compareChannels(ratio *Ratio) (found []response.Finding, err error) {
	if cmplxs.Same(ratio.T, d.Reference.T) {
		return nil, sameRecording("the load's recording", "that of the known resistor")
	}
	middle, varies := spread(d.Reference)
	_, loadVaries := spread(ratio)
	off := decibel.OfAmplitude(middle / d.knownRatio())
	exchanged := decibel.OfAmplitude(1 / middle / d.knownRatio())
	const some, flat, unequal = 0.5, 1, 1 // dB: inputs of one interface at one gain are closer (common practice)
	switch {
	case varies > some && loadVaries < varies/3:
		return nil, fmt.Errorf("level: impedance: %w: the ratio with the known resistor varies by %.1f dB over frequency, "+
			"and that with the load by %.1f dB; exchange the two recordings", ErrUnequal, varies, loadVaries)
	case off > 3*unequal && math.Abs(exchanged) < unequal:
		return nil, fmt.Errorf("level: impedance: %w: with the known resistor, the load channel carries %.3g times the "+
			"voltage of the source channel, where %.3g times is expected; exchange the channels of every recording in "+
			"which they are the wrong way round, or set both inputs to one gain", ErrSwapped, middle, d.knownRatio())
	case varies > flat:
		found = append(found, remark(UnequalChannels,
			fmt.Sprintf("the ratio with the known resistor varies by %.1f dB over "+
				"frequency, which a resistor's does not", varies), "connect the known resistor alone and record it again"))
	case math.Abs(off) > unequal:
		found = append(found, remark(UnequalChannels,
			fmt.Sprintf("by the known resistor the gains of the channels differ by "+
				"%.1f dB, which is corrected: if both inputs have one gain, a resistor does not have the value that is stated, "+
				"or its recording is another one", math.Abs(off)), "measure both resistors"))
	}
	return found, nil
}

// load returns the impedance that gives a ratio, without the input impedance in parallel to it.
func (d Divider) load(t complex128) complex128 {
	z := complex(d.Series.Value, 0) * t / (1 - t)
	if d.InputImpedance > 0 {
		z = 1 / (1/z - complex(1/d.InputImpedance, 0))
	}
	return z
}

// uncertainty returns that of |Z| at point i: from the two resistors, by differences, and from the
// ratios. Noise is isotropic in the complex plane, so its part along Z is
//
//	u(|Z|) = |Z| u(T)/(|T| |1 − T|),  from dZ = Rs dT/(1 − T)²
func (d Divider) uncertainty(ratio *Ratio, i int) float64 {
	reference := complex(math.NaN(), 0)
	noise := ratio.Uncertainty[i] / cmplx.Abs(ratio.T[i])
	if d.Reference != nil {
		reference = d.Reference.T[i]
		noise = math.Hypot(noise, d.Reference.Uncertainty[i]/cmplx.Abs(reference))
	}
	t := d.corrected(ratio.T[i], reference)
	z, measured := cmplx.Abs(d.load(t)), d.Series.Value*cmplx.Abs(t/(1-t))
	noise *= z * z / measured / cmplx.Abs(1-t) // without anything in parallel z is the measured value
	resistors := propagate(Ohm, func(x []float64) float64 {
		moved := d
		moved.Series.Value, moved.Known.Value = x[0], x[1]
		return cmplx.Abs(moved.load(moved.corrected(ratio.T[i], reference)))
	}, d.Series, d.Known)
	return math.Hypot(noise, resistors.Uncertainty)
}

func (d Divider) check(ratio *Ratio) error {
	if err := checkPositive(d.Series, "series resistor", Ohm); err != nil {
		return fmt.Errorf("%w; without a resistor of known value no current is known%.0w", err, ErrSeriesResistor)
	}
	const most = 1e6 // Ω
	if d.Series.Value > most {
		return fmt.Errorf("%w %w: %v Ω; it is of the order of the load, 10 Ω to 1 kΩ as a rule",
			ErrSeriesResistor, ErrInput, d.Series.Value)
	}
	if d.InputImpedance < 0 || math.IsNaN(d.InputImpedance) {
		return fmt.Errorf("level: input impedance of the load channel %w: %v Ω; leave it at zero if it is high",
			ErrInput, d.InputImpedance)
	}
	if d.Reference == nil {
		return nil
	}
	if err := checkPositive(d.Known, "known resistor", Ohm); err != nil {
		return err
	}
	if !slices.Equal(ratio.Frequency, d.Reference.Frequency) {
		return fmt.Errorf("level: impedance: %w: the known resistor was measured at other frequencies than the load; "+
			"measure both at one sample rate and with one analysis", ErrUnequal)
	}
	return nil
}

// plausible returns an error if no passive load can give the ratios, by their median over
// frequency. A load voltage that comes late seconds after that of the source is not reversed.
func (d Divider) plausible(t []complex128, late float64) error {
	var size, along []float64
	for _, v := range t {
		if !cmplx.IsNaN(v) && !cmplx.IsInf(v) {
			size, along = append(size, cmplx.Abs(v)), append(along, real(v))
		}
	}
	if len(size) == 0 {
		return fmt.Errorf("level: impedance: %w: the voltage is not known at any frequency; raise the level and record again",
			ErrNoSignal)
	}
	middle, inPhase := statistic.Median(size), statistic.Median(along)
	const same, none, least = 0.002, 1e-4, 0.5 // of the source; Ω, below any headphones
	switch {
	case middle > 1+same && d.Reference != nil:
		return fmt.Errorf("level: impedance: %w: corrected by the known resistor, the load channel carries %.3g times the "+
			"voltage of the source channel; a load behind a resistor cannot: exchange the two, or measure both resistors",
			ErrSwapped, middle)
	case middle > 1+same:
		return fmt.Errorf("level: impedance: %w: the load channel carries %.3g times the voltage of the source channel; "+
			"a load behind a resistor cannot: exchange the two, or set both inputs to one gain", ErrSwapped, middle)
	case middle < none || middle*d.Series.Value < least:
		return fmt.Errorf("level: impedance: %w: it is %.2g of that of the source; "+
			"the load is shorted, or the load channel is not connected", ErrShorted, middle)
	case inPhase < 0 && late == 0:
		return fmt.Errorf("level: impedance: %w: load and source voltage are in opposition; "+
			"a load behind a resistor cannot do that: exchange the wires of one input", ErrReversed)
	case middle > 1-same:
		return fmt.Errorf("level: impedance: %w: both channels carry the same voltage (ratio %.4f); "+
			"the load is not connected, the series resistor is bridged, or one channel is named for both", ErrNoCurrent, middle)
	}
	return nil
}

// refuseNegative sets the impedance to not known where the resistance is below zero by more than
// its uncertainty, and everywhere if that is so at more than a twentieth of the frequencies: the
// cause, such as a delay between the channels, is then at the others too. The load
// voltage comes late seconds after that of the source; 0 if that is not known.
func (z *Impedance) refuseNegative(late float64) {
	const mostByNoise = 1. / 20
	var where []float64
	known := 0
	for i, v := range z.Ohms {
		if !cmplx.IsNaN(v) {
			known++
		}
		slack := 0.01 * cmplx.Abs(v)
		if z.Uncertainty != nil {
			slack = max(slack, 2*z.Uncertainty[i])
		}
		if real(v) < -slack {
			where = append(where, z.Frequency[i])
			z.forget(i)
		}
	}
	if len(where) == 0 {
		return
	}
	reach := "not known there"
	if float64(len(where)) > mostByNoise*float64(known) {
		reach = "the impedance is not known at any frequency"
		for i := range z.Ohms {
			z.forget(i)
		}
	}
	cause, remedy := "suspect noise, a channel delayed against the other, or a wrong series resistor", ""
	if late != 0 {
		cause = fmt.Sprintf("the load channel comes about %.0f µs %s the source channel", 1e6*math.Abs(late),
			map[bool]string{true: "after", false: "before"}[late > 0])
		remedy = "record both channels with one interface, without effects on one of them"
	}
	z.Findings = append(z.Findings, remark(NegativeResistance,
		fmt.Sprintf("the resistance comes out below zero at %d of %d frequencies, from %s to %s, "+
			"which no passive load has: %s; %s",
			len(where), len(z.Frequency), response.FormatFrequency(where[0]), response.FormatFrequency(where[len(where)-1]),
			cause, reach), remedy))
}

// forget sets the impedance at point i to not known.
func (z *Impedance) forget(i int) {
	z.Ohms[i] = cmplx.NaN()
	if z.Uncertainty != nil {
		z.Uncertainty[i] = math.NaN()
	}
}

// lag returns the time in seconds by which the load voltage comes after that of the source, from the
// mean turn of the ratio's phase from one frequency to the next. It is 0 where the phase turns by so
// little up to the highest frequency that the load alone may turn it, which is at most a quarter of
// a circle.
func lag(frequency []float64, t []complex128) float64 {
	const load = 0.3 // circles
	var turn complex128
	var top float64
	for i := 1; i < len(t); i++ {
		if v := t[i] * cmplx.Conj(t[i-1]); !cmplx.IsNaN(v) {
			turn += v
			top = frequency[i]
		}
	}
	if turn == 0 {
		return 0
	}
	late := -cmplx.Phase(turn) / (2 * math.Pi * (frequency[1] - frequency[0]))
	if math.Abs(late)*top < load {
		return 0
	}
	return late
}

// spread returns the median of a ratio, and the range in dB of its medians by third octave.
func spread(r *Ratio) (middle, varies float64) {
	thirds := map[int][]float64{}
	var all []float64
	for i, t := range r.T {
		if f := r.Frequency[i]; f >= 40 && f < 10240 && !cmplx.IsNaN(t) {
			third := int(3 * math.Log2(f/40))
			thirds[third], all = append(thirds[third], cmplx.Abs(t)), append(all, cmplx.Abs(t))
		}
	}
	if len(all) == 0 {
		return math.NaN(), 0
	}
	low, high := math.Inf(1), 0.0
	for _, one := range thirds {
		m := statistic.Median(one)
		low, high = min(low, m), max(high, m)
	}
	return statistic.Median(all), decibel.OfAmplitude(high / low)
}
