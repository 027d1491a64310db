package bench_test

import (
	"context"
	"fmt"

	"example.com/earnest/examples/workshop/bench"
)

// Change one thing, and see what goes wrong: the direct recording is left out.
func ExampleNew() {
	settings := bench.Default()
	settings.Direct = 0
	r, err := bench.New().Measure(context.Background(), settings)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("a sweep of %s s at %s dBFS\n", bench.Format(settings.Duration), bench.Format(settings.Level))
	for _, remark := range r.Remarks() {
		if remark.Wrong {
			fmt.Println("wrong:", remark.Topic)
		}
	}
	fmt.Printf("off by %.1f dB rms\n", r.Error.RMS.Value)
	// Output:
	// a sweep of 1 s at -12 dBFS
	// wrong: Interface
	// off by 0.8 dB rms
}
