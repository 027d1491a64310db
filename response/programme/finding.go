package programme

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// The kinds of findings of a comparison.
const (
	Clipped  response.FindingKind = "clipping"             // flat tops in the through recording
	Material response.FindingKind = "clipped material"     // flat tops in the material itself
	Inverted response.FindingKind = "opposite polarity"    // the polarity is inverted
	Short    response.FindingKind = "short material"       // the material is too short for the lowest frequency
	Partial  response.FindingKind = "partial recording"    // the through recording lacks a part of the direct one
	Drift    response.FindingKind = "clock drift"          // the clocks differ
	Narrow   response.FindingKind = "narrow-band material" // the material has energy in part of the band only
	Wavering response.FindingKind = "wavering"             // what comes through changes with time (of NewSpectrogram)
	// SteadyTone is a steady tone in a recording that is not part of the material.
	SteadyTone response.FindingKind = "steady tone"
)

const (
	partialShare = 0.9 // a finding if less than this share of the direct recording is shared
	narrowOctave = 2.0 // a finding if this many octaves or more are not known
	noticeable   = 2.0 // a finding if the drift exceeds this many standard uncertainties
)

// find sets the findings.
func (c *Comparison) find(direct, through Channel, short shortage) {
	add := func(k response.FindingKind, format string, args ...any) {
		f := response.Finding{Recording: through.Name, Kind: k, Severity: response.Note, Time: math.NaN(),
			Duration: math.NaN(),
			What:     fmt.Sprintf(format, args...)}
		switch k {
		case Material:
			f.Recording = direct.Name
		case Clipped, Inverted:
			f.Severity = response.Warning
		}
		c.Findings = append(c.Findings, f)
	}
	a := c.Alignment
	sharedThrough := through.Samples
	from, to := a.place(float64(a.from)), a.place(float64(a.to))
	sharedThrough = sharedThrough[max(0, int(from)):min(len(sharedThrough), int(to)+1)]
	_, peak := powerAndPeak(sharedThrough)
	if n, at := flatTops(sharedThrough, peak); n > 0 {
		add(Clipped, "%s clips, first at %.2f s (%d samples in flat tops); "+
			"lower the input gain and record again: what it adds counts as residual.",
			through.Name, (from+float64(at))/float64(through.SampleRate), n)
	}
	x := direct.Samples[a.from:a.to]
	_, peak = powerAndPeak(x)
	if n, at := flatTops(x, peak); n > 0 {
		add(Material, "%s has flat tops, first at %.2f s (%d samples): "+
			"either the material was made so, which does the comparison no harm, or the direct recording clips, which does.",
			direct.Name, a.From+float64(at)/float64(direct.SampleRate), n)
	}
	if a.Inverted {
		add(Inverted, "The polarity of %s is opposite to that of %s; this is corrected. Check the wiring.",
			through.Name, direct.Name)
	}
	if short.reached > c.Config.Band.Low {
		add(Short, "Known from %s up: %s.", response.FormatFrequency(c.Valid.Low), short.text())
	}
	if share := a.shared() / direct.duration(); share < partialShare {
		add(Partial, "%s holds %.1f s of the %.1f s of %s, from %.1f s on; the rest is not compared.",
			through.Name, a.shared(), direct.duration(), direct.Name, a.From)
	}
	if d := a.Clock; math.Abs(d.Drift) > 1 && math.Abs(d.Drift) > noticeable*d.Uncertainty {
		add(Drift, "The clocks of the two recordings differ by %+.1f parts per million; this is corrected.", d.Drift)
	}
	c.detectWander(through.Name)
	for i, name := range []string{direct.Name, through.Name} {
		if len(c.tones[i]) > 0 {
			c.Findings = append(c.Findings, tonesFinding(name, c.tones[i]))
		}
	}
	if octaves, missing := c.unknownOctaves(); missing >= narrowOctave {
		add(Narrow, "The response is known over %.1f of %.1f octaves; "+
			"elsewhere the material has too little energy for the noise, or the residual is too large.",
			octaves-missing, octaves)
	}
}
