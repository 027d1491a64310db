// Package bench makes the workshop's measurements. It takes settings and returns the results with
// remarks on what went wrong.
//
// The rig and the pair are simulated (package rig), so the truth is known. The recordings are
// processed by the same functions as a reviewer's:
//
//	recording ─ Clock ─ Take ─ Separate ─ Window ─ Transfer ─ Divide ─ Smoothed ─ AverageOf
//	                              └────── Harmonics
//
// A measurement that fails is part of the lesson. It returns a Result that says why.
package bench
