// Package bench is the workshop's measurement: settings in, what the
// measurement found and what went wrong out.
//
// The rig and the pair are simulated (package rig), so the truth is known. What
// is done with the recordings is what a reviewer does, by the same functions:
//
//	recording ─ Clock ─ Take ─ Separate ─ Window ─ Transfer ─ Divide ─ Smoothed ─ AverageOf
//	                              └────── Harmonics
//
// A measurement that cannot be made is part of the lesson: it comes back as a
// Result that says why.
package bench
