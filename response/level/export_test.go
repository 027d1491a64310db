package level

import "example.com/earnest/response"

// Unexported methods for package level_test.

func (c Calibration) Inverted() Calibration { return c.inverted() }

func (z Impedance) Curve() response.Curve { return z.curve() }
