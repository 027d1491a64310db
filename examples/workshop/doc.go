// Command workshop serves a page for teaching measurement. The reader chooses settings of a sweep,
// a simulated rig and the analysis. The page shows the recording, the separated impulse responses,
// the response beside the truth, and explains what went wrong. Eight lessons lead through it.
//
//	go run ./examples/workshop            # prints an address to open in a browser
//	go run ./examples/workshop -port 0    # on any port that is free
//
// The page is served on the loopback address, for this computer only, and loads nothing from
// elsewhere. The library computes everything (see package bench); pair and rig are invented
// (package rig).
package main
