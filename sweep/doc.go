// Package sweep makes the signal that is played: the synchronised exponential sine sweep, and the
// stimulus that a reviewer plays. It also gives the sweep's frequency at each time and its
// inverse, with which a recording is analysed.
//
// An exponential sweep spends the same time on every octave:
//
//	x(t) = A sin(2π f1 L (exp(t/L) − 1)),   L = T / ln(f2/f1),   f(t) = f1 exp(t/L)
//
//	frequency
//	  f2 |                      .·    2nd harmonic: the same line,
//	     |              2f(t) .· .·   L ln 2 seconds earlier
//	     |                  .· .· f(t)
//	  f1 |________________.·_.·______ time
//
// so its n-th harmonic is the sweep itself, L ln n earlier. In a deconvolved recording, the
// response of each harmonic therefore lies separate from the linear one, before it, and one pass
// measures both response and distortion (A. Farina, AES 108th Convention, Paris 2000, preprint
// 5093). Here f1 L is rounded to a whole number, so the harmonics are also in phase (A. Novak, P.
// Lotton, L. Simon, J. Audio Eng. Soc. 63(10), 786–798, 2015).
//
// Frequencies are in Hz, times in seconds and levels in dBFS peak; samples have full scale 1.
//
// A sweep can hurt hearing. Take the headphones off, start at the lowest level and raise it in
// steps.
package sweep
