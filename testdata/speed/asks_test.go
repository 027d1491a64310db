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

// BenchmarkAsks measures ten minutes of recordings in stereo of a stimulus that asks all that one
// can: one direct and four seatings. The recorder runs 20 parts per million fast. asks.sh sets it
// against reading and writing the files; it keeps them in the folder EARNEST_SPEED_ASKS.
func BenchmarkAsks(b *testing.B) {
	folder := os.Getenv("EARNEST_SPEED_ASKS")
	if folder == "" {
		folder = b.TempDir()
	}
	asks := session.Stimulus{Level: -12, With: []string{"distortion", "levels", "modulation", "crosstalk"}}
	st, err := asks.Build()
	require.NoError(b, err)
	require.InDelta(b, 600, 5*float64(st.WholeLen())/48000, 60, "seconds")
	if _, err := os.Stat(filepath.Join(folder, "session.toml")); err != nil {
		pair, _, r := rig.Demonstration()
		r.Drift = 20
		text := fmt.Sprintf("[headphones]\nname = %q\n[rig]\nname = %q\n[stimulus]\nlevel = -12\n"+
			"with = [\"distortion\", \"levels\", \"modulation\", \"crosstalk\"]\n[direct]\nfile = \"0.wav\"\n", pair.Name, r.Name)
		for i := range 5 {
			x, name := r.Direct(st.Channels()), fmt.Sprintf("%d.wav", i)
			if i > 0 {
				x = r.Through(pair, i-1, st.Channels())
				text += fmt.Sprintf("[[seating]]\nleft = { file = %q }\nright = { file = %q }\n", name, name)
			}
			recording := &capture.Recording{SampleRate: r.SampleRate, Channels: x}
			require.NoError(b, capture.Write(filepath.Join(folder, name), recording,
				capture.WriteConfig{Format: capture.Format{Bits: 24}}))
		}
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
