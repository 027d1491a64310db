package correction

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Config keeps a correction gentle. The zero Config is the usual one.
type Config struct {
	// Filters is the largest number of filters; 5 if zero.
	Filters int
	// Band is the band of the filters' frequencies; 20 Hz to 10 kHz if zero.
	Band response.Band
	// Boost and Cut are the largest gain and attenuation of one filter in dB, both above zero; 6
	// and 12 if zero.
	Boost, Cut float64
	// MinQ and MaxQ limit Q; 0.4 and 4 if zero. Shelves stay within 0.4 to 1 of that range, since a
	// steeper one has a bump.
	MinQ, MaxQ float64
	// NoShelves asks for peaking filters only.
	NoShelves bool
	// MinImprovement is the least reduction in dB of the rms deviation for which a filter is kept;
	// 0.05 if zero.
	MinImprovement float64
	// SampleRate is the rate in Hz for which the filters are fitted; 48 000 if zero.
	SampleRate int
}

// mostFilters keeps a mistaken number from taking all day.
const mostFilters = 20

func (c Config) withDefaults() Config {
	if c.Filters == 0 {
		c.Filters = 5
	}
	if c.Band == (response.Band{}) {
		c.Band = response.Band{Low: 20, High: 10000}
	}
	for _, p := range []struct {
		value *float64
		usual float64
	}{{&c.Boost, 6}, {&c.Cut, 12}, {&c.MinQ, 0.4}, {&c.MaxQ, 4}, {&c.MinImprovement, 0.05}} {
		if *p.value == 0 {
			*p.value = p.usual
		}
	}
	if c.SampleRate == 0 {
		c.SampleRate = 48000
	}
	return c
}

func (c Config) check() error {
	const mostGain, mostQ = 40, 100
	switch {
	case c.Filters < 0 || c.Filters > mostFilters:
		return fmt.Errorf("%d filters; ask for 1 to %d", c.Filters, mostFilters)
	case c.Band.Empty() || !(c.Band.Low > 0):
		return fmt.Errorf("filters from %v Hz to %v Hz; give the low end first, above zero", c.Band.Low, c.Band.High)
	case c.SampleRate <= 0:
		return fmt.Errorf("a sample rate of %v Hz; give it above zero", c.SampleRate)
	case !(c.Band.High < float64(c.SampleRate)/2):
		return fmt.Errorf("filters up to %s are %w of %s; lower the band's high end",
			response.FormatFrequency(c.Band.High), ErrTooHigh, response.FormatFrequency(float64(c.SampleRate)))
	case !(c.Boost > 0 && c.Boost <= mostGain && c.Cut > 0 && c.Cut <= mostGain):
		return fmt.Errorf("gains from −%v to +%v dB; give both as numbers from 0 to %d", c.Cut, c.Boost, mostGain)
	case !(c.MinQ > 0 && c.MaxQ >= c.MinQ && c.MaxQ <= mostQ):
		return fmt.Errorf("a Q from %v to %v; give the lower first, above zero, and at most %d", c.MinQ, c.MaxQ, mostQ)
	case !(c.MinImprovement >= 0):
		return fmt.Errorf("an improvement of at least %v dB for each filter; it is zero or more", c.MinImprovement)
	}
	return nil
}

// spans returns the ranges of log2 frequency, gain and log2 Q for a shape.
func (c Config) spans(shape Shape) [3]span {
	low, high := c.MinQ, c.MaxQ
	if shape != Peaking {
		low = max(low, min(0.4, high))
		high = max(low, min(high, 1))
	}
	from, to := math.Log2(c.Band.Low), math.Log2(c.Band.High)
	// A low shelf is a high shelf of the opposite gain, except for a constant: one kind is enough
	// for each half of the band.
	switch shape {
	case LowShelf:
		to = (from + to) / 2
	case HighShelf:
		from = (from + to) / 2
	}
	return [3]span{
		{from, to},
		{-c.Cut, c.Boost},
		{math.Log2(low), math.Log2(high)},
	}
}

// span is the range of one parameter.
type span struct{ low, high float64 }

// at maps any number into the span, and place maps back.
func (s span) at(u float64) float64 { return s.low + (s.high-s.low)/(1+math.Exp(-u)) }

func (s span) place(v float64) float64 {
	if s.high <= s.low {
		return 0
	}
	const margin = 0.01 // an optimisation that starts at the limit could not leave it
	p := min(1-margin, max(margin, (v-s.low)/(s.high-s.low)))
	return math.Log(p / (1 - p))
}

// slope returns the derivative of at.
func (s span) slope(u float64) float64 {
	p := 1 / (1 + math.Exp(-u))
	return (s.high - s.low) * p * (1 - p)
}
