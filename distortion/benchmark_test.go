package distortion_test

import (
	"testing"

	"example.com/earnest/distortion"
	"example.com/earnest/sweep"
)

func BenchmarkHarmonics(b *testing.B) {
	s := newSweep(b, sweep.Config{Level: -6})
	recording := withHarmonics(s, ordinary(-40)...)
	sep := separate(b, s, 8, recording)
	silence := make([]float64, 96000)
	addNoise(silence, 1, -90)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := distortion.Harmonics(sep, distortion.Config{Orders: 8, Silence: silence}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSubtract(b *testing.B) {
	s := newSweep(b, sweep.Config{Level: -6})
	hs := harmonics(b, s, withHarmonics(s, ordinary(-40)...), distortion.Config{})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := hs.Subtract(hs); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkKernels(b *testing.B) {
	s := newSweep(b, sweep.Config{Level: -6})
	hs := harmonics(b, s, withHarmonics(s, ordinary(-40)...), distortion.Config{})
	b.ReportAllocs()
	for b.Loop() {
		hs.Kernels()
	}
}

func BenchmarkRubBuzz(b *testing.B) {
	s := newSweep(b, sweep.Config{Level: -6})
	recording := withHarmonics(s, ordinary(-40)...)
	sep := separate(b, s, 5, recording)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := distortion.RubBuzz(sep, recording, distortion.Config{}); err != nil {
			b.Fatal(err)
		}
	}
}
