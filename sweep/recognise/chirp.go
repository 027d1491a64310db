package recognise

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
)

// chirp is a sine whose frequency grows by a law, t seconds after the first sample:
//
//	exponential  φ(t)/2π = φ0 + f0 L (exp(t/L) − 1),  rate is L in seconds
//	linear       φ(t)/2π = φ0 + f0 t + k t²/2,        rate is k in Hz per second
type chirp struct {
	exponential             bool
	phase, frequency0, rate float64 // turns, Hz
}

func (c chirp) turns(t float64) float64 {
	if c.exponential {
		return c.phase + c.frequency0*c.rate*math.Expm1(t/c.rate)
	}
	return c.phase + t*(c.frequency0+c.rate*t/2)
}

func (c chirp) frequency(t float64) float64 {
	if c.exponential {
		return c.frequency0 * math.Exp(t/c.rate)
	}
	return c.frequency0 + c.rate*t
}

// slopes returns the derivatives of the turns with respect to frequency0 and rate.
func (c chirp) slopes(t float64) (byFrequency, byRate float64) {
	if !c.exponential {
		return t, t * t / 2
	}
	grown := math.Expm1(t / c.rate)
	return c.rate * grown, c.frequency0 * (grown - t/c.rate*(grown+1))
}

// sincos returns the sine and cosine at t. Whole turns are subtracted first, since a sine of 10⁶
// rad loses six digits.
func (c chirp) sincos(t float64) (sin, cos float64) {
	turns := c.turns(t)
	return math.Sincos(2 * math.Pi * (turns - math.Floor(turns)))
}

// mostBlocks is the largest number of blocks into which a signal is divided to follow its phase.
const mostBlocks = 8000

// blocks divides the signal into blocks and calls do for each, with the time of its middle in
// seconds, the mean of the signal multiplied by the conjugate of the law, and the power of the
// signal. If the signal follows the law, the phase of the mean is the same in all blocks.
func (c chirp) blocks(z []complex128, fs float64, do func(t float64, mean complex128, power float64)) {
	size := max(32, len(z)/mostBlocks)
	for from := 0; from+size <= len(z); from += size {
		var sum complex128
		var power float64
		for i := from; i < from+size; i++ {
			sin, cos := c.sincos(float64(i) / fs)
			sum += z[i] * complex(cos, -sin)
			power += fft.Power(z[i])
		}
		n := float64(size)
		do((float64(from)+n/2)/fs, sum/complex(n, 0), power/n)
	}
}

// coherent returns the share of the power that follows the phase of the law, whatever its level.
func (c chirp) coherent(z []complex128, fs float64) float64 {
	var with, all float64
	c.blocks(z, fs, func(_ float64, mean complex128, power float64) {
		with += fft.Power(mean)
		all += power
	})
	return with / all
}

// levelRange returns the range in dB of the level below 15 kHz, where coders cut, except for a
// hundredth of the time and five periods at either end, where the analytic signal is not accurate.
// It reads the level over a hundredth of the time each.
func (c chirp) levelRange(z []complex128, fs float64) float64 {
	const parts = 100
	var powers, counts [parts]float64
	c.blocks(z, fs, func(t float64, mean complex128, _ float64) {
		k := min(parts-1, int(t*fs/float64(len(z))*parts))
		powers[k] += fft.Power(mean)
		counts[k]++
	})
	least, most := math.Inf(1), 0.0
	for k := 1; k < parts-1; k++ {
		end := float64(len(z)) / fs
		t := end * (float64(k) + 0.5) / parts
		inside := min(math.Abs(c.turns(t)-c.turns(0)), math.Abs(c.turns(end)-c.turns(t))) // periods
		if p := powers[k] / counts[k]; p > 0 && inside > 5 && c.frequency(t) < 15000 {
			least, most = min(least, p), max(most, p)
		}
	}
	return max(0, decibel.OfPower(most/least))
}

// begins returns the first sample at which the sweep has two fifths of its amplitude, at most 50 ms
// in. The ring after the end of a recorded sweep has not.
func (c chirp) begins(z []complex128, fs, amplitude float64) int {
	const size = 32
	for from := 0; from+size <= min(len(z), int(fs/20)); from += size / 4 {
		var sum complex128
		for i := from; i < from+size; i++ {
			sin, cos := c.sincos(float64(i) / fs)
			sum += z[i] * complex(cos, -sin)
		}
		if math.Sqrt(fft.Power(sum)) > 0.4*size*amplitude {
			return from
		}
	}
	return 0
}

// ends returns the sample at which the sweep ends.
func (c chirp) ends(z []complex128, fs, amplitude float64) int {
	back := slices.Clone(z[max(0, len(z)-int(fs/20)):])
	slices.Reverse(back)
	last := float64(len(z)-1) / fs
	turned := chirp{exponential: c.exponential, phase: c.turns(last), frequency0: -c.frequency(last), rate: -c.rate}
	if !c.exponential {
		turned.rate = c.rate
	}
	return len(z) - turned.begins(back, fs, amplitude)
}

// follow corrects the law by the residual phase from block to block.
func (c chirp) follow(z []complex128, fs float64) chirp {
	var times, turns, weights []float64
	last, most := 0.0, 0.0
	c.blocks(z, fs, func(t float64, mean complex128, power float64) {
		now := (cmplx.Phase(mean) + math.Pi/2) / (2 * math.Pi) // of the sine, a quarter behind the cosine
		if len(turns) > 0 {
			now = last + math.Remainder(now-last, 1)
		}
		last = now
		w := math.Sqrt(fft.Power(mean) / max(power, math.SmallestNonzeroFloat64))
		times, turns, weights = append(times, t), append(turns, now), append(weights, w*math.Sqrt(power))
		most = max(most, weights[len(weights)-1])
	})
	var left []float64
	solve := func() (out chirp, ok bool) {
		rows := mat.NewDense(len(times), 3, nil)
		right := mat.NewVecDense(len(times), nil)
		scale := c.scale(times[len(times)-1])
		for i, t := range times {
			f, r := c.slopes(t)
			w := weights[i] / most
			rows.SetRow(i, []float64{w, w * f / scale[0], w * r / scale[1]})
			right.SetVec(i, w*turns[i])
		}
		var x mat.VecDense
		if x.SolveVec(rows, right) != nil {
			return c, false
		}
		out = c
		out.phase += x.AtVec(0)
		out.frequency0 += x.AtVec(1) / scale[0]
		out.rate += x.AtVec(2) / scale[1]
		left = left[:0]
		for i, t := range times {
			f, r := c.slopes(t)
			left = append(left, math.Abs(turns[i]-x.AtVec(0)-f*x.AtVec(1)/scale[0]-r*x.AtVec(2)/scale[1]))
		}
		return out, true
	}
	out, ok := solve()
	if !ok {
		return c
	}
	limit := max(4*statistic.Median(left), 1e-9) // edges and disturbances have less weight
	for i, v := range left {
		if v > limit {
			weights[i] *= limit / v
		}
	}
	if out, ok = solve(); !ok || out.rate-out.rate != 0 || !(out.frequency0 > 0) || out.exponential && out.rate == 0 {
		return c
	}
	return out
}

// scale returns the size of the slopes at the end of the signal, or 1.
func (c chirp) scale(end float64) [2]float64 {
	f, r := c.slopes(end)
	return [2]float64{max(math.Abs(f), 1e-9), max(math.Abs(r), 1e-9)}
}

// fit fits the law to the samples between the fades, by least squares (Gauss and Newton), and
// returns it with the amplitude. It returns the law unchanged if the fit is no better.
func (c chirp) fit(x []float64, fs float64) (chirp, float64) {
	from, to := len(x)/10, len(x)-len(x)/10
	amplitude, turn, left := c.project(x, fs, from, to)
	c.phase += turn
	for range 8 {
		next, ok := c.newton(x, fs, from, to, amplitude)
		if !ok {
			break
		}
		a, turn, l := next.project(x, fs, from, to)
		if !(l < left) {
			break
		}
		next.phase += turn
		c, amplitude, left = next, a, l
	}
	return c, amplitude
}

// project returns the amplitude of the sine, its delay in turns, and the residual power.
func (c chirp) project(x []float64, fs float64, from, to int) (amplitude, turns, left float64) {
	var ss, sc, cc, xs, xc, xx float64
	for i := from; i < to; i++ {
		sin, cos := c.sincos(float64(i) / fs)
		ss += sin * sin
		sc += sin * cos
		cc += cos * cos
		xs += x[i] * sin
		xc += x[i] * cos
		xx += x[i] * x[i]
	}
	d := ss*cc - sc*sc
	a, b := (xs*cc-xc*sc)/d, (xc*ss-xs*sc)/d
	return math.Hypot(a, b), math.Atan2(b, a) / (2 * math.Pi), xx - a*xs - b*xc
}

// newton is one step of the fit.
func (c chirp) newton(x []float64, fs float64, from, to int, amplitude float64) (chirp, bool) {
	scale := c.scale(float64(len(x)) / fs)
	normal, right := mat.NewSymDense(4, nil), mat.NewVecDense(4, nil)
	var m [4][4]float64
	var v [4]float64
	for i := from; i < to; i++ {
		t := float64(i) / fs
		sin, cos := c.sincos(t)
		f, r := c.slopes(t)
		turn := 2 * math.Pi * amplitude * cos
		column := [4]float64{sin, turn, turn * f / scale[0], turn * r / scale[1]}
		miss := x[i] - amplitude*sin
		for j := range 4 {
			v[j] += column[j] * miss
			for k := j; k < 4; k++ {
				m[j][k] += column[j] * column[k]
			}
		}
	}
	for j := range 4 {
		right.SetVec(j, v[j])
		for k := j; k < 4; k++ {
			normal.SetSym(j, k, m[j][k])
		}
	}
	var cholesky mat.Cholesky
	var step mat.VecDense
	if !cholesky.Factorize(normal) || cholesky.SolveVecTo(&step, right) != nil {
		return c, false
	}
	c.phase += step.AtVec(1)
	c.frequency0 += step.AtVec(2) / scale[0]
	c.rate += step.AtVec(3) / scale[1]
	return c, c.frequency0 > 0 && c.rate-c.rate == 0
}

// frames holds the frequencies of short parts with power, at their middles in seconds.
type frames struct{ time, frequency []float64 }

func newFrames(z []complex128, fs float64) frames {
	const most = 400
	size := max(32, len(z)/most)
	var f frames
	var total, powers float64
	var all []float64
	for from := 0; from+size <= len(z); from += size {
		var turn complex128
		var power float64
		for i := from; i < from+size-1; i++ {
			turn += z[i+1] * cmplx.Conj(z[i])
			power += fft.Power(z[i])
		}
		f.time = append(f.time, (float64(from)+float64(size)/2)/fs)
		f.frequency = append(f.frequency, cmplx.Phase(turn)/(2*math.Pi)*fs)
		all = append(all, power)
		total += power
		powers++
	}
	var kept frames
	for i, power := range all {
		if power > 1e-4*total/powers && f.frequency[i] > 0 {
			kept.time, kept.frequency = append(kept.time, f.time[i]), append(kept.frequency, f.frequency[i])
		}
	}
	return kept
}

// chirp returns the law that most of the frames follow, or false if they follow none of this kind.
func (f frames) chirp(exponential bool) (chirp, bool) {
	if len(f.time) < 16 {
		return chirp{}, false
	}
	y := f.frequency
	if exponential {
		y = make([]float64, len(y))
		for i, v := range f.frequency {
			y[i] = math.Log(v)
		}
	}
	// The median of the slopes between halves, and the median of the offsets (after Theil and Sen).
	half := len(y) / 2
	slopes := make([]float64, len(y)-half)
	for i := range slopes {
		slopes[i] = (y[i+half] - y[i]) / (f.time[i+half] - f.time[i])
	}
	slope := statistic.Median(slopes)
	heights := make([]float64, len(y))
	for i := range y {
		heights[i] = y[i] - slope*f.time[i]
	}
	at0 := statistic.Median(heights)
	c := chirp{exponential: exponential, frequency0: at0, rate: slope}
	if exponential {
		c.frequency0, c.rate = math.Exp(at0), 1/slope
	}
	if slope == 0 || c.rate-c.rate != 0 {
		return c, false
	}
	ends := []float64{c.frequency(f.time[0]), c.frequency(f.time[len(y)-1])}
	low, high := slices.Min(ends), slices.Max(ends)
	near := 0
	for i, v := range f.frequency {
		expected := c.frequency(f.time[i])
		if math.Abs(v-expected) < 0.03*max(expected, high/10) && (!exponential || math.Abs(v/expected-1) < 0.05) {
			near++
		}
	}
	return c, high > leastChange*low && float64(near) >= onLaw*float64(len(y))
}

const (
	// leastChange is the least ratio of the highest frequency of a sweep to the lowest.
	leastChange = 1.5
	// onLaw is the least share of frames whose frequency lies on the law.
	onLaw = 0.7
	// leastCoherent is the least share of the power that follows the phase of a sweep. For noise in
	// blocks of 3 ms it is a tenth and less.
	leastCoherent = 0.7
	// sureCoherent is the share above which no other law is tried.
	sureCoherent = 0.99
	// asMade is the largest residual of a synthetic sweep in dB: rounding to 10 bits. A recording
	// leaves more.
	asMade = -60
	// edgeClear is the frequency in Hz above which the analytic signal is accurate to the very end.
	edgeClear = 1000
	// longestSweep is the length in seconds of the longest sweep that is searched for: sweep.New
	// makes no longer one.
	longestSweep = 600
)

// chirpIn recognises a sweep.
func chirpIn(x []float64, fs float64) (Content, bool) {
	if float64(len(x)) > longestSweep*fs {
		return Content{}, false
	}
	best, share := chirp{}, 0.0
	z := analytic(x)
	for _, exponential := range []bool{true, false} {
		c, ok := newFrames(z, fs).chirp(exponential)
		if !ok {
			continue
		}
		end := float64(len(x)) / fs
		for range 6 {
			before := c
			if c = c.follow(z, fs); math.Abs(c.turns(end)-before.turns(end)) < 1e-3 {
				break
			}
		}
		if s := c.coherent(z, fs); s > share {
			best, share = c, s
		}
		if share > sureCoherent {
			break
		}
	}
	if !(share >= leastCoherent) {
		return Content{}, false
	}
	amplitude := 0.0
	best, amplitude = best.fit(x, fs)
	out := Content{Kind: LinearSweep, Certainty: best.coherent(z, fs), Level: decibel.OfAmplitude(amplitude)}
	if best.exponential {
		out.Kind, out.TimeConstant = ExponentialSweep, best.rate
	}
	y := make([]float64, len(x))
	for i := range y {
		sin, _ := best.sincos(float64(i) / fs)
		y[i] = amplitude * sin
	}
	out.LevelRange = best.levelRange(z, fs)
	in := fadeOf(x, y)
	slices.Reverse(y)
	backwards := slices.Clone(x)
	slices.Reverse(backwards)
	outwards := fadeOf(backwards, y)
	out.FadeIn, out.FadeOut = in.length/fs, outwards.length/fs
	out.Unexplained = max(-150, decibel.OfPower(min(1, (in.left+outwards.left)/(statistic.MeanSquare(x)*float64(len(x))))))
	first, last, end, recorded := 0, len(x), float64(len(x))/fs, out.Unexplained > asMade
	if out.FadeIn == 0 && (recorded || best.frequency(0) > edgeClear) {
		first = best.begins(z, fs, amplitude)
	}
	if out.FadeOut == 0 && (recorded || best.frequency(end) > edgeClear) {
		last = best.ends(z, fs, amplitude)
	}
	phase := best.turns(float64(first) / fs)
	out.From, out.Len, out.Phase = first, last-first, 2*math.Pi*(phase-math.Floor(phase))
	out.Start, out.Stop = best.frequency(float64(first)/fs), best.frequency(float64(last)/fs)
	return out, true
}

// analytic returns the signal without its negative frequencies (Gabor 1946).
func analytic(x []float64) []complex128 {
	n := fft.FastLen(len(x) + len(x)/8 + 64)
	plan := fft.NewPlan(n)
	padded := make([]float64, n)
	copy(padded, x)
	spectrum := plan.Forward(nil, padded)
	for k := range spectrum {
		spectrum[k] *= -1i
	}
	spectrum[0], spectrum[len(spectrum)-1] = 0, 0
	turned := plan.Inverse(padded, spectrum)
	z := make([]complex128, len(x))
	for i, v := range x {
		z[i] = complex(v, turned[i])
	}
	return z
}
