package correction

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Limits keep a correction gentle. The zero Limits are the usual ones.
type Limits struct {
	// Filters is how many there may be; 5 if zero.
	Filters int
	// Band in which filters may stand; 20 Hz to 10 kHz if zero.
	Band response.Band
	// Boost and Cut are the most gain, in dB, that one filter may have to either
	// side, both above zero; 6 and 12 if zero.
	Boost, Cut float64
	// MinQ and MaxQ limit Q; 0.4 and 4 if zero. Shelves keep from 0.4 to 1 of
	// that, for a steeper one has a bump.
	MinQ, MaxQ float64
	// NoShelves asks for peaking filters only.
	NoShelves bool
	// MinImprovement is by how many dB a filter must lessen the rms deviation to be kept;
	// 0.05 if zero.
	MinImprovement float64
	// SampleRate in Hz for which the filters are fitted; 48 000 if zero.
	SampleRate int
}

// mostFilters keeps a mistaken number from taking all day.
const mostFilters = 20

func (l Limits) withDefaults() Limits {
	if l.Filters == 0 {
		l.Filters = 5
	}
	if l.Band == (response.Band{}) {
		l.Band = response.Band{Low: 20, High: 10000}
	}
	for _, p := range []struct {
		value *float64
		usual float64
	}{{&l.Boost, 6}, {&l.Cut, 12}, {&l.MinQ, 0.4}, {&l.MaxQ, 4}, {&l.MinImprovement, 0.05}} {
		if *p.value == 0 {
			*p.value = p.usual
		}
	}
	if l.SampleRate == 0 {
		l.SampleRate = 48000
	}
	return l
}

func (l Limits) check() error {
	const mostGain, mostQ = 40, 100
	switch {
	case l.Filters < 0 || l.Filters > mostFilters:
		return fmt.Errorf("%d filters; ask for 1 to %d", l.Filters, mostFilters)
	case l.Band.Empty() || !(l.Band.Low > 0):
		return fmt.Errorf("filters from %v Hz to %v Hz; give the low end first, above zero", l.Band.Low, l.Band.High)
	case l.SampleRate <= 0:
		return fmt.Errorf("a sample rate of %v Hz; give it above zero", l.SampleRate)
	case !(l.Band.High < float64(l.SampleRate)/2):
		return fmt.Errorf("filters up to %s are %w of %s; lower the band's high end", response.FormatFrequency(l.Band.High), ErrTooHigh, response.FormatFrequency(float64(l.SampleRate)))
	case !(l.Boost > 0 && l.Boost <= mostGain && l.Cut > 0 && l.Cut <= mostGain):
		return fmt.Errorf("gains from −%v to +%v dB; give both as numbers from 0 to %d", l.Cut, l.Boost, mostGain)
	case !(l.MinQ > 0 && l.MaxQ >= l.MinQ && l.MaxQ <= mostQ):
		return fmt.Errorf("a Q from %v to %v; give the lower first, above zero, and at most %d", l.MinQ, l.MaxQ, mostQ)
	case !(l.MinImprovement >= 0):
		return fmt.Errorf("an improvement of at least %v dB for each filter; it is zero or more", l.MinImprovement)
	}
	return nil
}

// span is what one parameter may be.
type span struct{ low, high float64 }

// at maps any number into the span, and place maps back.
func (s span) at(u float64) float64 { return s.low + (s.high-s.low)/(1+math.Exp(-u)) }

func (s span) place(v float64) float64 {
	if s.high <= s.low {
		return 0
	}
	const margin = 0.01 // a start at the very limit could not leave it
	p := min(1-margin, max(margin, (v-s.low)/(s.high-s.low)))
	return math.Log(p / (1 - p))
}

// slope is the derivative of at.
func (s span) slope(u float64) float64 {
	p := 1 / (1 + math.Exp(-u))
	return (s.high - s.low) * p * (1 - p)
}

// spans of log2 frequency, gain and log2 Q for a shape.
func (l Limits) spans(shape Shape) [3]span {
	low, high := l.MinQ, l.MaxQ
	if shape != Peaking {
		low = max(low, min(0.4, high))
		high = max(low, min(high, 1))
	}
	from, to := math.Log2(l.Band.Low), math.Log2(l.Band.High)
	// A low shelf is a high shelf of the opposite gain but for a constant: one
	// kind is enough for each half of the band.
	switch shape {
	case LowShelf:
		to = (from + to) / 2
	case HighShelf:
		from = (from + to) / 2
	}
	return [3]span{
		{from, to},
		{-l.Cut, l.Boost},
		{math.Log2(low), math.Log2(high)},
	}
}
