package tone

import (
	"fmt"
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Multitone holds the tones of a recording of a multitone, and its distortion and noise.
//
// The distortion of a periodic stimulus by a device that does not change lies on multiples of the
// repetition frequency only; noise lies everywhere. So the density between the multiples gives the
// share of noise in the power on them.
type Multitone struct {
	// Tones are those recorded, in dBFS.
	Tones []Component
	// Bands are thirds of an octave (IEC 61260-1, base ten) across Config.Band, up to the maximum
	// frequency.
	Bands []Residue
	// Total is the sum of the bands.
	Total Residue
}

// AnalyseMultitone measures everything except the tones in the steady part of a recording of a
// multitone. The tones repeat together after a period of so many samples. Their frequencies in Hz,
// ascending, are multiples of the sample rate divided by that. The analysis needs two periods, and
// seven to know the floor. Of the configuration, MaxFrequency, Band and Correction are used.
//
// Tones on odd multiples are clear of products of even orders, which lie on even ones. A product
// exactly on a tone cannot be separated from it and is not counted.
//
// Errors: ErrAbsent if fewer than half of the tones stand out, ErrTooShort, ErrNotFinite,
// ErrUnsteady.
func AnalyseMultitone(x []float64, sampleRate, period int, tones []float64, c Config) (Multitone, error) {
	r, err := open(x, sampleRate, c)
	if err != nil {
		return Multitone{}, err
	}
	if period < 2 || len(tones) == 0 {
		return Multitone{}, fmt.Errorf(
			"tone: %d tones in a period of %d samples; give one tone or more, and a period of 2 samples or more",
			len(tones), period)
	}
	b := comb{omega: [2]float64{2 * math.Pi / float64(period)}}
	base := r.rate / float64(period)
	for _, f := range tones {
		k := math.Round(f / base)
		if !(k > float64(b.last()) && k < float64(period)/2) {
			return Multitone{}, fmt.Errorf("tone: a tone at %v Hz; give rising multiples of %.6g Hz, below half the sample rate",
				f, base)
		}
		b.lines = append(b.lines, line{m: int(k)})
	}
	if err := r.long(2/base, "two periods of the tones"); err != nil {
		return Multitone{}, err
	}
	if err := r.present(tones, base); err != nil {
		return Multitone{}, err
	}
	// The clocks of two common crystals differ by less than 300 ppm. Tones that this moves by less
	// than a quarter of a bin are fitted first.
	reach := int(0.25 / 300e-6 * float64(period) / float64(len(x)))
	f, err := r.fit(b, max(reach, 1))
	if err != nil {
		return Multitone{}, err
	}
	return f.residues(), nil
}

// Residue is everything in a band except the tones. Levels are in dB relative to the power of all
// the tones together.
type Residue struct {
	response.Band
	Frequency float64 // midband, Hz
	// TDPlusN is distortion and noise (TD+N); not known if nothing could be read.
	TDPlusN response.Figure
	// Noise is the noise alone. It is NaN if there is no bin between the multiples, and always if
	// fewer than seven periods were recorded. A line leaks into the gap beside it, so the noise is
	// at least about the distortion less 45 dB.
	Noise float64
	// Distortion is the power on the multiples of the repetition frequency, read above the noise
	// there.
	Distortion distortion.Reading
}

// mixture is the remainder of a band, by kinds of bins. Powers are mean squares; that of the noise
// is NaN if none could be read.
type mixture struct {
	periodic      float64 // on multiples of the repetition frequency
	grid          float64 // Hz occupied by the multiples
	noise         float64 // of the whole band
	under         float64 // the part of it on the multiples
	spread        float64 // variance of the noise's own power, and of noise times distortion
	degrees       float64 // of freedom of the noise on the multiples
	degreesBeside float64 // degrees of freedom with which it is known
}

// scale multiplies all powers by a factor.
func (p *mixture) scale(by float64) {
	p.periodic, p.noise, p.under, p.spread = p.periodic*by, p.noise*by, p.under*by, p.spread*by*by
}

// add adds a band. If its noise is not known, that of the sum is not known either, unless the band
// has no bins on multiples.
func (p *mixture) add(q mixture) {
	if q.grid == 0 && math.IsNaN(q.noise) {
		return
	}
	p.periodic += q.periodic
	p.noise += q.noise
	p.under += q.under
	p.spread += q.spread
}

func (p mixture) residue(b response.Band, middle, tones float64) Residue {
	level := func(power float64) float64 { return decibel.OfPower(power / tones) }
	r := Residue{Band: b, Frequency: middle, TDPlusN: response.NotKnown("dB"), Noise: level(p.noise),
		Distortion: nothing("dB")}
	switch {
	case !math.IsNaN(p.noise):
		power := p.noise + max(0, p.periodic-p.under)
		// The relative change of an amplitude is half that of its power.
		r.TDPlusN = inDecibels(ratio(math.Sqrt(power/tones), math.Sqrt(p.spread)/2/math.Sqrt(power*tones)), "dB")
	case p.periodic > 0:
		r.TDPlusN = figure(level(p.periodic), math.NaN(), "dB")
	}
	if p.grid > 0 {
		r.Distortion = distortion.NewReading(level(p.periodic), level(p.under), "dB",
			distortion.Noise{Degrees: p.degrees, Known: p.degreesBeside})
	}
	return r
}

// last returns the multiple of the last line, or 0 if there is none.
func (b *comb) last() int {
	if len(b.lines) == 0 {
		return 0
	}
	return b.lines[len(b.lines)-1].m
}

// present returns an error for a recording in which fewer than half of the tones stand out.
func (r *recording) present(tones []float64, base float64) error {
	found, s := 0, r.whole
	for _, f := range tones {
		side := max(300e-6*f, s.reach())
		around, _ := s.noise(f, 8*base, func(hz float64) bool { return math.Abs(hz-f) < side+s.reach() })
		p, ok := s.strongest(response.Band{Low: f - side, High: f + side}, nil)
		if ok && p.amplitude*p.amplitude > prominent*2*s.bandwidth*around {
			found++
		}
	}
	if 2*found >= len(tones) {
		return nil
	}
	return fmt.Errorf("tone: %d of the %d tones stand out: %w", found, len(tones), r.absent(0))
}

func (f *fitted) residues() Multitone {
	var r Multitone
	var tones float64
	for i, t := range f.readings {
		r.Tones = append(r.Tones, t.tone())
		if a := f.corrected[i].amplitude().Value; a > 0 { // if the microphone is known
			tones += a * a / 2
		}
	}
	band := f.config.Band
	band.High = min(band.High, f.config.MaxFrequency, f.rate/2-f.residue.reach())
	var sum mixture
	parts := []distortion.Reading{}
	for x := math.Floor(decibel.OfPower(max(band.Low, 1) / 1000)); ; x++ {
		middle := 1000 * decibel.Power(x)
		third := response.Band{Low: middle * math.Pow(10, -0.05), High: middle * math.Pow(10, 0.05)}
		if third.Low >= band.High {
			break
		}
		third = third.Intersect(band)
		if third.Empty() {
			continue
		}
		part, gain := f.mixture(third), f.config.gainAt(middle)
		if math.IsNaN(gain) {
			continue
		}
		part.scale(gain * gain)
		r.Bands = append(r.Bands, part.residue(third, middle, tones))
		sum.add(part)
		if part.grid > 0 {
			parts = append(parts, r.Bands[len(r.Bands)-1].Distortion)
		}
	}
	r.Total = sum.residue(band, math.Sqrt(max(band.Low, 1)*band.High), tones)
	if r.Total.Distortion = nothing("dB"); len(parts) > 0 {
		r.Total.Distortion = distortion.Sum(parts[0], parts[1:]...)
	}
	return r
}

func (f *fitted) mixture(b response.Band) mixture {
	s := f.residue
	var p mixture
	var whole, between, noise float64
	f.each(b, func(k int, periodic, emptied bool) {
		whole += s.step
		switch {
		case emptied:
		case periodic:
			p.periodic += s.density[k] * s.step
			p.grid += s.step
		default:
			noise += s.density[k] * s.step
			between += s.step
		}
	})
	if between == 0 && p.grid > 0 {
		noise, between = f.beside(b)
	}
	density, independent := noise/between, alike*s.resolution // Hz for one independent value
	p.noise, p.under = density*whole, density*p.grid
	p.spread = independent * density * (p.noise + 2*max(0, p.periodic-p.under))
	p.degrees, p.degreesBeside = 2*p.grid/independent, 2*between/independent
	return p
}

// lobe is the number of bins on either side of a multiple that belong to it: up to the third null
// of the window, beyond which a line is 41 dB down.
const lobe = 3

// each visits the bins of a band: those on multiples of the repetition frequency, those that the
// fit of the tones has emptied, and the rest.
func (f *fitted) each(b response.Band, visit func(k int, periodic, emptied bool)) {
	s, base := f.residue, f.hertz(f.omega[0])
	from, to := s.bins(b)
	for k := from; k < to; k++ {
		hz := float64(k) * s.step
		visit(k, math.Abs(hz-math.Round(hz/base)*base) < lobe*s.resolution, f.near(hz))
	}
}

// beside returns the power of the noise in the gaps nearest to a band that is too narrow to have
// one, and the width of these gaps in Hz.
func (f *fitted) beside(b response.Band) (power, hertz float64) {
	base := f.hertz(f.omega[0])
	f.each(response.Band{Low: b.Low - base, High: b.High + base}, func(k int, periodic, emptied bool) {
		if !periodic && !emptied {
			power += f.residue.density[k] * f.residue.step
			hertz += f.residue.step
		}
	})
	return power, hertz
}
