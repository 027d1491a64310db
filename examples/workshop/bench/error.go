package bench

import (
	"math"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
	"example.com/earnest/target"
)

// OctaveSNR is the signal-to-noise ratio of a response in one octave.
type OctaveSNR struct {
	Nominal float64 // Hz
	Band    response.Band
	Level   float64 // dB; NaN if the response is not known
}

// SNRRange returns the octaves with the lowest and the highest signal-to-noise ratio; ok is false
// if none is known.
func (r *Result) SNRRange() (least, most OctaveSNR, ok bool) {
	for _, m := range r.SNR {
		if m.Level != m.Level {
			continue
		}
		if !ok || m.Level < least.Level {
			least = m
		}
		if !ok || m.Level > most.Level {
			most = m
		}
		ok = true
	}
	return least, most, ok
}

// against returns the deviation of a curve from the truth, without fitting its level, where both
// are known from 20 Hz to 20 kHz.
func (r *Result) against(c response.Curve) (target.Deviation, error) {
	truth := target.Target{Name: "truth", Curve: r.Truth, AnyRig: true}
	return target.Compare(c, truth, target.Config{Align: target.Alignment{None: true}, Band: audible})
}

// octaveSNR returns the signal-to-noise ratio of the standard octaves from 31.5 Hz to 16 kHz, as
// the mean difference in dB.
func (r *Result) octaveSNR() []OctaveSNR {
	above, err := r.Response.Sub(r.Floor)
	if err != nil {
		panic(err) // cannot happen: both are from the same rig
	}
	octaves, err := smoothing.Bands(1, 31.5, 16000)
	if err != nil {
		panic(err) // cannot happen: the standard has these bands
	}
	var out []OctaveSNR
	for _, o := range octaves {
		b := response.Band{Low: o.Low, High: o.High}
		out = append(out, OctaveSNR{o.Nominal, b, above.MeanOver(b)})
	}
	return out
}

// TimeInBand returns the time in seconds that the sweep spends in a band, and that of a linear
// sweep of the same length and ends.
func (r *Result) TimeInBand(b response.Band) (logarithmic, linear float64) {
	s := r.Sweep
	b = b.Intersect(response.Band{Low: s.Start(), High: s.Stop()})
	if b.Empty() {
		return 0, 0
	}
	return s.TimeConstant() * b.Octaves() * math.Ln2, s.Duration() * (b.High - b.Low) / (s.Stop() - s.Start())
}
