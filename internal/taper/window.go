package taper

import "time"

// WindowPower returns the mean square of the weights of the window by which responses are cut out:
// raised cosines, which keep 3/8, over half of before and a quarter of after, and 1 between. White
// noise keeps this share of its power.
func WindowPower(before, after time.Duration) float64 {
	b, a := before.Seconds(), after.Seconds()
	return 1 - 5.0/8*(b/2+a/4)/(b+a)
}
