package report

import (
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// deviationJSON holds the deviation of a response from the target.
type deviationJSON struct {
	BandHz       [2]number    `json:"band_hz"`
	Offset       figureJSON   `json:"offset"`
	RMS          figureJSON   `json:"rms"`
	MeanAbsolute figureJSON   `json:"mean_absolute"`
	Tilt         figureJSON   `json:"tilt"`
	Ripple       figureJSON   `json:"ripple"`
	Share        figureJSON   `json:"share_within_tolerance"`
	Widest       widestJSON   `json:"widest"`
	Octaves      []octaveJSON `json:"octaves"`
	Warnings     []string     `json:"warnings,omitempty"`
}

func newDeviation(d target.Deviation) deviationJSON {
	out := deviationJSON{
		BandHz: newBand(d.Band), Offset: newFigure(d.Offset), RMS: newFigure(d.RMS), MeanAbsolute: newFigure(d.MeanAbsolute),
		Tilt: newFigure(d.Tilt), Ripple: newFigure(d.Ripple), Share: newFigure(d.Share),
		Widest:   widestJSON{newFigure(d.Max.Level), number(d.Max.Frequency)},
		Warnings: d.Warnings,
	}
	for _, o := range d.Octaves {
		out.Octaves = append(out.Octaves, octaveJSON{number(o.Nominal), newBand(o.Band.Intersect(d.Band)),
			newFigure(o.Mean), newFigure(o.RMS)})
	}
	return out
}

// widestJSON is the largest deviation.
type widestJSON struct {
	Level       figureJSON `json:"level"`
	FrequencyHz number     `json:"frequency_hz"`
}

// octaveJSON is the deviation in one octave band of IEC 61260-1.
type octaveJSON struct {
	NominalHz number     `json:"nominal_hz"`
	JudgedHz  [2]number  `json:"judged_hz"` // the part of the octave that was judged
	Mean      figureJSON `json:"mean"`
	RMS       figureJSON `json:"rms"`
}

// Octave names an octave by its nominal frequency, or by the judged part if only a part of it was
// judged. Otherwise a table could begin at 16 Hz, which was not played.
func (l language) Octave(judged response.Band, o target.OctaveDeviation) string {
	if part := o.Band.Intersect(judged); part.Octaves() < 0.95*o.Band.Octaves() {
		return l.Band(part)
	}
	return l.plainHz(o.Nominal)
}
