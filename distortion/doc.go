// Package distortion measures the harmonic distortion of a device from one recorded sweep, at every
// frequency at once. It says how much of a reading may be noise or the rig's own distortion, and gives
// a bound where the device's cannot be told from them.
//
// A nonlinear device adds harmonics to a sine. Played an exponential sweep,
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
//
// # What the device's figure is worth
//
// A reading is the device, the noise and the rig's own distortion together.
// What noise alone would have shown is known from a recording of silence
// (Config.Silence); what the rig alone would have, from the direct recording
// (WithRig). Together they are the floor. A Figure within 6 dB of its floor is
// below the floor of this measurement: all that is known is its Bound. Above,
// the floor makes its standard uncertainty
//
//	u = 20/ln 10 · 10^((floor − level)/20) / √2  dB.
//
// Subtract takes the rig's harmonics away as complex numbers, and the result
// says that it did.
//
// # What a sweep can tell apart
//
// The higher the order, the nearer its neighbours, and the shorter the window
// that cuts it out: MaxOrders and MinDuration weigh the length of the sweep
// against the ringing of the device, Order.Resolution is what the window leaves
// of the detail, Order.Valid where it can be believed.
//
// # Beyond harmonics
//
// Kernels turns harmonics into the branches of a model that holds at any level.
// LevelSeries puts sweeps at rising levels together. RubBuzz hears what rattles.
// Package tone measures with steady tones instead.
//
// Sweeps at high levels can hurt ears and headphones. Keep the headphones off
// your head, start at the lowest level and raise it in steps; what is safe to
// listen to is for local rules and professionals to say.
package distortion
