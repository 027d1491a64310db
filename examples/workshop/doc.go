// Command workshop serves a page for teaching measurement: settings of a sweep,
// a simulated rig and the analysis on one side, and on the other what was
// recorded, what it was taken apart into, the response beside the truth, and
// what went wrong in words. Eight lessons lead through it.
//
//	go run ./examples/workshop            # prints an address to open in a browser
//	go run ./examples/workshop -port 0    # on any port that is free
//
// The page is for this computer alone: it is served on the loopback address,
// and needs nothing from elsewhere. Everything is computed by the library (see
// package bench); pair and rig are invented (package rig).
package main
