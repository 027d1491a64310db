package bench

import "math"

// GroupDelay returns the group delay of the first seating in milliseconds after the linear peak, at
// the frequencies of Grid, NaN where it is not known. It belongs to the windowed response including
// the interface.
func (r *Result) GroupDelay() ([]float64, error) {
	h, err := r.transfer(r.session.through[0].parts.Linear)
	if err != nil {
		return nil, err
	}
	h = h.Delayed(-r.Peak)
	frequency, delay := h.Frequencies(), h.GroupDelay()
	out := make([]float64, len(Grid))
	for i, f := range Grid {
		out[i] = math.NaN()
		// The bins are equally spaced.
		if n := len(frequency); n > 1 {
			if k := int(math.Round((f - frequency[0]) / (frequency[1] - frequency[0]))); k >= 0 && k < n {
				out[i] = 1000 * delay[k]
			}
		}
	}
	return out, nil
}
