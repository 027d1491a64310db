package placement_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// A recording made at 44.1 kHz sounds higher and shorter in a file that is labelled 48 kHz.
func TestOtherRateIsFound(t *testing.T) {
	layout := func(rate int) *sweep.Stimulus {
		s, err := sweep.New(sweep.Config{Duration: time.Second, SampleRate: rate, Level: -9, Stop: 19000})
		require.NoError(t, err)
		st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 300 * time.Millisecond})
		require.NoError(t, err)
		return st
	}
	r := &capture.Recording{Name: "left.wav", SampleRate: 48000, Channels: layout(44100).Channels()}
	p, _ := placement.Locate(r, layout(48000)) // the error is ignored: such a sweep may pass the coarse search
	assert.Equal(t, 44100, p.OtherRate(1))
}
