// Package outside tests the library on devices from other sources. Its tests send sweeps, steady
// tones, noise and recorded speech and music through effects of sox and ffmpeg, drawn at random,
// and sweeps through the ears of a manikin as they were measured; and compare the library's results
// with the truth. The truth is the Audio EQ Cookbook's formulas, the Fourier coefficients of a
// static curve, or the measured response itself.
//
//	go test ./internal/testing/outside -v                           # a few of each
//	go test ./internal/testing/outside -v -chains 1000 -seed 7      # chains that are fit to measure
//	go test ./internal/testing/outside -v -bad 330 -seed 7          # recordings that are not
//	go test ./internal/testing/outside -v -manikin                  # every direction, both ears
//
// Each prints a table: the error by quantity, its limit, and the chain that was worst. A chain that
// exceeds a limit is printed as the commands that it was run by, and -keep leaves their files in a
// folder.
package outside
