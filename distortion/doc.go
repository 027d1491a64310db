// Package distortion takes the harmonics out of a sweep.
//
// A device that bends a sine adds harmonics to it. Played an exponential sweep,
// each harmonic is a sweep of its own that runs n times as high, and so L ln n
// earlier, as package sweep draws; deconvolved, it is an impulse response of
// its own that stands that much before the linear one:
//
//	     5  4   3      2            1
//	_____|__|___|______|____________|\/\~_____  time
//	     |<- L ln 5 --------------->|
//
// Cut out and transformed, each is distortion against frequency, from one
// sweep. (A. Farina, AES 108th Convention, Paris 2000, preprint 5093; A. Novak,
// P. Lotton, L. Simon, J. Audio Eng. Soc. 63(10), 2015.)
//
// Levels are in dB relative to the fundamental at the same instant of the
// sweep, that is, at the frequency of the fundamental that made them. Total
// harmonic distortion is stated relative to the fundamental or to the total,
// and says which, and which orders it contains.
package distortion
