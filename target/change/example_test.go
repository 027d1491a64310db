package change_test

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target/change"
)

// fourTimes are seatings in two conditions, in an order that was drawn. The bass has grown by up to
// 2.5 dB, and putting on the pair moves level and tilt.
func fourTimes() []change.Seating {
	var all []change.Seating
	for i, tilt := range []float64{0.05, -0.03, -0.06, 0.04} {
		for _, condition := range []string{"new", "after 20 hours"} {
			c := response.Curve{Frequency: response.LogGrid(20, 20000, 48), Rig: "flat plate",
				Valid: response.Band{Low: 20, High: 20000}}
			for _, f := range c.Frequency {
				level := 0.2*float64(i%2) + tilt*math.Log2(f/1000)
				if condition != "new" {
					level = 0.1*float64(i%3) - tilt*math.Log2(f/1000) + 2.5/(1+math.Pow(f/90, 2))
				}
				c.Level = append(c.Level, level)
			}
			all = append(all, change.Seating{Condition: condition, Response: c})
		}
	}
	return all
}

// Did the playing change the pair, or only the new seating?
func ExampleCompare() {
	changes, err := change.Compare(fourTimes(), change.Config{Random: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(&changes[0])
	fmt.Println(changes[0].Design)
	for _, f := range changes[0].Figures {
		fmt.Printf("%s: %s\n", f.Name, f.WithInterval(0.95))
	}
	// Output:
	// Changed by +2.1 ± 1.2 dB at 40 Hz; there is a change at 40 Hz to 130 Hz. No change larger than 2.4 dB is left possible from 40 Hz to 10 kHz (95 % confidence).
	// independent seatings: 4 seatings and 4 seatings
	// level: 0.38 dB (95 % confidence: 0.21 to 0.55 dB)
	// tilt: -0.222 dB/octave (95 % confidence: -0.319 to -0.125 dB/octave)
}

// Two specimens say little about the model: the next one may lie anywhere in this interval.
func ExampleAcrossSpecimens() {
	specimens, err := change.AcrossSpecimens(fourTimes(), response.Band{Low: 100, High: 8000})
	if err != nil {
		fmt.Println(err)
		return
	}
	one := specimens.Variance[0]
	fmt.Println("at", response.FormatFrequency(specimens.Frequency[0]), "specimens differ by", one.Between.WithInterval(0.95))
	fmt.Println("the next may measure", one.Next.WithInterval(0.95))
	// Output:
	// at 100 Hz specimens differ by 1 dB (95 % confidence: 0 to 25 dB)
	// the next may measure 1 dB (95 % confidence: -11 to 13 dB)
}
