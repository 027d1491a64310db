package recognise

import (
	"math"
	"slices"
	"time"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/statistic"
)

const (
	// frameSeconds is the length of the frames that are classified as sound or silence.
	frameSeconds = 0.01
	// pauseFrames is the number of frames of silence that separate two signals.
	pauseFrames = 10
	// shortest is the length in seconds of the shortest signal that is analysed.
	shortest = 0.05
	// mostStretches bounds the work for a file full of pauses: the longest stretches are analysed.
	mostStretches = 200
)

// stretch is the beginning and the end of a signal.
type stretch struct{ from, to int }

// exact converts frames to samples: from the first sample to the last that stand out of the
// silence, the soft beginning of a fade included.
func (s stretch) exact(x []float64, frame int, floor float64) stretch {
	quiet := func(v float64) bool { return math.Abs(v) <= 2*floor }
	reach := pauseFrames / 2 * frame
	first, last := max(0, s.from*frame-reach), min(len(x), s.to*frame+reach)
	for first < last && quiet(x[first]) {
		first++
	}
	for last > first && quiet(x[last-1]) {
		last--
	}
	return stretch{first, last}
}

// beginAtZero includes the sample before a sweep if it is the zero at which the sine begins.
func (c *Content) beginAtZero() {
	dt := 1 / float64(c.SampleRate)
	before := c.Start
	switch c.Kind {
	case ExponentialSweep:
		before *= math.Exp(-dt / c.TimeConstant)
	case LinearSweep:
		before -= (c.Stop - c.Start) / float64(c.Len)
	default:
		return
	}
	step := math.Pi * (c.Start + before) * dt
	if c.FadeIn == 0 && math.Abs(math.Remainder(c.Phase-step, math.Pi)) < step/10 {
		c.From, c.Len, c.Start, c.Phase = c.From-1, c.Len+1, before, c.Phase-step
	}
}

// Find returns the contents of the channels, stretch by stretch, in order of channel and time.
// Stretches of silence are left out. The samples have full scale 1, and are only read.
//
// A sweep is recognised by the frequency of its frames, and then fitted by its phase. Noise of at
// least 1 s and tones of at least half a second are recognised by their spectra, and a
// maximum-length sequence, of order 4 to 24 and one or two periods, by the shift register that
// generates its signs.
func Find(channels [][]float64, sampleRate int) []Content {
	var all []Content
	for k, x := range channels {
		for _, s := range stretches(x, sampleRate) {
			c := recognise(x[s.from:s.to], sampleRate)
			if c.Channel, c.SampleRate = k+1, sampleRate; c.Len == 0 {
				c.Len = s.to - s.from
			}
			c.From += s.from
			c.heard = s
			if s.from > 0 {
				c.beginAtZero()
			}
			if last := len(all) - 1; last >= 0 && c.Kind == Unknown && all[last].Kind == Unknown &&
				all[last].Channel == c.Channel {
				all[last].Len, all[last].heard.to = s.to-all[last].From, s.to // music with a pause in it
				continue
			}
			c.Doubt = c.doubt()
			all = append(all, c)
		}
	}
	return all
}

// recognise returns the content of one stretch.
func recognise(x []float64, sampleRate int) Content {
	power := statistic.MeanSquare(x)
	if power-power != 0 {
		return Content{Kind: Unknown, Level: math.NaN()} // a sample is NaN or infinite
	}
	for _, one := range []func([]float64, float64) (Content, bool){sequence, chirpIn, tones, noise} {
		if c, ok := one(x, float64(sampleRate)); ok {
			return c
		}
	}
	return Content{Kind: Unknown, Level: decibel.OfPower(power)}
}

// stretches returns the parts of a channel that are not silent. A frame is silent if it is 80 dB
// below the loudest frame, or within 10 dB of the softest tenth if that is 24 dB below.
func stretches(x []float64, sampleRate int) []stretch {
	frame := max(1, int(frameSeconds*float64(sampleRate)))
	peaks := make([]float64, 0, len(x)/frame+1)
	for part := range slices.Chunk(x, frame) {
		var top float64
		for _, v := range part {
			top = max(top, math.Abs(v))
		}
		peaks = append(peaks, top)
	}
	if len(peaks) == 0 {
		return nil
	}
	sorted := slices.Sorted(slices.Values(peaks))
	loud, floor := sorted[len(sorted)-1], sorted[len(sorted)/10]
	if !(loud > 0) || loud-loud != 0 {
		return nil
	}
	if floor > loud/15 {
		floor = 0
	}
	var out []stretch
	for k, top := range peaks {
		if top <= max(3*floor, loud*1e-4) {
			continue
		}
		if last := len(out) - 1; last >= 0 && k-out[last].to < pauseFrames {
			out[last].to = k + 1
		} else {
			out = append(out, stretch{k, k + 1})
		}
	}
	for i := range out {
		out[i] = out[i].exact(x, frame, floor)
	}
	out = slices.DeleteFunc(out, func(s stretch) bool { return float64(s.to-s.from) < shortest*float64(sampleRate) })
	if len(out) > mostStretches {
		slices.SortFunc(out, func(a, b stretch) int { return (b.to - b.from) - (a.to - a.from) })
		out = out[:mostStretches]
		slices.SortFunc(out, func(a, b stretch) int { return a.from - b.from })
	}
	return out
}

func fade(seconds float64) time.Duration {
	if seconds == 0 {
		return -1 // none
	}
	return duration.Of(seconds)
}
