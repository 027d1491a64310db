package programme

import (
	"math"
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
	var slopes []float64
	for i := range s.lag {
		for j := range i {
			if v := (s.lag[i] - s.lag[j]) / (s.middle(i) - s.middle(j)); !math.IsNaN(v) {
				slopes = append(slopes, v)
			}
		}
	}
	var l line
	if len(slopes) > 2 {
		l.slope = statistic.Median(slopes)
	}
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

// leastJump is the smallest jump in samples that counts as a cut.
const leastJump = 4

// step returns a *cutError if the delays jump: if they lie close to two parallel lines, one before
// and one after a place.
func (s *segments) step() error {
	var at, lag []float64
	for i, v := range s.lag {
		if !math.IsNaN(v) {
			at, lag = append(at, s.middle(i)), append(lag, v)
		}
	}
	if len(lag) < 6 {
		return nil
	}
	slopes := make([]float64, len(lag)-1)
	for i := range slopes {
		slopes[i] = (lag[i+1] - lag[i]) / (at[i+1] - at[i])
	}
	slope := statistic.Median(slopes)
	for i := range lag {
		lag[i] -= slope * at[i]
	}
	best, where := 0.0, 0
	for i := 3; i <= len(lag)-3; i++ {
		before, spreadBefore := statistic.MedianDeviation(lag[:i])
		after, spreadAfter := statistic.MedianDeviation(lag[i:])
		jump := after - before
		if math.Abs(jump) > max(leastJump, 8*max(spreadBefore, spreadAfter)) &&
			math.Abs(lag[i]-lag[i-1]) > math.Abs(jump)/2 && math.Abs(jump) > math.Abs(best) {
			best, where = jump, i
		}
	}
	if best == 0 {
		return nil
	}
	fs := float64(s.direct.SampleRate)
	middle := func(of []float64) line { return line{lag: statistic.Median(of), slope: slope} }
	before, after := middle(lag[:where]), middle(lag[where:])
	t := newDecimated(s.direct, s.through)
	e := t.explain(fs, before, 0, int(at[where-1]))
	if 2*where < len(at) {
		e = t.explain(fs, after, int(at[where]), math.MaxInt)
	}
	if cut, _ := jumps(e.nats(before, 0, 0), e.nats(after, 0, 0)); !cut {
		return nil
	}
	return &cutError{Name: s.through.Name, At: (at[where-1] + at[where]) / 2 / fs,
		Within: (at[where]-at[where-1])/2/fs + float64(s.plan.Len())/2/fs, Jump: best / fs}
}
