package spoilt

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/taper"
	"example.com/earnest/sweep"
)

// dynamics sets its gain by the level, of each channel or of the louder one.
type dynamics struct {
	attack, release float64 // s
	ratio           float64 // above the threshold; below it for a downward one
	above           float64 // dB re the peak: the threshold
	linked          bool
	downward        bool
	shuts           bool // nothing passes below the threshold
}

func (d dynamics) String() string {
	return fmt.Sprintf("ratio %.2g, threshold %.0f dB, %.2g ms, %.2g ms", d.ratio, d.above, 1000*d.attack, 1000*d.release)
}

func (d dynamics) apply(s *session) change {
	return func(x [][]float64) [][]float64 { return d.at(peakOf(x)+d.above, x, s) }
}

// at applies it with a threshold in dBFS.
func (d dynamics) at(threshold float64, x [][]float64, s *session) [][]float64 {
	t, fs := amplitude(threshold), float64(s.rate)
	up, down := 1-math.Exp(-1/(d.attack*fs)), 1-math.Exp(-1/(d.release*fs))
	out := [][]float64{make([]float64, len(x[0])), make([]float64, len(x[0]))}
	envelope, open := [2]float64{}, [2]float64{}
	for i := range x[0] {
		var level [2]float64
		for k := range x {
			level[k] = math.Abs(x[k][i])
		}
		if d.linked {
			level[0] = max(level[0], level[1])
			level[1] = level[0]
		}
		for k := range x {
			rate := down
			if level[k] > envelope[k] {
				rate = up
			}
			envelope[k] += rate * (level[k] - envelope[k])
			gain := d.gain(envelope[k] / t)
			if d.shuts {
				smooth := down
				if gain > open[k] {
					smooth = up
				}
				open[k] += smooth * (gain - open[k])
				if gain = open[k]; gain < 1e-4 {
					gain = 0
				}
			}
			out[k][i] = gain * x[k][i]
		}
	}
	return out
}

// gain returns the gain for a level re the threshold.
func (d dynamics) gain(level float64) float64 {
	switch {
	case d.shuts:
		return map[bool]float64{true: 1, false: 0}[level > 1]
	case d.downward && level < 1, !d.downward && level > 1:
		return max(0.01, math.Pow(level, 1/d.ratio-1))
	}
	return 1
}

// suppression removes, frequency by frequency, sound that is no louder than the noise at the
// beginning.
func suppression(s *session) (string, spoiling) {
	depth, over := s.between(3, 30), s.logBetween(1, 8)
	n := one(s, 512, 1024, 2048)
	return s.struck(fmt.Sprintf("by %.0f dB, over %.1f, %d samples", depth, over, n), func(x [][]float64) [][]float64 {
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = suppressed(x[k], n, amplitude(-depth), over, s.rate)
		}
		return out
	})
}

func suppressed(x []float64, n int, least, over float64, rate int) []float64 {
	noise, frames := make([]float64, n/2+1), 0.0
	return framed(x, n, func(at int, bins []complex128) {
		if at > 0 && at < int(0.3*float64(rate)) || frames == 0 {
			frames++
			for k, v := range bins {
				noise[k] += fft.Power(v)
			}
		}
		for k, v := range bins {
			g := max(least, 1-over*noise[k]/frames/max(fft.Power(v), 1e-300))
			bins[k] = complex(g*real(v), g*imag(v))
		}
	})
}

// framed changes the spectra of frames that overlap by half, under the root of a Hann window before
// and after.
func framed(x []float64, n int, do func(at int, bins []complex128)) []float64 {
	plan, window := fft.NewPlan(n), taper.Hann(n)
	work, bins, out := make([]float64, n), make([]complex128, n/2+1), make([]float64, len(x)+n)
	for at := -n / 2; at < len(x); at += n / 2 {
		for i := range work {
			work[i] = 0
			if j := at + i; j >= 0 && j < len(x) {
				work[i] = x[j] * math.Sqrt(window[i])
			}
		}
		plan.Forward(bins, work)
		do(at, bins)
		plan.Inverse(work, bins)
		for i, v := range work {
			if j := at + i; j >= 0 {
				out[j] += v * math.Sqrt(window[i])
			}
		}
	}
	return out[:len(x)]
}

// equaliser is one filter or two.
func (s *session) equaliser() (string, change) {
	gain := s.between(-8, 8)
	filters := []rig.Filter{one(s, rig.LowShelf(s.between(60, 300), 0.7, gain), rig.HighShelf(s.between(3000, 12000), 0.7, gain),
		rig.Peak(s.logBetween(60, 14000), s.logBetween(0.5, 4), gain))}
	return fmt.Sprintf("%.1f dB", gain), func(x [][]float64) [][]float64 {
		return rig.Rig{SampleRate: s.rate, Interface: rig.Interface{Filters: filters}}.Direct(x)
	}
}

// echo adds a copy that comes a number of seconds late, and again if it is fed back.
func (s *session) echo(late, level, back float64) change {
	n, g := int(late*float64(s.rate)), amplitude(level)
	if s.chance(0.5) {
		g = -g
	}
	return func(x [][]float64) [][]float64 {
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = append([]float64(nil), x[k]...)
			source := x[k]
			if back != 0 {
				source = out[k]
			}
			for i := n; i < len(x[k]); i++ {
				out[k][i] += g * source[i-n]
			}
		}
		return out
	}
}

// monitorLoop plays the recorded signal again.
func monitorLoop(s *session) (string, spoiling) {
	late, level := s.logBetween(0.005, 0.1), s.between(-40, -6)
	n := int(late * float64(s.rate))
	again := s.rig
	again.Latency, again.Drift = 0, 0
	return fmt.Sprintf("%.0f ms, %.0f dB", 1000*late, level), through(func(x [][]float64) [][]float64 {
		delayed := make([][]float64, len(x))
		for k := range x {
			delayed[k] = make([]float64, len(x[k]))
			copy(delayed[k][n:], x[k])
		}
		heard := again.Through(s.pair, 0, delayed)
		// The level of the loop is relative to the recorded signal.
		scale := amplitude(level + peakOf(x) - peakOf(heard))
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = append([]float64(nil), x[k]...)
			floats.AddScaled(out[k], scale, heard[k][:len(x[k])])
		}
		return out
	})
}

// softClipping bends tops, symmetrically or not.
func softClipping(s *session) (string, spoiling) {
	drive, hard, skew := s.between(-24, 6), s.logBetween(1.5, 8), s.between(0, 0.3)*float64(s.IntN(2))
	bend := func(u float64) float64 { return u / math.Pow(1+math.Pow(math.Abs(u), hard), 1/hard) }
	c := func(x [][]float64) [][]float64 {
		top := amplitude(peakOf(x) - drive)
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = make([]float64, len(x[k]))
			for i, v := range x[k] {
				out[k][i] = top * (bend(v/top+skew) - bend(skew))
			}
		}
		return out
	}
	return s.struck(fmt.Sprintf("driven to %.0f dB of its limit, hardness %.1f, skew %.2f", drive, hard, skew), c)
}

// inSweep returns a sample within a sweep, in a file that may have been trimmed.
func (s *session) inSweep() int {
	of := s.stimulus.Sweeps(one(s, sweep.Left, sweep.Right))[0]
	return of.Start + int(s.rig.Latency) - s.trimmed[0] + int(s.between(0.01, 0.99)*float64(of.Len))
}

// where returns a sample, in most draws one within a sweep.
func (s *session) where(x [][]float64) int {
	at := s.inSweep()
	if s.chance(0.2) {
		at = int(s.between(0.05, 0.9) * float64(len(x[0])))
	}
	return max(0, min(at, len(x[0])-6000))
}

func (s *session) click(x [][]float64, n int, level float64) [][]float64 {
	return rig.Click(x, n, level, s.seed)
}

// mute holds the last value, or falls silent.
func (s *session) mute(n int) change {
	hold := s.chance(0.3)
	return func(x [][]float64) [][]float64 {
		at := s.where(x)
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = append([]float64(nil), x[k]...)
			for i := at; i < at+n; i++ {
				out[k][i] = 0
				if hold {
					out[k][i] = x[k][at]
				}
			}
		}
		return out
	}
}

// insert inserts silence.
func (s *session) insert(n int) change {
	return func(x [][]float64) [][]float64 {
		at := s.where(x)
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = append(append(append([]float64(nil), x[k][:at]...), make([]float64, n)...), x[k][at:]...)
		}
		return out
	}
}

// tremolo moves the gain, in dB, up and down.
func (s *session) tremolo(rate, depth float64) change {
	phase := s.between(0, 2*math.Pi)
	return func(x [][]float64) [][]float64 {
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = make([]float64, len(x[k]))
			for i, v := range x[k] {
				out[k][i] = v * amplitude(-depth/2*(1+math.Sin(2*math.Pi*rate*float64(i)/float64(s.rate)+phase)))
			}
		}
		return out
	}
}

// moving mixes a share of the signal with a delayed share of it. The delay moves up and down by
// reach, in seconds: a chorus, a flanger or, without the share that is not delayed, a vibrato.
func (s *session) moving(rate, reach, later, share, own float64) change {
	phase := s.between(0, 2*math.Pi)
	table := interpolate.NewTable(16, 512, 8)
	return func(x [][]float64) [][]float64 {
		out, fs := make([][]float64, len(x)), float64(s.rate)
		for k := range x {
			out[k] = make([]float64, len(x[k]))
			for i, v := range x[k] {
				late := later + reach*(1+math.Sin(2*math.Pi*rate*float64(i)/fs+phase))
				out[k][i] = own * v
				if at := float64(i) - late*fs; at > 0 {
					out[k][i] += share * table.Linear(x[k], at)
				}
			}
		}
		return out
	}
}

// voice adds speech while the sweep plays, near the microphones.
func voice(s *session) (string, spoiling) {
	level, starts := s.between(-70, -10), s.Float64()
	return fmt.Sprintf("at %.0f dB", level), through(func(x [][]float64) [][]float64 {
		spoken := rig.Speech(s.rate, s.between(1, 4), s.seed)
		at := int(starts * float64(len(x[0])))
		scale := amplitude(level + peakOf(x) + 6)
		for k := range x {
			end := min(len(x[k]), at+len(spoken[k]))
			floats.AddScaled(x[k][at:end], scale, spoken[k][:end-at])
		}
		return x
	})
}

// door adds a thump at 15 to 80 Hz that dies away.
func door(s *session) (string, spoiling) {
	level, f, decay := s.between(-60, 0), s.logBetween(15, 80), s.between(0.05, 0.5)
	return fmt.Sprintf("at %.0f dB, %.0f Hz, %.2f s", level, f, decay), through(func(x [][]float64) [][]float64 {
		of := s.stimulus.Sweeps(one(s, sweep.Left, sweep.Right))[0]
		at := of.Start + int(s.rig.Latency) + int(s.between(-0.1, 0.6)*float64(of.Len))
		scale := amplitude(level + peakOf(x))
		for k := range x {
			for i := max(0, at); i < len(x[k]); i++ {
				t := float64(i-at) / float64(s.rate)
				if t > 8*decay {
					break
				}
				x[k][i] += scale * min(1, t/0.005) * math.Exp(-t/decay) * math.Sin(2*math.Pi*f*t)
			}
		}
		return x
	})
}

// wrongStimulus plays another stimulus than the session states.
func wrongStimulus(s *session) (string, spoiling) {
	c := sweep.Config{SampleRate: s.rate, Duration: seconds(s.stimulus.Sweep().Duration() * (1 + one(s, -1., 1)*s.logBetween(0.02, 0.5))), Level: s.stimulus.Sweep().Level()}
	other, err := sweep.New(c)
	if err != nil {
		s.Fatal(err)
	}
	segments := s.stimulus.Segments()
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: other, Silence: seconds(float64(segments[0].Len) / float64(s.rate)), Unmarked: len(s.stimulus.Find(sweep.Mark)) == 0})
	if err != nil {
		s.Fatal(err)
	}
	return fmt.Sprintf("%.2f s for %.2f s", s.stimulus.Sweep().Duration(), other.Duration()), spoiling{stated: st}
}
