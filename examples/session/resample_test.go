package session_test

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// A recording through the headphones at 44.1 kHz (made by sox) beside a direct one at 48 kHz gives
// what one at 48 kHz gives, with its ripple in the budget, and only where that is asked for.
func TestTwoSampleRates(t *testing.T) {
	long.Skip(t)
	sox := programs.Need(t, "sox")
	h := newHabit(t)
	one, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: one})
	require.NoError(t, err)
	for name, sound := range map[string][][]float64{"sweep": st.Channels(), "tune": rig.Music(48000, 5, 1)} {
		h.save(name+"-direct.wav", h.rig.Direct(sound))
		h.save(name+"-48.wav", h.rig.Through(h.pair, 0, sound))
		out, err := exec.Command(sox, "-D", filepath.Join(h.folder, name+"-48.wav"), filepath.Join(h.folder, name+"-44.wav"), "rate", "-v", "-s", "44100").CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	measure := func(text string) (*review.Results, error) {
		path := filepath.Join(h.folder, "session.toml")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		s, err := session.Read(path)
		require.NoError(t, err)
		return s.ReviewResponse(nil)
	}
	const pair = "[headphones]\nname = \"Finchale\"\n[rig]\nname = \"plate\"\n"
	for _, c := range []struct{ name, before, after, refused string }{
		{"a sweep", pair + "[stimulus]\nseconds = 1\nlevel = -12\n[direct]\nfile = \"sweep-direct.wav\"\n[[seating]]\nleft = { file = \"sweep-", ".wav\" }\n", "44100 Hz"},
		{"music alone", pair + "[[programme]]\nname = \"tune\"\ndirect = { file = \"tune-direct.wav\" }\nleft = { file = \"tune-", ".wav\" }\n", "resample = true"},
	} {
		t.Run(c.name, func(t *testing.T) {
			plain, err := measure(c.before + "48" + c.after)
			require.NoError(t, err)
			_, err = measure(c.before + "44" + c.after)
			assert.ErrorContains(t, err, c.refused)
			r, err := measure("resample = true\n" + c.before + "44" + c.after)
			require.NoError(t, err)
			worst := 0.0
			for i, f := range plain.Mean.Frequency {
				if d := math.Abs(r.Mean.At(f) - plain.Mean.Level[i]); f > 40 && f < 18000 {
					worst = max(worst, d)
				}
			}
			assert.Less(t, worst, 0.02, "dB; the required accuracy, and the ripple of both resamplers")
			assert.InDelta(t, 20286, r.Mean.Valid.High, 300, "Hz; 0.92 of half of 44.1 kHz, or the end of the band")
			var ripple *response.CurveComponent
			for i, one := range r.Mean.Components {
				if one.Name == "resampling" {
					ripple = &r.Mean.Components[i]
				}
			}
			require.NotNil(t, ripple)
			assert.Contains(t, r.Notes[0], "was converted from 44100 Hz to 48000 Hz")
		})
	}
}
