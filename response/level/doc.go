// Package level turns recorded levels into volts, dB SPL, sensitivity and impedance. From these it
// works out what amplifier a pair of headphones needs, how loud it can go, and how long that is
// safe:
//
//	file of the microphone   ReadCalibration   the response of the microphone, which Calibration.Correct subtracts
//	recorded calibrator      Calibrator.Tone   its level in the recording; Calibrator.Sensitivity, dB SPL for a full-scale sample
//	volts at the terminals   OutputVoltage     dB SPL/V, and with the impedance dB SPL/mW
//	two-channel recording    Divider           impedance against frequency
//	all of these             Amplifier         the maximum SPL, and the voltage, current and power that it takes
//	recorded programme       Meter             A-weighted level; Limit, the time allowed
//	two recorded noises      InsertionLoss     the isolation of the cups; MeasureSoundLeakage, what others hear
//
// Sound pressure levels are in dB re 20 µPa of the rms pressure. A recording has full scale 1; its
// level in dBFS rms, as used here, is 20 log10 of the rms of its samples, so a full-scale sine is
// at −3.01 dB.
//
// Every Figure carries its standard uncertainty: the root sum of squares of independent
// contributions (JCGM 100:2008, the GUM, 5.1.2). What is not known is NaN and never zero.
//
// # Caution
//
// The levels computed here can hurt hearing. Take the headphones off before you play a test signal,
// start at the lowest level and raise it in steps. Times and limits are guidance, not medical
// advice; local rules and the word of professionals take precedence.
package level
