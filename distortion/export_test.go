package distortion

// Append lets tests in package distortion_test make readings.
func (r *Readings) Append(f float64, x Reading) { r.add(f, x) }
