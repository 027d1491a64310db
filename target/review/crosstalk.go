package review

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// Crosstalk is the sound of the other side's signal at this side (IEC 60268-7, from memory): its
// level at this side's microphone relative to that of the side's own signal.
type Crosstalk struct {
	// Level in dB by third octaves; not known within 6 dB of the noise or of the interface's own
	// crosstalk.
	Level response.Curve
	// Floor in dB is the level that noise and the interface alone would give.
	Floor response.Curve

	ratio *response.Transfer
	of    []*Crosstalk // of which seatings it is the mean; nil for that of one
}

// against adds the interface's own crosstalk to the floor and to the uncertainty. Its phase is not
// known: the rms of its component along the pair's own is 1/√2 of its amplitude.
func (c *Crosstalk) against(direct *Further, side sweep.Side) {
	if len(c.Floor.Frequency) == 0 || direct == nil || direct.Crosstalk == nil {
		for i := range c.Level.Level { // the share of the pair is not known
			c.Level.Level[i] = math.NaN()
		}
		return
	}
	own := func(f float64) float64 {
		if own := direct.Crosstalk.Level.At(f); !math.IsNaN(own) {
			return own
		}
		return direct.Crosstalk.Floor.At(f) // nothing is left of it but noise
	}
	cause := response.Cause{Name: "crosstalk of the interface", CommonTo: response.OneRig, Key: side.String()}
	c.Level = c.Level.With(cause, func(f float64) float64 {
		return decibel.PerNeper / math.Sqrt2 * min(1, decibel.Amplitude(own(f)-c.Level.At(f)))
	}, 1./crosstalkSmoothing)
	for i, f := range c.Floor.Frequency {
		own := own(f)
		c.Floor.Level[i] = decibel.OfPower(decibel.Power(own) + decibel.Power(c.Floor.Level[i])) // NaN stays
		if !(c.Level.At(f) >= c.Floor.Level[i]+clearOfFloor) {
			c.Level.Level[i] = math.NaN()
		}
	}
}

// commonGround splits the crosstalk by means of the impedance. It returns nil if the crosstalk is
// not known.
func (c *Crosstalk) commonGround(z *level.Impedance) *CommonGround {
	var at, unsure []float64
	var ratio, ohms []complex128
	var thirds []thirdOfLaw
	for i, f := range c.Level.Frequency {
		h, impedance := c.ratio.At(f), impedanceAt(z, f)
		if !commonBand.Contains(f) || math.IsNaN(c.Level.Level[i]) || cmplx.IsNaN(h) || cmplx.IsNaN(impedance) {
			continue
		}
		at, ratio, ohms = append(at, f), append(ratio, h), append(ohms, impedance)
		if n := len(thirds); n > 0 && f < thirds[n-1].frequency*math.Pow(2, 1./crosstalkSmoothing)*(1-1e-6) {
			continue
		}
		if third, known := c.third(f, z); known {
			thirds = append(thirds, third)
			if u := z.At(f); !math.IsNaN(u.Uncertainty) {
				unsure = append(unsure, u.Uncertainty/u.Value)
			}
		}
	}
	resistance, u, free := fitLaw(thirds)
	if math.IsNaN(resistance) {
		return nil
	}
	out := &CommonGround{}
	for k, h := range ratio {
		common := complex(resistance, 0) / (ohms[k] + complex(resistance, 0))
		out.Common.Level = append(out.Common.Level, decibel.OfAmplitude(cmplx.Abs(common)))
		out.Leak.Level = append(out.Leak.Level, decibel.OfAmplitude(cmplx.Abs(h+common)))
	}
	out.Common.Frequency, out.Leak.Frequency = at, at
	out.Common.Valid, out.Leak.Valid = commonBand, commonBand
	misfit := response.Component{Cause: response.Cause{Name: misfitOfLaw, CommonTo: response.OnePair,
		DegreesOfFreedom: free}, Effects: []float64{u}}
	budget := response.Budget{misfit}
	if len(unsure) > 0 { // the error of the resistors raises the impedance everywhere, and R as much
		budget = append(budget, response.Component{Cause: response.Cause{Name: impedanceOfLaw, CommonTo: response.OnePair},
			Effects: []float64{resistance * stat.Mean(unsure, nil)}})
	}
	return out.of(budget.Figure(resistance, level.Ohm))
}

// At returns the crosstalk at f Hz in dB. Where it is not known, the reading has an upper limit, 6
// dB above the floor.
func (c *Crosstalk) At(f float64) distortion.Reading {
	floor := c.Floor.At(f)
	r := distortion.Reading{Figure: response.NotKnown("dB"), AsRead: c.Level.At(f), Floor: floor,
		Bound: floor + clearOfFloor, Below: true}
	if !math.IsNaN(r.AsRead) {
		r.Figure = c.Level.Figure(f)
		r.Below, r.Bound = false, r.Value+r.Coverage(0.95)*r.Uncertainty
	} else {
		r.AsRead = floor // at the most
	}
	return r
}

// third returns the third of an octave of the crosstalk about f Hz, if it is known.
func (c *Crosstalk) third(f float64, z *level.Impedance) (out thirdOfLaw, known bool) {
	bin := c.ratio.Frequency(1)
	first := int(math.Ceil(f * math.Pow(2, -0.5/crosstalkSmoothing) / bin))
	last := min(int(f*math.Pow(2, 0.5/crosstalkSmoothing)/bin), len(c.ratio.Bins)-1)
	out.frequency = f
	for k := first; k <= last; k++ {
		impedance := impedanceAt(z, c.ratio.Frequency(k))
		if cmplx.IsNaN(impedance) || cmplx.IsNaN(c.ratio.Bins[k]) {
			return out, false
		}
		out.ratio += c.ratio.Bins[k] / complex(float64(last-first+1), 0)
		out.ohms = append(out.ohms, impedance)
	}
	return out, len(out.ohms) > 0
}

// commonBand is the band in which the law is fitted to the crosstalk.
var commonBand = response.Band{Low: 50, High: 5000}

// mostLeakTerms is the largest number of terms of the polynomial over the logarithm of frequency by
// which a leak is fitted beside the law.
const mostLeakTerms = 3

// thirdOfLaw is a third of an octave of the crosstalk.
type thirdOfLaw struct {
	frequency float64
	ratio     complex128   // mean over its bins
	ohms      []complex128 // impedance at these
}

// law returns the mean of the law over the third, for a resistance of 1 Ω.
func (t thirdOfLaw) law(resistance float64) (mean complex128) {
	for _, z := range t.ohms {
		mean -= 1 / (z + complex(resistance, 0)) / complex(float64(len(t.ohms)), 0)
	}
	return mean
}

// CommonGround splits crosstalk into that of a shared return lead and the rest. If both sides
// return through one lead of resistance R, the current of one side through its impedance Z drives
// the other in opposite polarity:
//
//	C(f) = −R / (Z(f) + R).
//
// The rest is leakage through the air, the cups and the mount.
type CommonGround struct {
	// Resistance R in Ω, by least squares over third octaves from 50 Hz to 5 kHz, together with a leak
	// that changes slowly with frequency. Only an impedance that changes more distinguishes the two.
	// The uncertainty of the impedance is part of that of R where it is known.
	Resistance response.Figure
	// Common and Leak are the two parts in dB. The uncertainty of Common is that of the resistance,
	// and not known where that may be zero; that of Leak is not known.
	Common, Leak response.Curve
}

// CommonGround splits the crosstalk of a side. It returns nil if impedance or crosstalk were not
// measured.
func (r *Results) CommonGround(s *Side) *CommonGround {
	c := s.crosstalk()
	if c == nil || r.Impedance == nil {
		return nil
	}
	seatings := c.of
	if seatings == nil {
		seatings = []*Crosstalk{c}
	}
	var apart []*CommonGround
	for _, one := range seatings {
		if g := one.commonGround(r.Impedance); g != nil {
			apart = append(apart, g)
		}
	}
	return meanCommonGround(apart)
}

// misfitOfLaw is the name of what the law leaves unexplained, impedanceOfLaw that of the uncertainty
// of the impedance in it.
const (
	misfitOfLaw    = "misfit of the law"
	impedanceOfLaw = "impedance"
)

// of sets the resistance, and with it the uncertainty of Common, which is proportional to it.
func (g *CommonGround) of(resistance response.Figure) *CommonGround {
	g.Resistance = resistance
	g.Common.Components = nil
	told := math.NaN() // a resistance that may be zero has a level of any size
	if low, _ := resistance.Interval(0.95); low > 0 {
		told = 1
	}
	for _, one := range resistance.Budget {
		u := told * decibel.PerNeper * math.Sqrt(one.Variance()) / resistance.Value
		g.Common = g.Common.With(one.Cause, func(float64) float64 { return u }, math.Inf(1))
	}
	return g
}

// clearOfFloor is by how many dB crosstalk has to stand above its floor.
const clearOfFloor = 6

// crosstalkSmoothing is the fraction of an octave by which crosstalk is smoothed.
const crosstalkSmoothing = 3

// askCrosstalk measures the sound of the other side from the mean of its sweeps and the mean of the
// side's own. It returns nil if the recording does not hold both.
func (b *Bench) askCrosstalk(u use, silence []float64) (*Crosstalk, error) {
	var own, other [][]float64
	for _, part := range b.config.Stimulus.Parts() {
		if part.Asks != sweep.AskCrosstalk {
			continue
		}
		x, _, err := b.cutSweep(u, part)
		switch {
		case err != nil:
			return nil, err
		case clipped(x):
			return nil, errClipped
		case (part.Kind == sweep.LeftSweep) == (u.side == sweep.Left):
			own = append(own, x)
		default:
			other = append(other, x)
		}
	}
	if u.shared || len(own) == 0 || len(other) == 0 {
		return nil, nil
	}
	first, err := b.deconvolver.Impulse(mean(own))
	if err != nil {
		return nil, err
	}
	second, err := b.deconvolver.Impulse(mean(other))
	if err != nil {
		return nil, err
	}
	at, err := first.Delay()
	if err != nil {
		return nil, err
	}
	ownWindow, window := first.WindowAt(at, 0, 0), second.WindowAt(at, 0, 0)
	out := &Crosstalk{}
	plain, err := ownWindow.Transfer().Smoothed(b.frequency, crosstalkSmoothing)
	if err != nil {
		return nil, err
	}
	if silence != nil {
		noise, err := response.NewNoise(silence, u.recording.SampleRate)
		if err != nil {
			return nil, err
		}
		ownWindow = ownWindow.InNoise(noise.Averaged(len(own)), u.noise()) // or the noise of the ratio is not known
		noise = noise.Averaged(len(other))
		if out.Floor, err = window.Floor(noise, b.frequency); err != nil {
			return nil, err
		}
		if out.Floor, err = out.Floor.Sub(plain); err != nil {
			return nil, err
		}
		window = window.InNoise(noise, u.noise())
	}
	if out.ratio, err = window.Transfer().Divide(ownWindow.Transfer()); err != nil {
		return nil, err
	}
	out.Level, err = out.ratio.Smoothed(b.frequency, crosstalkSmoothing)
	return out, err
}

// crosstalk returns the crosstalk of a side: the mean in dB over the seatings in which it was
// recorded, not known where it is not known in one of them. It returns nil if none holds it.
func (s *Side) crosstalk() *Crosstalk {
	var all []*Crosstalk
	var levels []response.Curve
	for _, r := range s.withFurther() {
		if r.Further.Crosstalk != nil {
			all, levels = append(all, r.Further.Crosstalk), append(levels, r.Further.Crosstalk.Level)
		}
	}
	if len(all) == 0 {
		return nil
	}
	average, err := response.AverageOf(levels)
	if len(all) == 1 || err != nil { // all are of one rig and one grid
		return all[0]
	}
	out := &Crosstalk{Level: atLeastNoise(average.Level, levels), Floor: all[0].Floor, of: all}
	out.Floor.Level = make([]float64, len(out.Floor.Frequency))
	for i, f := range out.Floor.Frequency {
		var power, most float64
		for _, c := range all {
			floor := decibel.Power(c.Floor.At(f))
			power += floor / float64(len(all))
			if level := c.Level.At(f); !math.IsNaN(level) {
				floor = decibel.Power(level - clearOfFloor)
			}
			most = max(most, floor) // NaN stays
		}
		if math.IsNaN(out.Level.At(f)) { // in one of the seatings: at most what the others have
			power = most
		}
		out.Floor.Level[i] = decibel.OfPower(power)
	}
	return out
}

// fitLaw returns the resistance in Ω that fits the crosstalk together with a leak, whose real and
// imaginary parts are polynomials over the logarithm of frequency, with its standard uncertainty and
// degrees of freedom. What no leak explains is taken to hang together over two thirds: with one,
// drawn intervals were too narrow. The resistance is not
// known where the impedance has no shape by which to tell it.
func fitLaw(thirds []thirdOfLaw) (resistance, uncertainty, free float64) {
	const alike = 2
	values := 2 * float64(len(thirds)) / alike // real and imaginary parts
	terms := min(mostLeakTerms, int(values/2)-1)
	if terms < 1 {
		return math.NaN(), math.NaN(), 0
	}
	var design, inverse mat.Dense
	var fitted, missed mat.VecDense
	right := mat.NewVecDense(2*len(thirds), nil)
	for range 5 { // R is small against Z
		design = *mat.NewDense(2*len(thirds), 1+2*terms, nil)
		for k, third := range thirds {
			right.SetVec(2*k, real(third.ratio))
			right.SetVec(2*k+1, imag(third.ratio))
			law := third.law(resistance)
			design.Set(2*k, 0, real(law))
			design.Set(2*k+1, 0, imag(law))
			for j := range terms {
				shape := math.Pow(math.Log2(third.frequency/500), float64(j))
				design.Set(2*k, 1+2*j, shape)
				design.Set(2*k+1, 2+2*j, shape)
			}
		}
		if fitted.SolveVec(&design, right) != nil {
			return math.NaN(), math.NaN(), 0
		}
		resistance = fitted.AtVec(0)
	}
	missed.MulVec(&design, &fitted)
	missed.SubVec(right, &missed)
	inverse.Mul(design.T(), &design)
	if inverse.Inverse(&inverse) != nil {
		return math.NaN(), math.NaN(), 0
	}
	free = values - float64(1+2*terms)
	return resistance, math.Sqrt(mat.Dot(&missed, &missed) / free * inverse.At(0, 0)), free
}

// atLeastNoise returns the mean of seatings with the noise of the recordings in place of the scatter
// wherever the scatter gives the narrower interval, since few seatings may agree by chance.
func atLeastNoise(mean response.Curve, seatings []response.Curve) response.Curve {
	n := float64(len(seatings))
	noise := mean // standard uncertainty in Level
	noise.Level = make([]float64, len(mean.Level))
	for _, c := range seatings {
		c.Components = slices.DeleteFunc(slices.Clone(c.Components),
			func(one response.CurveComponent) bool { return one.CommonTo != response.OneSeating })
		c = c.Refreshed()
		for i, f := range mean.Frequency {
			noise.Level[i] = math.Hypot(noise.Level[i], c.UncertaintyAt(f)/n)
		}
	}
	student, normal := statistic.StudentQuantile(0.975, n-1), distuv.UnitNormal.Quantile(0.975)
	mean.Components = slices.Clone(mean.Components)
	for k, one := range mean.Components {
		if one.Name != response.ScatterOfSeatings {
			continue
		}
		scatter := mean
		scatter.Components = []response.CurveComponent{one}
		scatter = scatter.Refreshed()
		effects := make([][]float64, len(one.Effects))
		for j, effect := range one.Effects {
			effects[j] = slices.Clone(effect)
		}
		for i, u := range scatter.Uncertainty {
			if !(student*u < normal*noise.Level[i]) {
				noise.Level[i] = 0
				continue
			}
			for _, effect := range effects {
				effect[i] = 0
			}
		}
		mean.Components[k].Effects = effects
	}
	cause := response.Cause{Name: response.NoiseOfRecording, CommonTo: response.OneSide}
	return mean.With(cause, noise.At, 1./crosstalkSmoothing)
}

// mean returns the mean of recordings of equal length.
func mean(x [][]float64) []float64 {
	out := slices.Clone(x[0])
	for _, more := range x[1:] {
		floats.Add(out, more)
	}
	floats.Scale(1/float64(len(x)), out)
	return out
}

// impedanceAt returns the impedance at f Hz, with the phase at the nearest frequency if that is
// known.
func impedanceAt(z *level.Impedance, f float64) complex128 {
	magnitude := z.At(f).Value
	if !z.PhaseKnown {
		return complex(magnitude, 0)
	}
	i, _ := slices.BinarySearch(z.Frequency, f)
	return cmplx.Rect(magnitude, cmplx.Phase(z.Ohms[min(i, len(z.Ohms)-1)]))
}

// meanCommonGround returns the mean over the seatings, or nil if there are none. The misfit of the
// law, such as a leak that resembles it, is common to the seatings and does not average out.
func meanCommonGround(all []*CommonGround) *CommonGround {
	switch len(all) {
	case 0:
		return nil
	case 1:
		return all[0]
	}
	n := float64(len(all))
	ohms, misfit, impedance, free := make([]float64, len(all)), 0.0, 0.0, math.Inf(1)
	common, leak := make([]response.Curve, len(all)), make([]response.Curve, len(all))
	for i, g := range all {
		ohms[i], common[i], leak[i] = g.Resistance.Value, g.Common, g.Leak
		for _, one := range g.Resistance.Budget {
			if one.Name == impedanceOfLaw {
				impedance += one.Effects[0] / n
				continue
			}
			misfit += math.Sqrt(one.Variance()) / n
			free = min(free, one.DegreesOfFreedom)
		}
	}
	mean, deviation := stat.MeanStdDev(ohms, nil)
	budget := response.Budget{
		{Cause: response.Cause{Name: response.ScatterOfSeatings, CommonTo: response.OnePair, DegreesOfFreedom: n - 1},
			Effects: []float64{deviation / math.Sqrt(n)}},
		{Cause: response.Cause{Name: misfitOfLaw, CommonTo: response.OnePair, DegreesOfFreedom: free},
			Effects: []float64{misfit}},
		{Cause: response.Cause{Name: impedanceOfLaw, CommonTo: response.OnePair}, Effects: []float64{impedance}},
	}
	out := &CommonGround{}
	for curve, of := range map[*response.Curve][]response.Curve{&out.Common: common, &out.Leak: leak} {
		average, err := response.AverageOf(of)
		if err != nil { // not known at any frequency in all of them
			return nil
		}
		*curve = average.Level
		curve.Uncertainty, curve.Components = nil, nil
	}
	return out.of(budget.Figure(mean, level.Ohm))
}
