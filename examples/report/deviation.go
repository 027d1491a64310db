package report

import (
	"example.com/earnest/target"
)

// Deviation is how a response differs from the target.
type Deviation struct {
	BandHz       [2]Number   `json:"band_hz"`
	Offset       Figure      `json:"offset"`
	RMS          Figure      `json:"rms"`
	MeanAbsolute Figure      `json:"mean_absolute"`
	Tilt         Figure      `json:"tilt"`
	Ripple       Figure      `json:"ripple"`
	Share        Figure      `json:"share_within_tolerance"`
	Widest       Excursion   `json:"widest"`
	Octaves      []OctaveRow `json:"octaves"`
	Warnings     []string    `json:"warnings,omitempty"`
}

// Excursion is where the response strays furthest.
type Excursion struct {
	Level       Figure `json:"level"`
	FrequencyHz Number `json:"frequency_hz"`
}

// OctaveRow is the deviation in one octave band of IEC 61260-1.
type OctaveRow struct {
	NominalHz Number `json:"nominal_hz"`
	Mean      Figure `json:"mean"`
	RMS       Figure `json:"rms"`
}

func compileDeviation(d target.Deviation) Deviation {
	out := Deviation{
		BandHz: band(d.Band), Offset: figure(d.Offset), RMS: figure(d.RMS), MeanAbsolute: figure(d.MeanAbsolute),
		Tilt: figure(d.Tilt), Ripple: figure(d.Ripple), Share: figure(d.Share),
		Widest:   Excursion{figure(d.Widest.Level), Number(d.Widest.Frequency)},
		Warnings: d.Warnings,
	}
	for _, o := range d.Octaves {
		out.Octaves = append(out.Octaves, OctaveRow{Number(o.Nominal), figure(o.Mean), figure(o.RMS)})
	}
	return out
}
