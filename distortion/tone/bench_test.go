package tone_test

import (
	"fmt"
	"testing"

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

func BenchmarkTwoTones(b *testing.B) {
	x := noisy(sum(2*48000, 48000, partial{60, 0.4, 0}, partial{7000, 0.1, 0}), 1e-5, 1)
	b.ReportAllocs()
	var err error
	for b.Loop() {
		_, err = tone.Modulation(x, 48000, 60, 7000, tone.Config{})
	}
	require.NoError(b, err)
}

func BenchmarkMultitone(b *testing.B) {
	tones, x := many(16384, 48000, 40, 20000, 8)
	b.ReportAllocs()
	var err error
	for b.Loop() {
		_, err = tone.AnalyseMultitone(x, 48000, 16384, tones, tone.Config{})
	}
	require.NoError(b, err)
}
