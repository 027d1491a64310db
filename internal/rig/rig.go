package rig

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/hugepage"
	"example.com/earnest/internal/parallel"
)

// Rig is the whole measurement chain except the headphones. The zero Rig with a SampleRate is a
// perfect one, which changes nothing.
type Rig struct {
	// Name describes it in words: "flat plate, simulated".
	Name string
	// SampleRate is in Hz, 8 kHz and more.
	SampleRate int
	// Seed is that of all random values.
	Seed uint64

	// Interface plays and records.
	Interface Interface
	// Latency is the delay from playing to recording, in samples and fractions of one.
	Latency float64
	// Drift is the difference of the recorder's clock from the player's in parts per million,
	// within ±1000. With a positive drift a recording is longer than the stimulus, and its tones
	// read lower.
	Drift float64
	// DirectGain and ThroughGain are the input gains in dB of the loop-back
	// and of the microphone.
	DirectGain, ThroughGain float64

	// Noise is the interface's, in every recording.
	Noise Noise
	// Hum is in every recording.
	Hum Hum
	// DC is a constant in every recording, full scale being 1.
	DC float64

	// Microphone is the response of the microphone.
	Microphone []Filter
	// Plate holds the reflections of the plate and the room.
	Plate []Reflection
	// Room is the noise at the microphone.
	Room Noise
	// Seating is the variation each time a pair is put on.
	Seating Seating
	// Spill is the sound of the other side at each ear.
	Spill Spill
}

// Play returns the interface's output for a stimulus.
//
// Stimulus holds two channels of one length, full scale 1, at the rig's sample rate; anything else
// panics.
func (r Rig) Play(stimulus [][]float64) *Output {
	r.check(stimulus)
	o := newOversampler()
	return &Output{r, o, r.both(func(side Side) []float64 {
		x := guarded(stimulus[side])
		o.distort(x, r.Interface.Distortion)
		return x
	})}
}

// Direct returns the recording of the interface patched straight into itself: two channels, left to
// left and right to right. The stimulus is as for Play.
//
// The recording is longer by the latency and the drift. It clips at full scale, as recorders do.
func (r Rig) Direct(stimulus [][]float64) [][]float64 { return r.Play(stimulus).Direct() }

// Through returns the recording of headphones: two channels, a microphone in each ear. Seating is
// the number of the time they were put on. The rest is as for Direct.
func (r Rig) Through(h Headphones, seating int, stimulus [][]float64) [][]float64 {
	return r.Play(stimulus).Seatings(h)(seating)
}

// Single returns the recording of headphones by one microphone in one cup: one channel. It also
// records the spill from the other cup. The rest is as for Through.
func (r Rig) Single(h Headphones, cup Side, seating int, stimulus [][]float64) [][]float64 {
	return [][]float64{r.ear(r.heard(h, seating, r.Play(stimulus).driven(h)), h, cup, seating)}
}

// heard returns that sound of each cup at its own ear.
func (r Rig) heard(h Headphones, seating int, driven [][]float64) [][]float64 {
	fs := float64(r.SampleRate)
	return r.both(func(side Side) []float64 {
		x := copyOf(driven[side])
		chain(fs, r.seat(h, side, seating)).Apply(x)
		return r.acoustic(h.Side(side)).apply(x, len(x), fs)
	})
}

// acoustic returns the paths from a driver to its microphone.
func (r Rig) acoustic(d Driver) paths { return d.paths().then(newPaths(0, r.Plate)) }

// ear returns the recording of the microphone at one ear.
func (r Rig) ear(heard [][]float64, h Headphones, side Side, seating int) []float64 {
	fs := float64(r.SampleRate)
	var x []float64
	if r.Spill.Level != 0 {
		x = copyOf(heard[side.other()])
		chain(fs, r.Spill.Filters).Apply(x)
		floats.AddScaledTo(x, heard[side], factor(r.Spill.Level), x)
	} else {
		x = copyOf(heard[side])
	}
	chain(fs, r.Microphone).Apply(x)
	scale(x, r.ThroughGain)
	return r.hold(x, r.Room, h.Name, seating, side)
}

// hold returns what the recorder stores for a signal at the interface's input. The noise follows
// from the seed and the name.
func (r Rig) hold(x []float64, room Noise, name ...any) []float64 {
	fs := float64(r.SampleRate)
	chain(fs, r.Interface.Filters).Apply(x)
	y := r.sampled(x)
	addNoise(y, fs, r.random(append([]any{"noise", len(x)}, name...)...), r.Noise, room)
	r.Hum.add(y, fs)
	for i, v := range y {
		v += r.DC
		if math.Abs(v) < least {
			v = 0
		}
		y[i] = max(-1, min(1, v))
	}
	return y
}

// sampled returns x after the latency, on the recorder's clock.
func (r Rig) sampled(x []float64) []float64 {
	ratio := 1 + r.Drift*1e-6
	n := int(math.Ceil((float64(len(x)) + r.Latency) * ratio))
	if r.Drift != 0 {
		return resampled(x, ratio, r.Latency, n)
	}
	return paths{{r.Latency / float64(r.SampleRate), 1}}.apply(x, n, float64(r.SampleRate))
}

// both computes the two sides at the same time.
func (r Rig) both(side func(Side) []float64) [][]float64 {
	out := make([][]float64, 2)
	parallel.Do(2, func(s int) { out[s] = side(Side(s)) })
	return out
}

// check panics for an impossible rig or stimulus.
func (r Rig) check(stimulus [][]float64) {
	switch {
	case r.SampleRate < 8000:
		panic(fmt.Sprintf("rig: sample rate %d Hz; it is 8 kHz and more", r.SampleRate))
	case !(r.Latency >= 0) || math.IsInf(r.Latency, 0):
		panic(fmt.Sprintf("rig: latency of %v samples; it is zero or more", r.Latency))
	case !(math.Abs(r.Drift) <= 1000):
		panic(fmt.Sprintf("rig: drift of %v ppm; it is within ±1000", r.Drift))
	case !(r.Noise.Level <= 0 && r.Room.Level <= 0 && r.Spill.Level <= 0):
		panic("rig: noise and spill have levels below 0 dB; 0 means none")
	case !(share(r.Noise.Pink) && share(r.Room.Pink)):
		panic("rig: the pink share of a noise is 0 to 1")
	case len(stimulus) != 2 || len(stimulus[0]) != len(stimulus[1]):
		panic("rig: a stimulus has two channels of one length")
	}
}

// Output is the signal at the interface's output for a stimulus. Several recordings share it, so
// that its distortion is computed once.
type Output struct {
	rig         Rig
	oversampler *oversampler
	played      [][]float64
}

// Direct returns the recording of the interface patched straight into itself, as Rig.Direct does.
func (o *Output) Direct() [][]float64 {
	return o.rig.both(func(side Side) []float64 {
		x := copyOf(o.played[side])
		scale(x, o.rig.DirectGain)
		return o.rig.hold(x, Noise{}, "direct", side)
	})
}

// Seatings returns the recordings of headphones by seating, as Rig.Through does. The output of the
// drivers is computed once.
func (o *Output) Seatings(h Headphones) func(seating int) [][]float64 {
	r, driven := o.rig, o.driven(h)
	return func(seating int) [][]float64 {
		heard := r.heard(h, seating, driven)
		return r.both(func(side Side) []float64 { return r.ear(heard, h, side, seating) })
	}
}

// driven returns the sound that each driver makes of the stimulus.
func (o *Output) driven(h Headphones) [][]float64 {
	return o.rig.both(func(side Side) []float64 {
		x := copyOf(o.played[side])
		h.Side(side).play(x, o.oversampler, float64(o.rig.SampleRate))
		return x
	})
}

// Interface is an audio interface. Its distortion is in its output, and its response in its input.
type Interface struct {
	Filters    []Filter
	Distortion Polynomial
}

// Spill is the sound of the one cup at the other ear.
type Spill struct {
	// Level is in dB re the cup from which it comes, below 0; 0 means none.
	Level float64
	// Filters are those on the way.
	Filters []Filter
}

// Filters that ring out into silence reach numbers so small that processors take a hundred times as
// long for them. So silence is replaced by guard, which is inaudible, and values below least are
// zero in the recording.
const (
	guard = 1e-200
	least = 1e-100
)

func guarded(x []float64) []float64 {
	y := hugepage.Make[float64](len(x))
	for i, v := range x {
		y[i] = v + guard
	}
	return y
}

// copyOf returns a copy of a channel, which may be long.
func copyOf(x []float64) []float64 {
	y := hugepage.Make[float64](len(x))
	copy(y, x)
	return y
}

func share(p float64) bool { return p >= 0 && p <= 1 }
