package excerpt_test

import (
	"fmt"
	"log"
	"math/rand/v2"
	"time"

	"example.com/earnest/response/programme"
	"example.com/earnest/response/programme/excerpt"
)

// The recording through the headphones is 6 dB softer and begins a quarter of a second later. Its
// excerpt is made as loud as the direct one.
func Example() {
	r := rand.New(rand.NewPCG(1, 1))
	played := make([]float64, 6*16000)
	for i := range played {
		played[i] = 0.1 * r.NormFloat64()
	}
	recorded := make([]float64, len(played)+4000)
	for i, v := range played {
		recorded[i+4000] = v / 2
	}
	direct := programme.Channel{Name: "direct.wav", Samples: played, SampleRate: 16000}
	through := programme.Channel{Name: "through.wav", Samples: recorded, SampleRate: 16000}

	comparison, err := programme.Compare(direct, through, programme.Config{})
	if err != nil {
		log.Fatal(err)
	}
	cut, err := excerpt.Cut(direct, through, comparison.Alignment, excerpt.Config{Length: 4 * time.Second})
	if err != nil {
		log.Fatal(err)
	}
	versions, err := cut.Equalise()
	if err != nil {
		log.Fatal(err)
	}
	for _, v := range versions {
		fmt.Printf("%s: %+.1f dB\n", v.Name, v.Gain)
	}
	// Output:
	// direct: +0.0 dB
	// through the headphones: +6.0 dB
}
