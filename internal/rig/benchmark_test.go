package rig

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/sweep"
)

// twenty returns about 20 s of stimulus at 48 kHz.
func twenty(b *testing.B) [][]float64 {
	s, err := sweep.New(sweep.Config{SampleRate: 48000, Level: -12})
	require.NoError(b, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(b, err)
	b.ReportMetric(st.Duration(), "s-of-stimulus")
	return st.Channels()
}

func BenchmarkDirect(b *testing.B) {
	_, _, r := Demonstration()
	stimulus := twenty(b)
	b.ReportAllocs()
	for b.Loop() {
		r.Direct(stimulus)
	}
}

func BenchmarkThrough(b *testing.B) {
	h, _, r := Demonstration()
	stimulus := twenty(b)
	b.ReportAllocs()
	for b.Loop() {
		r.Through(h, 0, stimulus)
	}
}

func BenchmarkThroughWithDrift(b *testing.B) {
	h, _, r := Demonstration()
	r.Drift = 30
	stimulus := twenty(b)
	b.ReportAllocs()
	for b.Loop() {
		r.Through(h, 0, stimulus)
	}
}

func BenchmarkThroughMusic(b *testing.B) {
	h, _, r := Demonstration()
	stimulus := Music(48000, 20, 1)
	b.ReportAllocs()
	for b.Loop() {
		r.Through(h, 0, stimulus)
	}
}

func BenchmarkMusic(b *testing.B) {
	for b.Loop() {
		Music(48000, 20, 1)
	}
}

func BenchmarkSpeech(b *testing.B) {
	for b.Loop() {
		Speech(48000, 20, 1)
	}
}
