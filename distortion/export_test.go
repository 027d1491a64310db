package distortion

// Append lets package distortion_test make readings.
func (r *Readings) Append(f float64, x Reading) { r.add(f, x) }
