package response_test

import (
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

func BenchmarkNewDeconvolver(b *testing.B) {
	s := mustSweep(b, sweep.Config{})
	b.ReportAllocs()
	for b.Loop() {
		mustDeconvolver(b, s, response.DeconvolverConfig{})
	}
}

func BenchmarkImpulse(b *testing.B) {
	d := common()
	x := played(d.Sweep(), 4800)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.Impulse(x); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSeparate(b *testing.B) {
	d := common()
	x := played(d.Sweep(), 4800)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := d.Separate(x); err != nil {
			b.Fatal(err)
		}
	}
}
