package rig

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// The faults of recordings. Each function takes channels of one length with full scale 1, does not
// change them, and returns new ones. Levels are peak levels in dBFS. Blocks outside the channels,
// and sides that do not exist, panic.

// Clip returns the recording as made with a gain too high by gain dB, above 0: every sample is
// raised by gain and limited to full scale.
func Clip(channels [][]float64, gain float64) [][]float64 {
	g := factor(gain)
	return each(channels, func(v float64) float64 { return max(-1, min(1, g*v)) })
}

// FlatTop limits samples to a level below full scale, like clipping ahead of the recorder: the tops
// are flat although no sample is at full scale.
func FlatTop(channels [][]float64, level float64) [][]float64 {
	top := factor(level)
	return each(channels, func(v float64) float64 { return max(-top, min(top, v)) })
}

// DropBlock removes the samples at … at+length−1; the rest moves up.
func DropBlock(channels [][]float64, at, length int) [][]float64 {
	within(channels, at, length)
	out := make([][]float64, len(channels))
	for c, x := range channels {
		out[c] = append(append(make([]float64, 0, len(x)-length), x[:at]...), x[at+length:]...)
	}
	return out
}

// RepeatBlock repeats the samples at … at+length−1; the rest moves down.
func RepeatBlock(channels [][]float64, at, length int) [][]float64 {
	within(channels, at, length)
	out := make([][]float64, len(channels))
	for c, x := range channels {
		out[c] = append(append(make([]float64, 0, len(x)+length), x[:at+length]...), x[at:]...)
	}
	return out
}

// Click adds clicks of one sample, positive or negative, at random places of
// random channels.
func Click(channels [][]float64, count int, level float64, seed uint64) [][]float64 {
	out := copied(channels)
	if len(out) == 0 || len(out[0]) == 0 {
		return out
	}
	random, height := rand.New(rand.NewPCG(seed, 0x636c69636b)), factor(level)
	for range count {
		x := out[random.IntN(len(out))]
		if random.IntN(2) == 0 {
			x[random.IntN(len(x))] += height
		} else {
			x[random.IntN(len(x))] -= height
		}
	}
	return out
}

// AddDC adds a constant, full scale being 1.
func AddDC(channels [][]float64, dc float64) [][]float64 {
	return each(channels, func(v float64) float64 { return v + dc })
}

// AddHum adds the same hum to all channels.
func AddHum(channels [][]float64, h Hum, sampleRate int) [][]float64 {
	out := copied(channels)
	for _, x := range out {
		h.add(x, float64(sampleRate))
	}
	return out
}

// Swap returns two channels the wrong way round.
func Swap(channels [][]float64) [][]float64 {
	if len(channels) != 2 {
		panic("rig: two channels can be swapped")
	}
	out := copied(channels)
	return [][]float64{out[Right], out[Left]}
}

// Invert inverts the polarity of one side.
func Invert(channels [][]float64, side Side) [][]float64 {
	if side < 0 || int(side) >= len(channels) {
		panic("rig: no such side to invert")
	}
	out := copied(channels)
	for i, v := range out[side] {
		out[side][i] = -v
	}
	return out
}

// CutTail removes the last length samples: the recorder was stopped early.
func CutTail(channels [][]float64, length int) [][]float64 {
	if len(channels) == 0 {
		return nil
	}
	return DropBlock(channels, len(channels[0])-length, length)
}

// Quieten lowers everything by loss dB, noise included. After quantisation it is a recording at too
// low a level.
func Quieten(channels [][]float64, loss float64) [][]float64 {
	g := factor(-loss)
	return each(channels, func(v float64) float64 { return g * v })
}

// CutTreble removes frequencies above a cutoff in Hz, like a lower sample rate or a lossy codec: −6
// dB there, flat to 0.95 of it, and 100 dB down from 1.05 of it on. It adds no delay.
func CutTreble(channels [][]float64, cutoff float64, sampleRate int) [][]float64 {
	if !(cutoff > 0 && cutoff < float64(sampleRate)/2) {
		panic("rig: the treble is cut between 0 and half the sample rate")
	}
	c := cutoff / float64(sampleRate)                    // cycles per sample
	half := int(math.Ceil((100 - 7.95) / 14.36 / c * 5)) // Kaiser's (A − 7.95)/(14.36 Δf), Δf = c/10
	taps := sincLowPass(c, half, 100)
	out := make([][]float64, len(channels))
	for k, x := range channels {
		out[k] = convolve(x, taps, -half, len(x))
	}
	return out
}

// each returns f of every sample.
func each(channels [][]float64, f func(float64) float64) [][]float64 {
	out := copied(channels)
	for _, x := range out {
		for i, v := range x {
			x[i] = f(v)
		}
	}
	return out
}

func copied(channels [][]float64) [][]float64 {
	out := make([][]float64, len(channels))
	for c, x := range channels {
		out[c] = append(make([]float64, 0, len(x)), x...)
	}
	return out
}

func within(channels [][]float64, at, length int) {
	for _, x := range channels {
		if at < 0 || length < 0 || at+length > len(x) {
			panic(fmt.Sprintf("rig: a block of %d samples at %d does not lie within %d", length, at, len(x)))
		}
	}
}
