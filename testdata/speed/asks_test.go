package speed

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response/capture"
)

// BenchmarkAsks measures what one recording of ten minutes in stereo holds, read in blocks: a stimulus
// that asks all that one can, played once directly and four times through a pair. The recorder runs
// 20 parts per million fast. asks.sh sets it against reading and writing the file; it keeps the file
// in the folder EARNEST_SPEED_ASKS.
func BenchmarkAsks(b *testing.B) {
	folder := os.Getenv("EARNEST_SPEED_ASKS")
	if folder == "" {
		folder = b.TempDir()
	}
	asks := session.Stimulus{Level: -12, With: []string{"distortion", "levels", "modulation", "crosstalk"}}
	st, err := asks.Build()
	require.NoError(b, err)
	if _, err := os.Stat(filepath.Join(folder, "session.toml")); err != nil {
		pair, _, r := rig.Demonstration()
		r.Drift = 20
		evening := make([][]float64, 2)
		for play := range 5 {
			x := r.Direct(st.Channels())
			if play > 0 {
				x = r.Through(pair, play-1, st.Channels())
			}
			for k := range evening {
				evening[k] = append(evening[k], x[k]...)
			}
		}
		recording := &capture.Recording{SampleRate: r.SampleRate, Channels: evening}
		require.InDelta(b, 600, recording.Duration(), 60, "seconds")
		require.NoError(b, capture.Write(filepath.Join(folder, "evening.wav"), recording,
			capture.WriteConfig{Format: capture.Format{Bits: 24}}))
		text := fmt.Sprintf("[headphones]\nname = %q\n[rig]\nname = %q\n[stimulus]\nlevel = -12\n"+
			"with = [\"distortion\", \"levels\", \"modulation\", \"crosstalk\"]\n"+
			"[direct]\nfile = \"evening.wav\"\nplay = 1\n[[seating]]\nevery_play = true\n"+
			"left = { file = \"evening.wav\" }\nright = { file = \"evening.wav\" }\n", pair.Name, r.Name)
		require.NoError(b, os.WriteFile(filepath.Join(folder, "session.toml"), []byte(text), 0o666))
	}
	each(b, func() error {
		s, err := session.Read(folder)
		if err != nil {
			return err
		}
		results, err := s.Review(nil)
		if err == nil && len(results.Left.Seatings) != 4 {
			err = fmt.Errorf("%d seatings in place of 4", len(results.Left.Seatings))
		}
		return err
	})
}
