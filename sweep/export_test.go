package sweep

// Samples lets tests in package sweep_test look at one part.
func (p Part) Samples(s *Sweep) []float64 { return p.samples(s) }
