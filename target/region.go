package target

import (
	"fmt"

	"example.com/earnest/response"
)

// Region is a part of the spectrum with its name in the trade.
type Region struct {
	Name string
	Band response.Band
}

// String writes the region with its edges: "presence (4 kHz–6 kHz)".
func (r Region) String() string { return fmt.Sprintf("%s (%v)", r.Name, r.Band) }

// RegionDeviation is the deviation in one region.
type RegionDeviation struct {
	Region
	// Mean and RMS are those of the aligned deviation in the region, in dB. They are not known if
	// nothing is known there, or if all weights are zero.
	Mean, RMS response.Figure
	// Coverage is the part of the region, 0 to 1, that was asked for and in which the deviation is
	// known.
	Coverage float64
	// Weight is the part of the whole weight that lies in the region, 0 to 1.
	Weight float64
}

// String formats the region as a line of a table: "bass (60 Hz–250 Hz): mean +0.31 dB, rms 0.52
// dB".
func (r RegionDeviation) String() string {
	if !r.Mean.Known() {
		return r.Region.String() + ": not known"
	}
	part := ""
	if r.Coverage < 1-rounding {
		part = fmt.Sprintf(" (%.0f %% of the band)", 100*r.Coverage)
	}
	return fmt.Sprintf("%v: mean %+.2f dB, rms %.2f dB%s", r.Region, r.Mean.Value, r.RMS.Value, part)
}

// regions returns the regions by the names that engineers use. The names are common practice, and
// no standard has the edges. Books and mixing desks put them up to half an octave elsewhere, so
// every result states its own.
func regions() []Region {
	return []Region{
		{"sub-bass", response.Band{Low: 20, High: 60}},
		{"bass", response.Band{Low: 60, High: 250}},
		{"low mids", response.Band{Low: 250, High: 500}},
		{"mids", response.Band{Low: 500, High: 2000}},
		{"upper mids", response.Band{Low: 2000, High: 4000}},
		{"presence", response.Band{Low: 4000, High: 6000}},
		{"brilliance", response.Band{Low: 6000, High: 20000}},
	}
}

func checkRegions(regions []Region) error {
	for _, r := range regions {
		if r.Band.Empty() || !(r.Band.Low > 0) {
			return fmt.Errorf("the region %q, %v Hz to %v Hz, holds nothing; give its low end first, above zero",
				r.Name, r.Band.Low, r.Band.High)
		}
	}
	return nil
}
