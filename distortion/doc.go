// Package distortion measures the harmonic distortion of a device from one recorded sweep, at every
// frequency at once. It states how much of a reading may be noise or the rig's own distortion.
// Where the device's own distortion cannot be separated from them, it gives a bound.
//
// A device that is not linear adds harmonics to a sine. In a recording of an exponential sweep each
// harmonic is itself a sweep at n times the frequency, and so comes L ln n earlier. Deconvolution
// turns it into an impulse response that much before the linear one:
//
//	     5  4   3      2            1
//	_____|__|___|______|____________|\/\~_____  time
//	     |<- L ln 5 --------------->|
//
// Each of them, windowed and transformed, is distortion against frequency, from one sweep. (A.
// Farina, AES 108th Convention, Paris 2000, preprint 5093; A. Novak, P. Lotton, L. Simon, J. Audio
// Eng. Soc. 63(10), 2015.)
//
// Levels are in dB relative to the fundamental, against the frequency of that fundamental. Total
// harmonic distortion ([THD]) is in per cent of the fundamental (THD-F), or of the total (THD-R),
// and lists the orders that it contains.
//
// # Readings and their floor
//
// A [Reading] contains the device, the noise and the rig's own distortion together. A recording of
// silence (Config.Silence) gives the reading of noise alone, and the direct recording (WithRig)
// that of the rig alone. Together they are the floor. A reading within 6 dB of its floor is below
// the floor of this measurement: the device's own distortion is not known there, in figures and
// curves alike, but it has a bound. The device's own distortion is also not known where the floor
// is not: without a silence, or where the rig's part is not known. For a reading further above, the
// floor's power is subtracted. [Noise] then gives the interval: of 100 readings above the margin 95
// or more have the truth in their interval, and of 100 bounds, above the margin or not, 95 hold.
//
// The microphone's response is divided out (Config.Correction), for each harmonic and the
// fundamental at their own frequencies.
//
// Subtract subtracts the rig's harmonics as complex numbers, and the result says that it did.
//
// # Which harmonics a sweep can separate
//
// The higher the order, the nearer its neighbours, and the shorter the window that separates it.
// MaxOrders and MinDuration relate the length of the sweep to the ringing of the device.
// Order.Resolution is the bandwidth over which the window smooths, and Order.Valid the band in
// which the order is known.
//
// # Beyond harmonics
//
// Kernels converts harmonics to the branches of a model that holds at any level. LevelSeries
// compares sweeps at rising levels. RubBuzz finds rattling parts. Package tone measures with steady
// tones instead.
//
// Sweeps at high levels can hurt ears and headphones. Keep the headphones off your head, start at
// the lowest level and raise it in steps; local rules and professionals say what level is safe.
package distortion
