package fitness_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// Both are 20 s of two channels at 48 kHz.

func BenchmarkInspectStimulus(b *testing.B) {
	s, err := sweep.New(sweep.Config{Level: -12})
	require.NoError(b, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(b, err)
	h, _, r := rig.Demonstration()
	recording := &capture.Recording{Name: "left.wav", SampleRate: 48000, Channels: r.Through(h, 0, st.Channels())}
	b.ReportAllocs()
	for b.Loop() {
		inspected(recording, said{Stimulus: st})
	}
}

func BenchmarkInspectMusic(b *testing.B) {
	_, _, r := rig.Demonstration()
	recording := &capture.Recording{Name: "music.wav", SampleRate: 48000, Channels: r.Direct(rig.Music(48000, 20, 1))}
	b.ReportAllocs()
	for b.Loop() {
		inspected(recording, said{})
	}
}
