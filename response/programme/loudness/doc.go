// Package loudness measures how loud a programme sounds by ITU-R BS.1770-5 and
// EBU R 128: integrated, momentary and short-term loudness in LUFS, loudness
// range in LU, and true peak in dBTP.
//
// Recordings are compared by ear only when they are equally loud. [Measure]
// gives the loudness of each, and the difference is the gain in dB that makes
// them equal:
//
//	direct, err := loudness.Measure([][]float64{left, right}, 48000)
//	gain := direct.Integrated - through.Integrated // dB, to apply to through
package loudness
