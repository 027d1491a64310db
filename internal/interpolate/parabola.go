package interpolate

// Vertex returns the position of the maximum of the parabola through three values at −1, 0 and 1,
// limited to −0.5 … 0.5. It is 0 if the middle value is not a maximum.
func Vertex(before, middle, after float64) float64 {
	if curvature := before - 2*middle + after; curvature < 0 {
		return max(-0.5, min(0.5, (before-after)/2/curvature))
	}
	return 0
}
