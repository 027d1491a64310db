package sweep

// Samples gives package sweep_test the samples of one part.
func (p Part) Samples(s *Sweep) []float64 { return p.samples(s) }
