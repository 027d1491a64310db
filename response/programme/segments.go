package programme

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
)

const (
	// delaySeconds is the approximate length of the segments from which delays are estimated.
	delaySeconds = 0.34
	// mostSegments is the greatest number of segments. In long recordings there are gaps
	// between them, since the line gains more from their distance than from their number.
	mostSegments = 64
	// fineProminence is the least prominence in dB of the peak of a valid segment.
	fineProminence = 16
)

// segments are pieces of the direct recording, spread over the shared stretch, whose delays are
// estimated.
type segments struct {
	direct, through Channel
	plan            *fft.Plan
	interpolator    *interpolate.Table
	window          []float64
	starts          []int
	x, y            [][]complex128 // spectra
	lag             []float64      // in samples; NaN for a segment that is not valid
	info            []float64      // 1/variance of lag, up to a common factor
	sign            float64
	wander          float64 // rms distance of the delays from the line, in samples; 0 if noise may explain it
}

func newSegments(direct, through Channel, from, to int) *segments {
	n := 1 << int(math.Round(math.Log2(delaySeconds*float64(direct.SampleRate))))
	for n > (to-from)/4 {
		n /= 2
	}
	s := &segments{direct: direct, through: through, plan: fft.NewPlan(n), interpolator: interpolatorFor(interpolateTop),
		window: taper.Hann(n), sign: 1}
	count := min(mostSegments, (to-from)/(n/2)-1)
	for i := range count {
		s.starts = append(s.starts, from+(to-from-n)*i/(count-1))
	}
	s.x, s.y = make([][]complex128, count), make([][]complex128, count)
	s.lag, s.info = make([]float64, count), make([]float64, count)
	parallel.With(count, func() func(int) {
		windowed := make([]float64, n)
		return func(i int) { s.x[i] = s.spectrum(nil, direct.Samples[s.starts[i]:], windowed) }
	})
	s.dropQuiet()
	return s
}

// spectrum returns the windowed spectrum of the segment at the beginning of x. The slice windowed
// is scratch memory, and may be x itself.
func (s *segments) spectrum(dst []complex128, x, windowed []float64) []complex128 {
	for i, w := range s.window {
		windowed[i] = w * x[i]
	}
	return s.plan.Forward(dst, windowed)
}

// dropQuiet marks segments as invalid that are 60 dB or more below the loudest.
func (s *segments) dropQuiet() {
	energy := make([]float64, len(s.x))
	for i, x := range s.x {
		for _, v := range x {
			energy[i] += fft.Power(v)
		}
	}
	loudest := slices.Max(energy)
	for i, e := range energy {
		if e < 1e-6*loudest {
			s.lag[i] = math.NaN()
		}
	}
}

// place reads each segment of the through recording at the place given by the line.
func (s *segments) place(l line) {
	n := s.plan.Len()
	parallel.With(len(s.starts), func() func(int) {
		buffer := make([]float64, n)
		return func(i int) {
			start := float64(s.starts[i])
			read(buffer, s.through.Samples, s.interpolator, start+l.at(start), 1+l.slope, s.sign)
			s.y[i] = s.spectrum(s.y[i], buffer, buffer)
		}
	})
}

// middle returns the sample in the middle of segment i.
func (s *segments) middle(i int) float64 { return float64(s.starts[i]) + float64(s.plan.Len())/2 }

// used returns the number of valid segments.
func (s *segments) used() int { return len(s.lag) - floats.Count(math.IsNaN, s.lag) }

// coarse estimates each segment's delay by the phase transform, fits the line to the delays, and
// finds the polarity. The error is ErrDifferent or ErrCut.
func (s *segments) coarse(l *line) error {
	s.place(*l)
	peaks := make([]float64, len(s.starts))
	parallel.With(len(s.starts), func() func(int) {
		cross, out := make([]complex128, s.plan.Bins()), make([]float64, s.plan.Len())
		return func(i int) {
			if !math.IsNaN(s.lag[i]) {
				s.lag[i], peaks[i] = s.phaseTransform(i, cross, out)
				s.lag[i] += l.at(s.middle(i))
			}
		}
	})
	var sign float64
	for i, p := range peaks {
		if !math.IsNaN(s.lag[i]) {
			sign += p
		}
	}
	if s.used() == 0 {
		return differentError(s.direct, s.through, 0, fineProminence)
	}
	if sign < 0 {
		s.sign = -1
	}
	if err := s.step(); err != nil {
		return err
	}
	*l = s.robust()
	return nil
}

// phaseTransform returns the lag in samples, and the height, of the peak of
//
//	R(τ) = Σ X*Y/|X*Y| exp(jωτ)
//
// over the bins in which the direct segment has energy (within 80 dB of its largest bin). The lag
// is NaN if the peak does not stand out.
func (s *segments) phaseTransform(i int, cross []complex128, out []float64) (lag, height float64) {
	var top float64
	for _, v := range s.x[i][1:] {
		top = max(top, fft.Power(v))
	}
	for k, v := range s.x[i] {
		cross[k] = 0
		if c := s.y[i][k] * complex(real(v), -imag(v)); fft.Power(v) > 1e-8*top && c != 0 {
			cross[k] = c / complex(math.Sqrt(fft.Power(c)), 0)
		}
	}
	s.plan.Inverse(out, cross)
	n := len(out)
	// Beyond a quarter of the segment too little of it overlaps for a match.
	c := append(slices.Clone(out[n-n/4:]), out[:n/4]...)
	peak, prominence := prominent(c, n/4)
	if peak < 0 || prominence < fineProminence {
		return math.NaN(), 0
	}
	return float64(peak-n/4) + vertexNear(c, peak), c[peak]
}

// robust returns the line whose slope is the median of the slopes of all pairs of segments (Theil &
// Sen), and whose lag is the median of the remaining lags. It marks segments as invalid whose delay
// is more than 2 samples off the line.
func (s *segments) robust() line {
	var at, all []float64
	for i, v := range s.lag {
		if !math.IsNaN(v) {
			at, all = append(at, s.middle(i)), append(all, v)
		}
	}
	l := line{slope: slopeBeside(at, all, 0)}
	var lags []float64
	for i, v := range s.lag {
		if !math.IsNaN(v) {
			lags = append(lags, v-l.slope*s.middle(i))
		}
	}
	l.lag = statistic.Median(lags)
	for i, v := range s.lag {
		if math.Abs(v-l.at(s.middle(i))) > 2 {
			s.lag[i] = math.NaN()
		}
	}
	return l
}

// The smallest jump in samples that counts as a cut, and the share of its greatest possible
// likelihood that it has to reach on both of its sides.
const (
	leastJump  = 4
	sureOfJump = 0.75
)

// step returns a *cutError if the delays jump: if they lie close to two parallel lines, one before
// and one after a place.
func (s *segments) step() error {
	var at, lag []float64
	var valid []int
	for i, v := range s.lag {
		if !math.IsNaN(v) {
			at, lag, valid = append(at, s.middle(i)), append(lag, v), append(valid, i)
		}
	}
	if len(lag) < 2*besideJump {
		return nil
	}
	slope, where := 0.0, 0
	flat := slices.Clone(lag)
	for range 3 { // slopes are those on each side of the jump, which moves with them
		slope = slopeBeside(at, lag, where)
		for i := range lag {
			flat[i] = lag[i] - slope*at[i]
		}
		where, _ = split(flat, besideJump)
	}
	before, after := statistic.Median(flat[:where]), statistic.Median(flat[where:])
	jump := after - before
	if math.Abs(jump) < leastJump {
		return nil
	}
	own, train, other := line{lag: before, slope: slope}, valid[:where], valid[where:]
	if 2*where < len(at) {
		own.lag, train, other, jump = after, other, train, -jump
	}
	if !s.jumpsBy(jump, own, train, other) {
		return nil
	}
	fs := float64(s.direct.SampleRate)
	return &cutError{Name: s.through.Name, At: (at[where-1] + at[where]) / 2 / fs,
		Within: (at[where]-at[where-1])/2/fs + float64(s.plan.Len())/2/fs, Jump: (after - before) / fs}
}

// jumpsBy reports whether a delay longer by jump samples explains the other segments, and does not
// explain those on its own line. With H and Snn, the response and the noise of the segments on its
// own line, the log-likelihood of a segment rises with the jump by
//
//	2 Re Σ Y* H X (exp(−jω jump) − 1)/Snn,
//
// which is Σ |H X|² |exp(−jω jump) − 1|²/Snn if all of the segment is delayed, and as much below
// zero if none of it is.
func (s *segments) jumpsBy(jump float64, own line, train, other []int) bool {
	s.place(own)
	lags := slices.Clone(s.lag)
	for _, i := range other {
		s.lag[i] = math.NaN()
	}
	a := s.average()
	copy(s.lag, lags)
	turn := make([]complex128, len(a.weight))
	for k := range turn {
		turn[k] = cmplx.Rect(1, -2*math.Pi*float64(k)*jump/float64(s.plan.Len())) - 1
	}
	likelier := func(all []int) (gain, most, power float64) {
		for _, i := range all {
			for k, w := range a.weight {
				if w == 0 {
					continue
				}
				predicted := a.h[k] * s.x[i][k]
				delayed := predicted * turn[k]
				power += w * fft.Power(predicted)
				gain += 2 * w * real(cmplx.Conj(s.y[i][k])*delayed)
				most += w * fft.Power(delayed)
			}
		}
		return gain, most, power
	}
	with, most, power := likelier(other)
	without, least, _ := likelier(train)
	return most > max(leastGain, leastGainShare*power) && with > sureOfJump*most && without < -sureOfJump*least
}

// besideJump is the least number of segments on each side of a jump.
const besideJump = 3

// slopeBeside returns the median of the slopes of all pairs of points on one side of an index
// (Theil & Sen), or 0 of fewer than 3 points.
func slopeBeside(at, lag []float64, index int) float64 {
	var slopes []float64
	for i := range lag {
		for j := range i {
			if (i < index) == (j < index) {
				slopes = append(slopes, (lag[i]-lag[j])/(at[i]-at[j]))
			}
		}
	}
	if len(slopes) < 3 {
		return 0
	}
	return statistic.Median(slopes)
}

// split returns the index at which values fall apart into two groups, each of at least fewest
// values, that deviate least from their medians, and the sum of these deviations.
func split(values []float64, fewest int) (where int, deviation float64) {
	deviation = math.Inf(1)
	for i := fewest; i <= len(values)-fewest; i++ {
		sum := 0.0
		for _, part := range [][]float64{values[:i], values[i:]} {
			median := statistic.Median(part)
			for _, v := range part {
				sum += math.Abs(v - median)
			}
		}
		if sum < deviation {
			where, deviation = i, sum
		}
	}
	return where, deviation
}
