package fitness

import (
	"fmt"
	"math"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// line is a line of a spectrum.
type line struct{ frequency, amplitude float64 }

// hum is that of mains of 50 or 60 Hz.
type hum struct {
	mains   float64
	lines   []line
	square  float64 // mean square of all lines
	own     float64 // of the lines that the other mains frequency does not have
	present bool
}

// humError returns the error in dB of the response from the line of hum with the largest effect,
// and its frequency.
func (c *channel) humError(h hum) (worst, at float64) {
	s := c.Stimulus.Sweep()
	at = h.mains
	for _, l := range h.lines {
		if l.frequency < s.Start() || l.frequency > s.Stop() {
			continue
		}
		if e := c.lineError(l); e > worst {
			worst, at = e, l.frequency
		}
	}
	return worst, at
}

// detectHum finds hum in the quiet stretches: the multiples of 50 Hz or of 60 Hz, up to the tenth,
// that are 12 dB above the noise beside them. The fundamental alone is enough, or any two. 300 Hz
// and 600 Hz belong to both and are ignored.
func detectHum(c *channel) []response.Finding {
	still := c.quietSpectrum()
	if still == nil || still.samples < c.fs/4 {
		return nil // a shorter stretch cannot distinguish 50 from 60 Hz
	}
	h := humOf(still, 50)
	if other := humOf(still, 60); h.own < other.own {
		h = other
	}
	if !h.present {
		return nil
	}
	level := dBFS(math.Sqrt(h.square)) // rms
	f := response.Finding{Kind: MainsHum, Time: nowhere, Duration: nowhere,
		Remedy:  "use one socket for everything, balanced leads, or keep cables away from power supplies",
		Figures: figures{"mains": figure(h.mains, "Hz"), "level": figure(level, "dBFS")}}
	f.What = fmt.Sprintf("hums at %.0f Hz", h.mains)
	if n := len(h.lines); n > 1 {
		f.What += fmt.Sprintf(" with %s of its multiples", count(n-1))
	}
	f.What += fmt.Sprintf(" (%s dBFS rms", signed(level, 1))
	if c.placed != nil {
		worst, at := c.humError(h)
		f.What += fmt.Sprintf("; the response is off by up to %.2g dB at %.0f Hz)", worst, at)
		f.Figures["error"] = figure(worst, "dB")
		f.Severity = grade(worst, noticeableError, worstError)
	} else {
		below := level - dBFS(c.rms)
		f.What += fmt.Sprintf(", %s dB re the programme)", signed(below, 1))
		f.Figures["re programme"] = figure(below, "dB")
		f.Severity = grade(below, -50, -30)
	}
	return c.finding(f)
}

func humOf(still *spectrum, mains float64) hum {
	const standing = 16 // power, 12 dB
	h := hum{mains: mains}
	shared := 300 / mains
	fundamental, own := false, 0
	for k := 1.0; k <= 10 && k*mains < still.bin*float64(len(still.power))*0.9; k++ {
		peak, at := 0.0, 0
		// Mains frequencies stay within 0.5 Hz; a short stretch does not resolve that.
		for i := int(k * (mains - 0.5) / still.bin); i <= int(k*(mains+0.5)/still.bin)+1 && i < len(still.power); i++ {
			if still.power[i] > peak {
				peak, at = still.power[i], i
			}
		}
		beside := statistic.Median(still.around(k*mains, 1, max(4, int(0.44*mains/still.bin))))
		if !(peak > standing*beside) {
			continue
		}
		l := still.lineAt(at)
		h.lines = append(h.lines, l)
		h.square += l.amplitude * l.amplitude / 2
		if math.Mod(k, shared) != 0 {
			h.own += l.amplitude * l.amplitude / 2
			own++
			fundamental = fundamental || k == 1
		}
	}
	h.present = fundamental || own >= 2
	if !h.present {
		h.own = 0
	}
	return h
}
