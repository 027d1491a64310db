// Package rig simulates a measurement rig: an audio interface, headphones on a plate with a
// microphone in it, and a recorder. The effect of the headphones on a signal is known exactly. So
// the package serves to demonstrate a review, to teach what a measurement can show and what it
// cannot, and to test the detection of faults.
//
// Everything in it is invented: the headphones, the rig, the music and the
// voice. No figure here describes a thing that exists.
//
// # The chain
//
//	stimulus → interface's distortion ─┬─ (patched straight back) ──────────────┬→ interface's response
//	                                   └→ driver → seating, plate → microphone ─┘   → latency, drift
//	                                                                                → noise, hum, DC → recording
//
// A driver is
//
//	y = delay, reflections ∘ Filters ∘ (x + P(x)) ∘ Before,
//
// P a polynomial of the orders 2 to 5. The linear part never leaves the sample
// rate, so it is exactly the filters of the Audio EQ Cookbook. P is worked out
// at four times the sample rate, so that what lies above half the sample rate
// does not fold back.
//
// # Accuracy
//
// Fs is the sample rate. The tests hold the package to these.
//
//	filters                 exact (double precision)
//	harmonics               within 0.0001 dB up to 0.45 Fs; between 0.45 and 0.5 Fs they fade out
//	what would fold back    rejected by 118 dB and more
//	fractional delays       within 0.0002 dB up to 0.45 Fs
//	clock drift             all that is wrong, images included, 97 dB down up to 0.45 Fs
//
// # Repeatable
//
// There is no global state. Every random thing (noise, seating, tunes) follows
// from the seed and from what it belongs to: the same call gives the same
// samples. A Rig and Headphones are plain values that no method changes; they
// may be shared between goroutines as long as nobody writes to them.
//
// # Levels
//
// Full scale is 1. Peak levels are in dBFS, a full-scale sine being 0 dBFS;
// noise is in dBFS rms, 20 log10 of the rms value, so that a full-scale sine
// has −3.01 dBFS rms.
package rig
