package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// polarity compares that of two channels, and that of a direct recording with the stimulus.
func (e *examination) polarity() {
	if len(e.channels) == 2 && e.channels[0].placed == nil && e.channels[1].placed == nil {
		e.programmePolarity()
		return
	}
	var upside []*channel
	for _, c := range e.channels {
		if c.placed != nil && c.placed.polarity < 0 {
			upside = append(upside, c)
		}
	}
	opposite := false
	if a, b := e.pair(); a != nil && a.placed != nil && b.placed != nil {
		match := correlationOf(a.placed.impulse(), b.placed.impulse())
		if opposite = match < -0.6; opposite {
			f := response.Finding{Kind: OppositePolarity, Severity: response.Unfit, Channel: b.number, Time: nowhere, Duration: nowhere,
				Remedy: "check the wiring of plugs, adapters and microphones, and record again", Figures: figures{"correlation": figure(match, "")}}
			if e.Direct && len(upside) == 1 {
				f.Channel = upside[0].number
			}
			f.What = fmt.Sprintf("%s is of opposite polarity (the two sides correlate by %s)", e.label(f.Channel), signed2(match))
			e.add(f)
		}
	}
	if e.Direct && !opposite && len(upside) > 0 {
		e.add(response.Finding{Kind: OppositePolarity, Severity: response.Note, Time: nowhere, Duration: nowhere,
			What: "the recording is upside down: the interface turns the polarity", Remedy: "record the headphones through the same interface, and it cancels"})
	}
}

// pair is the two channels of a recording that has two.
func (e *examination) pair() (a, b *channel) {
	if len(e.channels) != 2 {
		return nil, nil
	}
	return e.channels[0], e.channels[1]
}

// programmePolarity compares the channels of music and speech: those of a wide recording correlate a little below 0 at times.
func (e *examination) programmePolarity() {
	a, b := e.pair()
	var ab, aa, bb float64
	for i, v := range a.x {
		v, w := v-a.mean, b.x[i]-b.mean
		ab += v * w
		aa += v * v
		bb += w * w
	}
	match := ab / math.Sqrt(aa*bb)
	if !(match < -0.8) {
		return
	}
	e.add(response.Finding{Kind: OppositePolarity, Severity: response.Warning, Time: nowhere, Duration: nowhere,
		What:   fmt.Sprintf("the channels are of opposite polarity (they correlate by %s)", signed2(match)),
		Remedy: "check the wiring of plugs, adapters and microphones, and record again", Figures: figures{"correlation": figure(match, "")}})
}

// correlationOf is the normalised correlation of two responses of one length, at the lag of up to 6 samples where its
// magnitude is largest.
func correlationOf(a, b []float64) float64 {
	var aa, bb, best float64
	for i := range a {
		aa += a[i] * a[i]
		bb += b[i] * b[i]
	}
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
