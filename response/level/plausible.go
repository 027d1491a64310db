package level

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// audible is the band that a calibration is expected to cover.
var audible = response.Band{Low: 20, High: 20000}

// judge sets the findings about the calibration.
func (c *Calibration) judge() {
	c.Findings, c.SignSuspected = nil, false
	c.judgeRange()
	c.judgeLevel()
	if reason := c.correctionLike(); reason != "" {
		c.SignSuspected = true
		c.Findings = append(c.Findings,
			remark(UncertainSign, "the sign may be that of a correction, to be added instead of subtracted: "+reason+
				"; this is a suspicion only", "ask whoever wrote the file, and turn it round if it is so"))
	}
	if c.Response.Uncertainty == nil {
		c.Findings = append(c.Findings, remark(NoUncertainty,
			"no uncertainty is stated, so that of a corrected curve is not known", "take it from the certificate"))
	}
}

// judgeRange adds a finding for each part of the audible band that the calibration lacks.
func (c *Calibration) judgeRange() {
	valid := c.Response.Valid
	below := response.Band{Low: audible.Low, High: min(valid.Low, audible.High)}
	above := response.Band{Low: max(valid.High, audible.Low), High: audible.High}
	const least = 0.05 // octaves: less, as 20 Hz against 20.7 Hz, needs no finding
	for _, lost := range []response.Band{below, above} {
		if lost.Octaves() > least {
			c.Findings = append(c.Findings, remark(NarrowCalibration,
				fmt.Sprintf("calibrated over %v only: nothing is known over %v, %.1f octaves of what is heard",
					valid, lost, lost.Octaves()), ""))
		}
	}
}

// judgeLevel adds a finding if the level around 1 kHz is far from 0 dB.
func (c *Calibration) judgeLevel() {
	const most = 10 // dB; a measurement microphone departs by less over most of its range
	middle := c.mean(400, 2500)
	if math.Abs(middle) > most {
		c.Findings = append(c.Findings, remark(AbsoluteLevels,
			fmt.Sprintf("the level around 1 kHz is %.1f dB and not near 0: the file may hold absolute sensitivities",
				middle),
			"take it relative to the frequency of the calibrator"))
	}
}

// mean returns the mean level in dB over a band, interpolated between the points.
func (c *Calibration) mean(low, high float64) float64 {
	return c.Response.Resample(response.LogGrid(low, high, 24)).MeanOver(response.Band{Low: low, High: high})
}

// correctionLike returns the reason to suspect the opposite sign, or an empty string.
//
// The pressure in front of a microphone on axis rises towards high frequencies, since the
// microphone obstructs the sound (by up to 6 dB at a rigid face, where the wavelength is as small
// as the face; for one of 12 mm, about 10 to 20 kHz). At the lowest frequencies the vent that
// equalises static pressure lets the sound in behind the diaphragm. So a microphone reads too high
// at the top, or flat, and too low at the bottom; its correction does the opposite. A microphone
// made for sound from all sides can fall at the top, so this is only a suspicion.
func (c *Calibration) correctionLike() string {
	const clear, contrary = 1.0, -0.5 // dB
	middle := c.mean(400, 2500)
	top := middle - c.mean(8000, 16000)
	bottom := c.mean(10, 40) - middle
	fallsAtTop := fmt.Sprintf("it falls by %.1f dB from the middle to 8–16 kHz, where a microphone facing the sound rises",
		top)
	risesBelow := fmt.Sprintf("it rises by %.1f dB below 40 Hz, where the vent of a microphone lets its response fall",
		bottom)
	switch {
	case top > clear && bottom > clear:
		return fallsAtTop + ", and " + risesBelow
	case top > clear && !(bottom < contrary):
		return fallsAtTop
	case bottom > clear && !(top < contrary):
		return risesBelow
	}
	return ""
}
