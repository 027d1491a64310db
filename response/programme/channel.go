package programme

import (
	"fmt"
	"math"

	"example.com/earnest/response/capture"
)

// Channel is one channel of a recording of the material.
type Channel struct {
	// Name is the channel's name in errors and findings, such as "walk.wav, left".
	Name string
	// Samples have full scale 1. They are read, never changed.
	Samples []float64
	// SampleRate in Hz.
	SampleRate int
}

// ChannelOf returns channel k of a recording, counted from 1. It shares the recording's samples.
// The error is capture.ErrChannel if there is no such channel.
func ChannelOf(r *capture.Recording, k int) (Channel, error) {
	x, err := r.Channel(k)
	if err != nil {
		return Channel{}, err
	}
	name := r.Name
	if len(r.Channels) == 2 {
		name += ", " + [2]string{"left", "right"}[k-1]
	} else if len(r.Channels) > 2 {
		name += fmt.Sprintf(", channel %d", k)
	}
	return Channel{Name: name, Samples: x, SampleRate: r.SampleRate}, nil
}

// duration is the length in seconds.
func (c Channel) duration() float64 { return float64(len(c.Samples)) / float64(c.SampleRate) }

// silent is the level in dBFS rms below which a recording counts as silent: 4 dB below the least
// significant bit of 16-bit samples.
const silent = -102

// check returns an error for a channel that is empty, silent or not finite.
func (c Channel) check() error {
	if c.SampleRate < 8000 {
		return fmt.Errorf("programme: %s: the sample rate is %d Hz; record at 8 kHz or more",
			c.Name, c.SampleRate)
	}
	var power float64
	for i, v := range c.Samples {
		if v-v != 0 {
			return fmt.Errorf("programme: %s: %w: sample %d, at %.2f s, is %v",
				c.Name, capture.ErrNotFinite, i, float64(i)/float64(c.SampleRate), v)
		}
		power += v * v
	}
	if len(c.Samples) == 0 {
		return fmt.Errorf("programme: %s: %w: it has no samples; record again", c.Name, ErrSilent)
	}
	if power == 0 {
		return fmt.Errorf("programme: %s: %w: all samples are zero; check the cable, the input and the channel, and record again",
			c.Name, ErrSilent)
	}
	if level := 10 * math.Log10(power/float64(len(c.Samples))); level < silent {
		return fmt.Errorf("programme: %s: %w: %.0f dBFS; check the cable, the input and the channel, and record again",
			c.Name, ErrSilent, level)
	}
	return nil
}

// flatTop is the number of successive samples at one extreme value that make a flat top. A
// full-scale sine of 1 kHz, in 24 bits at 48 kHz, has two equal samples at its top, seldom three.
const flatTop = 4

// flatTops returns the number of samples in flat tops at the largest magnitude, and the index of
// the first of these samples, −1 if there is none.
func flatTops(x []float64, peak float64) (samples, first int) {
	first = -1
	if peak < 1e-3 {
		return 0, first
	}
	least := peak * (1 - 1e-5)
	for i := 0; i < len(x); i++ {
		if v := x[i]; v < least && v > -least {
			continue
		}
		from := i
		for i+1 < len(x) && math.Abs(x[i+1]) >= least && (x[i+1] > 0) == (x[from] > 0) {
			i++
		}
		if run := i + 1 - from; run >= flatTop {
			if samples += run; first < 0 {
				first = from
			}
		}
	}
	return samples, first
}
