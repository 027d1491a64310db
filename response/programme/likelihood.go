package programme

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/delay"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response/capture"
)

// leastGain is the number of nats by which two delays have to explain the recording better than one
// before a piece counts as missing or doubled. leastGainShare is the same as a share of what one
// delay explains, since passages that come again differ a little. Of sound pieces of music with
// silences, bass-heavy effects and loops, 97 in 100 stay below (simulated). A cut has a share equal
// to that of its shorter side.
const (
	leastGain      = 200
	leastGainShare = 0.08
)

// explained states how well lags explain the through recording, frame by frame.
//
// A lag explains a share ρ² of a frame of n independent values. The frame is then more likely under
// that lag than as noise of the same power, by
//
//	−n/2 ln(1 − ρ²) nats.
//
// ρ is the correlation of the frame with that of the direct recording after the headphones'
// response, each frequency weighted by its signal-to-noise ratio.
type explained struct {
	*decimated
	plan        *fft.Plan
	response    []complex128 // of the headphones and all else, without the lag
	weight      []float64    // 1/power of the noise, summed over the frames that it was learned from
	learned     float64      // number of these frames
	independent float64      // independent values in a frame
}

// frame is the spectrum of a frame under a Hann window.
func (e *explained) frame(x []float64, at int) []complex128 {
	n := e.plan.Len()
	y := make([]float64, n)
	for i := range y {
		if j := at + i; j >= 0 && j < len(x) {
			y[i] = x[j] * (0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)))
		}
	}
	return e.plan.Forward(nil, y)
}

// both returns the spectra of a frame of the direct recording and of the frame that comes later by
// the delay. It returns nil if the recording does not hold the latter.
func (e *explained) both(at int, delays line) (x, y []complex128) {
	lag := delays.at(float64((at+e.plan.Len()/2)*e.step)) / float64(e.step)
	whole := int(math.Floor(lag))
	if at+whole < 0 || at+whole+e.plan.Len() > len(e.through) {
		return nil, nil
	}
	x, y = e.frame(e.direct, at), e.frame(e.through, at+whole)
	for k := range y {
		y[k] *= cmplx.Rect(1, 2*math.Pi*float64(k)*(lag-float64(whole))/float64(e.plan.Len()))
	}
	return x, y
}

// nats returns, for each frame of the direct recording in order, the log-likelihood gain of the
// delays in nats. The delays were found at one place; clocks may have moved them since by up to
// most decimated samples.
func (e *explained) nats(delays line, found float64, most int) (all []float64) {
	n := e.plan.Len()
	for at := 0; at+n <= len(e.direct); at += n {
		all = append(all, 0)
		x, y := e.both(at, delays)
		if y == nil {
			continue
		}
		var ex, ey float64
		for k, w := range e.weight {
			x[k] *= e.response[k]
			ex += w * fft.Power(x[k])
			ey += w * fft.Power(y[k])
			x[k] = complex(w, 0) * y[k] * cmplx.Conj(x[k])
		}
		reach := min(n/4, most, 2+int(1.5*capture.MaxDrift*1e-6*math.Abs(float64(at)-found/float64(e.step))))
		height, _, _ := delay.At(x, n, 0)
		if height = math.Abs(height); reach > 0 {
			c, best := e.plan.Inverse(nil, x), 0
			for i := -reach; i <= reach; i++ {
				if math.Abs(c[(i+n)%n]) > math.Abs(c[(best+n)%n]) {
					best = i
				}
			}
			if c[(best+n)%n] < 0 {
				for k := range x {
					x[k] = -x[k]
				}
			}
			at, _ := delay.Peak(x, n, float64(best))
			height, _, _ = delay.At(x, n, at)
		}
		if ex > 0 && ey > 0 {
			all[len(all)-1] = -e.independent / 2 * math.Log(1-(1-leastNoise)*min(1, height*height/(ex*ey)))
		}
	}
	return all
}

// standing returns, in order, how far each frame of the direct recording should stand above the
// noise of the other one: the mean ratio of powers over the frequencies with a usable signal.
func (e *explained) standing() (all []float64) {
	n := e.plan.Len()
	for at := 0; at+n <= len(e.direct); at += n {
		var sum, bins float64
		for k, v := range e.frame(e.direct, at) {
			if w := e.weight[k]; w > 0 {
				sum += w * fft.Power(v*e.response[k])
				bins++
			}
		}
		all = append(all, e.learned*sum/max(1, bins))
	}
	return all
}

const (
	// frameSeconds is the length of a frame in seconds.
	frameSeconds = 0.5
	// leastNoise is the least share of a frame that counts as noise: an error of a fraction of a
	// sample in the lag is no evidence.
	leastNoise = 0.03
)

// explain learns response and noise in the samples of the direct recording, from and to, for which
// the delays hold.
func (t *decimated) explain(sampleRate float64, delays line, from, to int) *explained {
	rate := sampleRate / float64(t.step)
	e := &explained{decimated: t, plan: fft.NewPlan(fft.FastLen(int(frameSeconds * rate)))}
	n := e.plan.Len()
	sum := newSums(n)
	for at := from / t.step; at+n <= min(to/t.step, len(t.direct)); at += n / 2 {
		x, y := e.both(at, delays)
		if y == nil {
			continue
		}
		e.learned++
		for k, v := range x {
			sum.xx[k] += fft.Power(v)
			sum.yy[k] += fft.Power(y[k])
			sum.xy[k] += y[k] * cmplx.Conj(v)
		}
	}
	e.response, e.weight = make([]complex128, n/2+1), make([]float64, n/2+1)
	for k := range e.response {
		if sum.xx[k] > 0 {
			e.response[k] = sum.xy[k] / complex(sum.xx[k], 0)
		}
	}
	// The device's response lies within a few milliseconds; the rest is chance.
	h := e.plan.Inverse(nil, e.response)
	reach := int(0.02 * rate)
	for i := range h {
		if i > reach && i < n-reach {
			h[i] = 0
		}
	}
	e.response = e.plan.Forward(nil, h)
	var power, square float64
	for k := 1; k < len(e.weight)-1; k++ {
		g := min(1-leastNoise, coherence(sum.xx[k], sum.yy[k], sum.xy[k]))
		if !(g > 0.05) {
			continue
		}
		e.weight[k] = 1 / (sum.yy[k] * (1 - g))
		s := e.weight[k] * sum.yy[k] * g
		power, square = power+s, square+s*s
	}
	if square > 0 { // a Hann window makes half of the values independent
		e.independent = power * power / square
	}
	return e
}

// isCut reports whether, by their lags, a piece is missing or doubled between two matches, and
// whether the second lag alone explains the recording better than the first.
func (t *decimated) isCut(a, b match, fs float64) (cut, second bool) {
	e := t.explain(fs, line{lag: a.lag}, 0, a.at)
	if end := len(t.direct) * t.step; end-b.at > a.at {
		e = t.explain(fs, line{lag: b.lag}, b.at, end)
	}
	reach := int(math.Abs(b.lag-a.lag)) / e.step / 3
	return jumps(e.nats(line{lag: a.lag}, float64(a.at), reach), e.nats(line{lag: b.lag}, float64(b.at), reach))
}

// jumps reports whether two delays, the second from some frame on, explain the recording clearly
// better than either alone. secondAlone reports that the second is the better one alone.
func jumps(first, second []float64) (jump, secondAlone bool) {
	a, b := floats.Sum(first), floats.Sum(second)
	both, most := b, b
	for i := range first {
		both += first[i] - second[i]
		most = max(most, both)
	}
	alone := max(a, b)
	return most-alone > max(leastGain, leastGainShare*alone), b > a
}
