package response

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
)

// nearNoise is the least ratio of the power of a decay to that of the noise at which the decay is
// known. Below the ratio sunken the decay cannot be distinguished from the noise.
const (
	nearNoise = 10
	sunken    = 2
)

// integrate turns the squared envelope of the band into the decay curve. The first lead samples lie
// before the response, where there is no noise.
func (d *Decay) integrate(power []float64, lead int) {
	noise := d.noise(power)
	smooth := movingMean(power, int(math.Round(2/d.bandwidth()/d.Step)))
	d.Noise = 10 * math.Log10(noise/slices.Max(power))
	if !(slices.Max(smooth) > nearNoise*noise) {
		d.unknown = "noise drowns the band"
		return
	}
	near := lastAbove(smooth, nearNoise*noise)
	end := near
	for end < len(power)-1 && smooth[end] > sunken*noise {
		end++
	}
	left := tail(smooth, near, end, noise) * d.Step
	energy := make([]float64, end+1)
	for i := end - 1; i >= 0; i-- {
		energy[i] = energy[i+1] + (power[i]+power[i+1])/2*d.Step
		if i >= lead {
			energy[i] -= noise * d.Step
		}
	}
	d.Level, d.deviation = make([]float64, len(power)), make([]float64, len(power))
	all := energy[0] + left
	for i := range d.Level {
		d.Level[i], d.deviation[i] = math.NaN(), math.NaN()
		if i > near {
			continue
		}
		rest := energy[i] + left
		d.Level[i] = decibel.OfPower(rest / all)
		// The energy of noise over a time T scatters by 1/√(BT).
		scatter := noise * math.Sqrt(float64(end-i)*d.Step/d.bandwidth())
		d.deviation[i] = 10 / math.Ln10 * scatter / rest
	}
}

// bandwidth returns that of noise through the filter, in Hz: ∫ |H|² df = σ √π.
func (d *Decay) bandwidth() float64 { return d.rate / (2 * math.Sqrt(math.Pi)) }

// noise returns the mean power in the last quarter after the peak, without the very end, where the
// filter spreads the cut.
func (d *Decay) noise(power []float64) float64 {
	origin := int(-d.Start / d.Step)
	stop := len(power) - int(2/d.rate/d.Step)
	start := stop - (len(power)-origin)/4
	if start <= origin || stop <= start {
		return math.Inf(1)
	}
	return stat.Mean(power[start:stop], nil)
}

// filterTime returns the time at which the filter's own energy has fallen to level: it is ½
// erfc(rate t) of all.
func (d *Decay) filterTime(level float64) float64 {
	return math.Erfcinv(2*decibel.Power(level)) / d.rate
}

const (
	reasonNoise  = "the noise is too near"
	reasonFilter = "the band's own filter rings as long"
)

// To returns the time from the peak until the energy still to come in the band has fallen to level:
// To(−20) is the time until 1 % is left. It is not known where the decay is within 10 dB of the
// noise, or if it is less than three times the decay time of the band's filter alone. The filter
// spreads the onset, so that a decay comes out late by about 0.5 to 0.7 of 1/(2πσ). The uncertainty
// includes that and the effect of the noise. The reason says why a time is not known, and is empty
// for one that is. To panics unless level is negative.
func (d *Decay) To(level float64) (time Figure, reason string) {
	if !(level < 0) {
		panic("response: a decay to a level that is not below 0 dB")
	}
	i, reason := d.crossing(level)
	if reason != "" {
		return unknownTime, reason
	}
	t := d.timeAt(i, level)
	if t < filterMargin*d.filterTime(level) {
		return unknownTime, reasonFilter
	}
	slope := (d.Level[i] - d.Level[i-1]) / d.Step
	return Figure{Value: t, Uncertainty: math.Hypot(d.deviation[i-1]/slope, 0.5/d.rate), Unit: "s"}, ""
}

// crossing returns the first sample at which the curve is at or below level; it is never sample 0.
func (d *Decay) crossing(level float64) (i int, reason string) {
	if d.unknown != "" {
		return 0, d.unknown
	}
	for i, v := range d.Level {
		if math.IsNaN(v) {
			break
		}
		if v <= level && i > 0 {
			return i, ""
		}
	}
	return 0, reasonNoise
}

// timeAt returns the time of level just before sample i, by interpolation.
func (d *Decay) timeAt(i int, level float64) float64 {
	share := (level - d.Level[i-1]) / (d.Level[i] - d.Level[i-1])
	return d.Start + (float64(i-1)+share)*d.Step
}

// tail returns the energy after sample end of a decay that continues at the rate at which it fell
// from 10 times near's power to near.
func tail(smooth []float64, near, end int, noise float64) float64 {
	before := lastAbove(smooth, 10*smooth[near])
	if before == 0 { // nothing to take the slope from
		return 0
	}
	perSample := math.Ln10 / float64(near-before)
	return max(0, smooth[end]-noise) / perSample
}

func lastAbove(x []float64, threshold float64) int {
	for i := len(x) - 1; i >= 0; i-- {
		if x[i] > threshold {
			return i
		}
	}
	return 0
}

// movingMean returns the mean over width samples around each, fewer at the ends.
func movingMean(x []float64, width int) []float64 {
	sums := make([]float64, len(x)+1)
	for i, v := range x {
		sums[i+1] = sums[i] + v
	}
	out := make([]float64, len(x))
	half := max(0, width/2)
	for i := range out {
		from, to := max(0, i-half), min(len(x), i+half+1)
		out[i] = (sums[to] - sums[from]) / float64(to-from)
	}
	return out
}

// filterMargin is the least ratio of a decay time to that of its filter.
const filterMargin = 3

var unknownTime = NotKnown("s")
