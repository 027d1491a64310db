package capture_test

import (
	"bytes"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/earnest/response/capture"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

func drawRecording(t *rapid.T) *capture.Recording {
	n := rapid.IntRange(1, 100).Draw(t, "samples")
	r := &capture.Recording{Name: "drawn.wav", SampleRate: rapid.IntRange(8000, 384000).Draw(t, "rate")}
	for range rapid.IntRange(1, 4).Draw(t, "channels") {
		r.Channels = append(r.Channels, rapid.SliceOfN(rapid.Float64Range(-0.999, 0.999), n, n).Draw(t, "channel"))
	}
	return r
}

func throughFile(t *rapid.T, r *capture.Recording, o capture.WriteConfig) *capture.Recording {
	var file bytes.Buffer
	require.NoError(t, capture.Encode(&file, r, o))
	back, err := capture.Decode(&file, r.Name, capture.ReadConfig{})
	require.NoError(t, err)
	require.Equal(t, r.SampleRate, back.SampleRate)
	require.Len(t, back.Channels, len(r.Channels))
	require.Equal(t, r.Len(), back.Len())
	require.InDelta(t, float64(r.Len())/float64(r.SampleRate), back.Duration(), 1e-12, "rounding")
	return back
}

// A written recording reads back: exactly as float, to half a step as integer, and to a step and a
// half with dither. Written a second time it does not change.
func TestPropertyWrittenRecordingReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecording(t)
		bits := rapid.SampledFrom([]int{8, 16, 24, 32, 64}).Draw(t, "bits")
		o := capture.WriteConfig{Format: capture.Format{Bits: bits, Float: bits == 64 || bits == 32 && rapid.Bool().Draw(t, "float")}}
		o.NoDither, o.Seed = rapid.Bool().Draw(t, "no dither"), uint64(rapid.IntRange(0, 1<<30).Draw(t, "seed"))
		back := throughFile(t, r, o)
		step := math.Ldexp(1, 1-bits)
		tolerance := 1.5 * step
		switch {
		case o.Format.Float && bits == 64:
			tolerance = 0
		case o.Format.Float:
			tolerance = 0x1p-24 // of a number below 1 in 24 bits, half a step
		case o.NoDither || bits == 32:
			tolerance = 0.5 * step
		}
		for k := range r.Channels {
			for i, v := range r.Channels[k] {
				require.LessOrEqual(t, math.Abs(v-back.Channels[k][i]), max(tolerance, v-(1-step)), "the largest integer is a step below full scale")
			}
		}
		require.Equal(t, back.Channels, throughFile(t, back, capture.WriteConfig{}).Channels, "bit for bit")
	})
}

func TestPropertyBufferThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecording(t)
		back, err := capture.FromBuffer(r.Buffer(), r.Name)
		require.NoError(t, err)
		require.Equal(t, r.Channels, back.Channels)
		require.Equal(t, r.SampleRate, back.SampleRate)
		k := rapid.IntRange(-2, 7).Draw(t, "channel")
		x, err := r.Channel(k)
		if k >= 1 && k <= len(r.Channels) {
			require.NoError(t, err)
			require.Equal(t, r.Channels[k-1], x)
		} else {
			require.ErrorIs(t, err, capture.ErrChannel)
		}
	})
}

// NaN and infinity are never written.
func TestPropertyNotANumberIsRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecording(t)
		k, i := rapid.IntRange(0, len(r.Channels)-1).Draw(t, "channel"), rapid.IntRange(0, r.Len()-1).Draw(t, "sample")
		r.Channels[k][i] = rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1)}).Draw(t, "value")
		_, err := capture.FromBuffer(r.Buffer(), r.Name)
		require.ErrorIs(t, err, capture.ErrNotFinite)
		for _, f := range []capture.Format{{Bits: 24}, {Bits: 32, Float: true}, {Bits: 64, Float: true}} {
			require.ErrorIs(t, capture.Encode(&bytes.Buffer{}, r, capture.WriteConfig{Format: f}), capture.ErrNotFinite)
		}
	})
}

// A clock without drift changes nothing.
func TestPropertyOneClockLeavesTheRecordingAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecording(t)
		for _, x := range r.Channels {
			require.InDeltaSlice(t, x, capture.Clock{Drift: 0}.Correct(x, 0, len(x)), 1e-12, "rounding")
		}
	})
}

// A drift and its inverse restore the recording.
func TestPropertyClockThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		drift := rapid.Float64Range(-capture.MaxDrift, capture.MaxDrift).Draw(t, "ppm")
		f := rapid.Float64Range(0.001, 0.45).Draw(t, "cycles a sample") // 0.92 of half the sample rate is 0.46
		phase := rapid.Float64Range(0, 2*math.Pi).Draw(t, "phase")
		x := make([]float64, 1000)
		for i := range x {
			x[i] = 0.5 * math.Sin(2*math.Pi*f*float64(i)+phase)
		}
		there := capture.Clock{Drift: drift}.Correct(x, 0, len(x))
		back := capture.Clock{Drift: -drift / (1 + drift*1e-6)}.Correct(there, 0, len(x))
		for i := 100; i < min(len(x), len(back))-100; i++ { // away from the ends, beyond which the channel is not known
			require.InDelta(t, x[i], back[i], 1.2e-4, "twice 0.001 dB of an amplitude of ½")
		}
	})
}
