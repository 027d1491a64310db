package level

import (
	"math"

	"example.com/earnest/response"
)

// The kinds of findings about a calibration, a measurement or an amplifier.
const (
	UncertainSign      response.FindingKind = "sign in doubt"          // a calibration shaped like a correction
	NarrowCalibration  response.FindingKind = "narrow calibration"     // lacks a part of the audible band
	AbsoluteLevels     response.FindingKind = "absolute levels"        // a calibration far from 0 dB at 1 kHz
	NoUncertainty      response.FindingKind = "uncertainty not stated" // by a calibration
	Wandering          response.FindingKind = "level wanders"          // of a calibrator or of a noise
	Harmonics          response.FindingKind = "harmonics"              // in a calibrator's tone
	Noisy              response.FindingKind = "noise"                  // beside a calibrator's tone, or in place of a noise
	UnequalChannels    response.FindingKind = "channels differ"        // of an impedance measurement, or are not compared
	NegativeResistance response.FindingKind = "resistance below zero"  // which no passive load has
	NoBackground       response.FindingKind = "no background"          // recorded, so a loss is a lower bound
	LimitUnstated      response.FindingKind = "limit not stated"       // of an amplifier
	Loud               response.FindingKind = "level that can hurt"    // of an amplifier with headphones
	Uncorrected        response.FindingKind = "outside the correction" // where a level has power
)

// remark returns a finding that has no position in time.
func remark(kind response.FindingKind, what, remedy string) response.Finding {
	severity := response.Warning
	if remedy == "" {
		severity = response.Note
	}
	return response.Finding{Kind: kind, Severity: severity, Time: math.NaN(), Duration: math.NaN(),
		What: what, Remedy: remedy}
}
