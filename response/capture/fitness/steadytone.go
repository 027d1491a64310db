package fitness

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// A steady tone stands toneStanding above the median power of the bins beside it: those at a
// distance of toneNearest to toneFarthest bins, clear of the main lobe of a Hann window. Noise
// alone exceeds that in one of 3e7 bins.
const (
	toneStanding              = 25
	toneNearest, toneFarthest = 5, 25
	// toneHides is the ratio of a tone to the response at its frequency above which the tone is
	// reported, since it hides distortion. Above toneHidesMuch it is a warning: it then hides some
	// 5 % (simulated).
	toneHides, toneHidesMuch = 0.03, 0.3
)

// lineRatio returns the amplitude that a tone throughout the recording adds to the response at its
// frequency, re the response: deconvolution turns it into a tone of the same frequency that fills
// the window.
func (c *channel) lineRatio(l line) float64 {
	signal := math.Sqrt(stat.Mean(c.swept().around(l.frequency, math.Exp2(1.0/12), 2), nil))
	return l.amplitude / 2 * windowAmplitude * c.fs / signal
}

// lineError returns the error in dB of the response there.
func (c *channel) lineError(l line) float64 { return decibel.OfAmplitude(1 + c.lineRatio(l)) }

// smoothedLineError returns the error in dB of the response over a twelfth of an octave, of which
// the tone fills a band as wide as the window resolves.
func (c *channel) smoothedLineError(l line) float64 {
	width := l.frequency * (math.Exp2(1.0/24) - math.Exp2(-1.0/24))
	return decibel.OfAmplitude(1 + c.lineRatio(l)*min(1, 1/(windowAmplitude*width)))
}

// lineAt returns the line in a bin of a spectrum of a quiet stretch. A line of amplitude a has |X| =
// a n/2 under 1 − cos, whose mean is 1, and power a² n/6 as the spectrum is scaled.
func (s *spectrum) lineAt(bin int) line {
	return line{float64(bin) * s.bin, math.Sqrt(s.power[bin] * 6 / s.samples)}
}

// detectSteadyTones finds tones in the quiet stretches that are no hum of the mains and move the
// response: the whistle of a power supply, a fan or a screen. Distortion cannot be read where they
// are. They do not make a recording unfit, since the response is masked where it is too near the
// noise.
func detectSteadyTones(c *channel, hums bool) []response.Finding {
	still := c.quietSpectrum()
	if still == nil || c.placed == nil || still.samples < c.fs/4 {
		return nil
	}
	s := c.Stimulus.Sweep()
	var worst, at, square float64 // of the tone with the largest error
	tones, severity := 0, response.Note
	beside := make([]float64, 0, 2*toneFarthest)
	for k := int(s.Start() / still.bin); k < min(int(s.Stop()/still.bin), len(still.power)-toneFarthest); k++ {
		power := still.power[k]
		if k < toneFarthest || power < still.power[k-1] || power <= still.power[k+1] ||
			power < toneStanding*(still.power[k-toneNearest]+still.power[k+toneNearest])/2 {
			continue
		}
		beside = append(beside[:0], still.power[k-toneFarthest:k-toneNearest+1]...)
		beside = append(beside, still.power[k+toneNearest:k+toneFarthest]...)
		l := still.lineAt(k)
		if power < toneStanding*statistic.Median(beside) || hums && ofMains(l.frequency, still.bin) {
			continue
		}
		e, ratio := c.smoothedLineError(l), c.lineRatio(l)
		if e < noticeableError && ratio < toneHides {
			continue
		}
		if e >= worstError || ratio >= toneHidesMuch {
			severity = response.Warning
		}
		tones++
		square += l.amplitude * l.amplitude / 2
		if e > worst {
			worst, at = e, l.frequency
		}
	}
	if tones == 0 {
		return nil
	}
	level, place := dBFS(math.Sqrt(square)), response.FormatFrequency(at)
	f := response.Finding{Kind: SteadyTone, Severity: severity, Time: nowhere, Duration: nowhere,
		What:   "holds a steady tone at " + place,
		Remedy: "find what whistles (a power supply, a fan, a computer), switch it off, and record again",
		Figures: figures{"level": figure(level, "dBFS"), "at": figure(at, "Hz"), "error": figure(worst, "dB"),
			"tones": figure(float64(tones), "")}}
	if tones > 1 {
		f.What = fmt.Sprintf("holds %s steady tones, the worst at %s", count(tones), place)
	}
	f.What += fmt.Sprintf(" (%s dBFS rms in all): the response is off by up to %.2g dB there, and distortion is not known "+
		"where it is below the tone", signed(level, 1), worst)
	return c.finding(f)
}

// ofMains reports whether a frequency is a multiple of that of the mains, to 0.1 % and a bin.
func ofMains(frequency, bin float64) bool {
	for _, mains := range []float64{50, 60} {
		if math.Abs(math.Remainder(frequency, mains)) <= bin+0.001*frequency {
			return true
		}
	}
	return false
}
