package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// TestARecorderThatWasStartedLate reviews files of which one begins within the right sweep: it has
// no part in the response, and its other parts count. Where none holds the sweep, or the direct
// recording does not, the error says so.
func TestARecorderThatWasStartedLate(t *testing.T) {
	long.Skip(t)
	folder := t.TempDir()
	st, err := session.Stimulus{Seconds: 1, Level: -12, With: []string{"modulation", "crosstalk"}}.Build()
	require.NoError(t, err)
	pair, _, r := rig.Demonstration()
	late := st.Sweeps(sweep.Right)[0].Start + 20000
	write := func(name string, x [][]float64, from int) {
		rec := &capture.Recording{SampleRate: 48000, Channels: [][]float64{x[0][from:], x[1][from:]}}
		require.NoError(t, capture.Write(filepath.Join(folder, name), rec, capture.WriteConfig{Format: capture.Format{Bits: 24}, Overwrite: true}))
	}
	out := r.Play(st.Channels())
	direct, seat := out.Direct(), out.Seatings(pair)
	write("0.wav", direct, 0)
	text := fmt.Sprintf("[headphones]\nname = %q\n[rig]\nname = %q\n[stimulus]\nseconds = 1\nlevel = -12\n"+
		"with = [\"modulation\", \"crosstalk\"]\n[direct]\nfile = \"0.wav\"\n", pair.Name, r.Name)
	for i := 1; i <= 3; i++ {
		write(fmt.Sprintf("%d.wav", i), seat(i), map[int]int{1: late}[i])
		text += fmt.Sprintf("[[seating]]\nname = \"number %d\"\nleft = { file = \"%d.wav\" }\nright = { file = \"%d.wav\" }\n", i, i, i)
	}
	require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), []byte(text), 0o644))
	var said bytes.Buffer
	require.NoError(t, run([]string{folder}, &said, io.Discard))
	assert.Contains(t, said.String(), "1.wav: the sweep of the left side had begun")
	assert.Contains(t, said.String(), "so number 1 has no part in the response of that side; its parts for modulation, crosstalk are measured")
	var d struct {
		Further map[string]struct {
			Seatings []struct {
				Name     string
				Response bool
				Parts    []string
			}
		}
	}
	data, err := os.ReadFile(filepath.Join(folder, "results.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &d))
	for _, side := range d.Further {
		require.Len(t, side.Seatings, 3)
		last := side.Seatings[2]
		assert.Equal(t, "number 1", last.Name, "behind those with a response")
		assert.False(t, last.Response)
		assert.Equal(t, []string{"modulation", "crosstalk"}, last.Parts)
	}
	table, err := os.ReadFile(filepath.Join(folder, "further.csv"))
	require.NoError(t, err)
	assert.Contains(t, string(table), "left,seatings that hold parts for modulation,,,3,1,,")

	write("2.wav", seat(2), late)
	write("3.wav", seat(3), late)
	err = run([]string{"-replace", folder}, io.Discard, io.Discard)
	assert.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "3.wav: the sweep of the left side had begun")
	write("2.wav", seat(2), 0)
	write("0.wav", direct, late)
	err = run([]string{"-replace", folder}, io.Discard, io.Discard)
	assert.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "0.wav: the sweep of the left side had begun")
}
