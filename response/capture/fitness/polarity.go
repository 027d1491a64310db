package fitness

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/response"
)

// detectPolarity compares the polarity of two channels, and that of a direct recording with the
// stimulus.
func detectPolarity(r *recording) (found []response.Finding) {
	a, b := r.pair()
	if a != nil && a.placed == nil && b.placed == nil {
		return detectProgrammePolarity(a, b)
	}
	const highestStart = 1500 // Hz: Place.Response ends below 3 kHz
	if r.Stimulus != nil && r.Stimulus.Sweep().Start() > highestStart {
		return nil
	}
	var upside []*channel
	for _, c := range r.channels {
		if c.placed != nil && c.peakOfSweep() < 0 {
			upside = append(upside, c)
		}
	}
	if a != nil && a.placed != nil && b.placed != nil {
		if match := correlationOf(a.placed.Response, b.placed.Response); match < -0.6 {
			// Headphones may be wired like that, and the level of each side is still right.
			f := response.Finding{Kind: OppositePolarity, Severity: unfitIf(r.Direct), Channel: b.number,
				Time: nowhere, Duration: nowhere,
				Remedy:  "check the wiring of plugs, adapters and microphones, and record again",
				Figures: figures{"correlation": figure(match, "")}}
			if r.Direct && len(upside) == 1 {
				f.Channel = upside[0].number
			}
			f.What = fmt.Sprintf("%s has opposite polarity (the two sides correlate by %s)",
				r.label(f.Channel), signed(match, 2))
			return []response.Finding{r.finding(f)}
		}
	}
	if !r.Direct || len(upside) == 0 {
		return nil
	}
	return []response.Finding{
		r.finding(response.Finding{Kind: OppositePolarity, Severity: response.Note, Time: nowhere, Duration: nowhere,
			What:   "the recording is inverted: the interface inverts the polarity",
			Remedy: "record the headphones through the same interface, and it cancels"})}
}

// detectProgrammePolarity compares the channels of music and speech: those of a wide recording
// correlate a little below 0 at times.
func detectProgrammePolarity(a, b *channel) []response.Finding {
	var ab, aa, bb float64
	for i, v := range a.x {
		v, w := v-a.offset, b.x[i]-b.offset
		ab += v * w
		aa += v * v
		bb += w * w
	}
	match := ab / math.Sqrt(aa*bb)
	if !(match < -0.8) {
		return nil
	}
	return []response.Finding{a.recording.finding(response.Finding{Kind: OppositePolarity, Severity: response.Warning,
		Time: nowhere, Duration: nowhere,
		What:    fmt.Sprintf("the channels have opposite polarity (they correlate by %s)", signed(match, 2)),
		Remedy:  "check the wiring of plugs, adapters and microphones, and record again",
		Figures: figures{"correlation": figure(match, "")}})}
}

// correlationOf returns the normalised correlation of two responses of one length, 10 ms to either
// side of their middle, at the lag of up to 6 samples where its magnitude is largest.
func correlationOf(a, b []float64) float64 {
	const reach = 60
	middle := len(a) / 2
	a, b = a[middle-reach:middle+reach+1], b[middle-reach:middle+reach+1]
	aa, bb, best := floats.Dot(a, a), floats.Dot(b, b), 0.0
	for lag := -6; lag <= 6; lag++ {
		var sum float64
		for i := max(0, lag); i < min(len(a), len(b)+lag); i++ {
			sum += a[i] * b[i-lag]
		}
		if math.Abs(sum) > math.Abs(best) {
			best = sum
		}
	}
	return best / math.Sqrt(aa*bb)
}
