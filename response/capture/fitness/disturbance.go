package fitness

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
)

// Sound below a sweep is looked for in stretches of disturbanceStretch seconds, at least an octave
// below the sweep and disturbanceDecay seconds behind it: by then the ringing of the device is
// over, and its harmonics lie above the sweep.
const (
	disturbanceStretch = 0.2
	disturbanceDecay   = 0.4
	disturbanceLowest  = 60 // Hz, twelve bins
	disturbanceLeast   = 5  // least number of usable stretches
)

// belowSweep is the mean power spectrum of the sound below the sweeps, in the scale of
// quietSpectrum.
type belowSweep struct {
	sum, count []float64
	bin        float64 // Hz
}

// density returns the mean over a third of an octave, or NaN if too little is known.
func (b *belowSweep) density(f float64) float64 {
	low, high := int(math.Ceil(f/math.Sqrt(thirdOctave)/b.bin)), int(f*math.Sqrt(thirdOctave)/b.bin)
	var sum, count float64
	for k := low; k <= high; k++ {
		if b.count[k] < disturbanceLeast {
			return math.NaN()
		}
		sum += b.sum[k] / b.count[k]
		count++
	}
	return sum / count
}

// Sound at the moment at which the sweep passes its frequency is in the response. It continues
// after the response of headphones and of a room is over: from lateFrom seconds on.
const (
	lateFrom     = 0.2
	lateShortest = 0.15 // s
	lateLowest   = 25.0
	lateHighest  = 400.0 // Hz
)

// lateSound returns the error in dB of the response from late sound, its frequency in Hz, and its
// level above the silence. It returns 0 if the sound does not stand out, or if the recording ends
// too soon.
func (c *channel) lateSound(still *spectrum) (moves, at, above float64) {
	s, own := c.Stimulus.Sweep(), c.swept()
	from := int((linearBefore + lateFrom) * c.fs)
	if len(own.linear)-from < int(lateShortest*c.fs) {
		return 0, 0, 0
	}
	late := slices.Clone(own.linear[from:])
	var energy float64
	for i, w := range taper.Hann(len(late)) {
		late[i] *= w
		energy += w * w
	}
	spectrum := c.powerOf(late, energy)
	for f := max(lateLowest, s.Start()*thirdOctave); f < min(lateHighest, s.Stop()/2); f *= math.Sqrt(thirdOctave) {
		// Both in the units of the recording.
		sounds := stat.Mean(spectrum.around(f, math.Sqrt(thirdOctave), 1), nil) * s.SpectrumLevel(f) * s.SpectrumLevel(f)
		noise := max(stat.Mean(still.around(f, math.Sqrt(thirdOctave), 4), nil), c.step*c.step/12)
		e := decibel.PerNeper * math.Sqrt(sounds*energy/c.sweptPower(f))
		if sounds > 10*noise && e > max(moves, noticeableError) && !c.rings(f, still) {
			moves, at, above = e, f, decibel.OfPower(sounds/noise)
		}
	}
	return moves, at, above
}

// reverberates reports whether the response continues in every octave after that of headphones is
// over, and decays. Other sound is as loud in both halves.
func (c *channel) reverberates() bool {
	const above, falls = 10, 1.2 // dB; 1.2 dB in a sixth of a second is 60 dB in eight seconds
	still, own := c.quietSpectrum(), c.swept()
	from := int((linearBefore + lateFrom) * c.fs)
	if still == nil || len(own.linear)-from < int(lateShortest*c.fs) {
		return false
	}
	middle := (from + len(own.linear)) / 2
	early, _ := c.octaves(own.linear[from:middle], still)
	late, _ := c.octaves(own.linear[middle:], still)
	var fall []float64
	for i, v := range early {
		fall = append(fall, v-late[i])
	}
	return len(early) >= nearFewest && slices.Min(early) > above && slices.Min(fall) > -falls &&
		statistic.Median(fall) > falls
}

// belowSweeps analyses stretches of every sweep of the channel's side, under the square of a Hann
// window: its side lobes fall by 30 dB per octave, so that little of the sweep is left an octave
// below it.
func (c *channel) belowSweeps() *belowSweep {
	s := c.Stimulus.Sweep()
	plan := c.plans.Plan(fft.FastLen(int(disturbanceStretch * c.fs)))
	n := plan.Len()
	out := &belowSweep{make([]float64, plan.Bins()), make([]float64, plan.Bins()), c.fs / float64(n)}
	window, work, bins := taper.Hann(n), make([]float64, n), make([]complex128, plan.Bins())
	var energy float64
	for i, h := range window {
		window[i] = h * h
		energy += window[i] * window[i]
	}
	for _, segment := range c.Stimulus.Sweeps(c.side) {
		begin := int(c.recordedAt(segment.Start))
		for from := begin; from+n <= min(begin+s.Len(), len(c.x)); from += n / 2 {
			if from < 0 {
				continue
			}
			t := float64(from-begin) / c.fs
			top := int(min(s.FrequencyAt(t)/2, s.FrequencyAt(max(0, t-disturbanceDecay))) / out.bin)
			if float64(top)*out.bin < disturbanceLowest {
				continue
			}
			for i, w := range window {
				work[i] = w * c.x[from+i]
			}
			for k, v := range plan.Forward(bins, work)[:top] {
				out.sum[k] += fft.Power(v) / energy
				out.count[k]++
			}
		}
	}
	return out
}

// detectDisturbance finds sound that is there while the sweep plays but not in the silences: a
// voice, traffic, another program's music, a door. It is 10 dB above the silence in a third of an
// octave, below the sweep or late in the response. It moves the response, like noise of its level,
// by more dB than another fault explains.
func detectDisturbance(c *channel, explained float64) []response.Finding {
	still := c.quietSpectrum()
	if still == nil {
		return nil
	}
	below := c.belowSweeps()
	s := c.Stimulus.Sweep()
	var worst, at, above float64
	for f := max(disturbanceLowest, s.Start()*thirdOctave); f < s.Stop()/2; f *= math.Sqrt(thirdOctave) {
		sounds := below.density(f)
		noise := max(stat.Mean(still.around(f, math.Sqrt(thirdOctave), 4), nil), c.step*c.step/12)
		if !(sounds > 10*noise) {
			continue
		}
		if e := c.errorOf(sounds, f); e > max(worst, noticeableError) && !c.rings(f, still) {
			worst, at, above = e, f, decibel.OfPower(sounds/noise)
		}
	}
	if e, f, a := c.lateSound(still); e > worst {
		worst, at, above = e, f, a
	}
	severity := grade(worst, noticeableError, worstError)
	if severity == response.Note || worst <= explained {
		return nil
	}
	if c.reverberates() {
		return c.finding(response.Finding{Kind: Echo, Severity: severity, Time: nowhere, Duration: nowhere,
			What: fmt.Sprintf("continues to sound for more than %s s after the sweep at all frequencies: "+
				"reverberation, of an effect or of a room; the response is off by up to %.2g dB at %.0f Hz",
				signed(lateFrom, 1), worst, at),
			Remedy:  "switch off effects in player and recorder, or record in a room with less echo, and record again",
			Figures: figures{"error": figure(worst, "dB"), "at": figure(at, "Hz")}})
	}
	return c.finding(response.Finding{Kind: Disturbance, Severity: severity, Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("holds another sound while the sweep plays, %.0f dB above its silence at %.0f Hz; "+
			"the response is off by up to %.2g dB there", above, at, worst),
		Remedy:  "stop all other sounds and record again",
		Figures: figures{"error": figure(worst, "dB"), "above silence": figure(above, "dB"), "at": figure(at, "Hz")}})
}
