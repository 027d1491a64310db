package tone_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
)

func BenchmarkAnalyse(b *testing.B) {
	for _, seconds := range []int{1, 5} {
		for _, orders := range []int{10, 40} {
			b.Run(fmt.Sprintf("%ds/%d orders", seconds, orders), func(b *testing.B) {
				x := noisy(sum(seconds*48000, 48000, partial{500.3, 0.5, 0}, partial{1000.6, 0.001, 0}), 1e-5, 1)
				var err error
				b.ReportAllocs()
				for b.Loop() {
					_, err = tone.Analyse(x, 48000, tone.Config{Orders: orders})
				}
				require.NoError(b, err)
			})
		}
	}
}

func BenchmarkStepped(b *testing.B) {
	s, err := tone.NewStepped(tone.SteppedConfig{})
	require.NoError(b, err)
	x := noisy(s.Samples(), 1e-5, 1)
	b.ReportAllocs()
	for b.Loop() {
		_, err = s.Analyse(x, tone.Config{})
	}
	require.NoError(b, err)
}

func BenchmarkTwoTones(b *testing.B) {
	pair := tone.ModulationRP120()
	x := noisy(sum(2*48000, 48000, partial{60, 0.4, 0}, partial{7000, 0.1, 0}), 1e-5, 1)
	b.ReportAllocs()
	var err error
	for b.Loop() {
		_, err = pair.Modulation(x, tone.Config{})
	}
	require.NoError(b, err)
}

func BenchmarkMultitone(b *testing.B) {
	m, err := tone.NewMultitone(tone.MultitoneConfig{Silence: time.Second})
	require.NoError(b, err)
	x, err := tone.Steady(m.Samples(), 48000)
	require.NoError(b, err)
	b.Run("analyse", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			_, err = m.Analyse(x, tone.Config{})
		}
		require.NoError(b, err)
	})
}
