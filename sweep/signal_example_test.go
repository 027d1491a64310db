package sweep_test

import (
	"fmt"

	"example.com/earnest/sweep"
)

// click is a signal of the user's own: its samples, and the band in which it measures. It does not
// follow the law of a sweep, so it gives a response but no harmonics.
type click struct{ samples []float64 }

func (c click) Samples() []float64 { return c.samples }
func (c click) SampleRate() int    { return 48000 }
func (c click) Start() float64     { return 100 }
func (c click) Stop() float64      { return 20000 }
func (c click) Law() *sweep.Sweep  { return nil }

// The user's own signal, played on the left and a second later on the right, with silence around.
// The stimulus goes to review.Config or to placement.Locate.
func ExamplePlaying() {
	st, err := sweep.Playing(click{[]float64{0.5, 0.25}}, []sweep.Segment{
		{Kind: sweep.Silence, Start: 0, Len: 48000},
		{Kind: sweep.LeftSweep, Start: 48000, Len: 2},
		{Kind: sweep.Silence, Start: 48002, Len: 48000},
		{Kind: sweep.RightSweep, Start: 96002, Len: 2},
		{Kind: sweep.Silence, Start: 96004, Len: 48000},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f s, peak %.2f dBFS, harmonics: %v\n", st.Duration(), st.Level(), st.Signal().Law() != nil)
	// Output: 3.000 s, peak -6.02 dBFS, harmonics: false
}
