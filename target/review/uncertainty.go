package review

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// Stated is a component of uncertainty that the recordings do not show and that the reviewer
// states.
type Stated struct {
	// Name is one of the known names (microphone, coupler, placement, drift, samples, temperature,
	// pressure) or any other.
	Name string
	// CommonTo states which results share the error. A known Name has its own scope and ignores
	// this field.
	CommonTo response.Scope
	// Uncertainty is the standard uncertainty in dB at all frequencies. If ByFrequency is given,
	// its levels are used instead.
	Uncertainty float64
	ByFrequency response.Curve
	// Octaves is the distance along frequency over which the errors are correlated. 0 means the
	// usual distance, which is 1 for most names, and math.Inf(1) means one error at all
	// frequencies.
	Octaves float64
	// DegreesOfFreedom of the uncertainty; 0 means many.
	DegreesOfFreedom float64
}

// cause returns the cause of a stated component, with the key of its scope.
func (s Stated) cause(key string) response.Cause {
	return response.Cause{Name: s.Name, CommonTo: s.CommonTo, Key: key, DegreesOfFreedom: s.DegreesOfFreedom}
}

// sharedErrors are the errors of a side's response that all seatings share: independent ones, each
// as the standard uncertainty in dB that it adds along frequency. They are for concurrent use.
type sharedErrors struct {
	effects []response.Curve
	known   sync.Map // what apart returned, by both frequencies
}

// apart returns the standard uncertainty in dB of the response at f Hz relative to that at g Hz.
func (e *sharedErrors) apart(f, g float64) float64 {
	if u, there := e.known.Load([2]float64{f, g}); there {
		return u.(float64)
	}
	var variance float64
	for _, by := range e.effects {
		variance += math.Pow(by.At(f)-by.At(g), 2)
	}
	u := math.Sqrt(variance)
	e.known.Store([2]float64{f, g}, u)
	return u
}

// on returns the effect in dB of each error on the sum of powers at frequencies: the mean of those
// at the frequencies, weighted by the powers. Powers that are not known are left out.
func (e *sharedErrors) on(frequency, power []float64) []float64 {
	of := make([]float64, len(e.effects))
	for i, by := range e.effects {
		var sum, whole float64
		for k, p := range power {
			if !math.IsNaN(p) {
				sum, whole = sum+p*by.At(frequency[k]), whole+p
			}
		}
		of[i] = sum / whole
	}
	return of
}

// checked returns the stated components with usual values filled in, and notes about them.
func (c Config) checked() (all []Stated, notes []string, err error) {
	if !(c.Uncertainty >= 0) || math.IsInf(c.Uncertainty, 0) {
		return nil, nil, fmt.Errorf("review: the uncertainty is %v dB; state a standard uncertainty, finite "+
			"and not negative",
			c.Uncertainty)
	}
	all = slices.Clone(c.Stated)
	if c.Uncertainty > 0 {
		all = append(all, Stated{Name: "rig", CommonTo: response.OneRig, Uncertainty: c.Uncertainty})
	}
	seen := map[string]bool{}
	for i := range all {
		s := &all[i]
		what := fmt.Sprintf("review: the component %q", s.Name)
		switch {
		case s.Name == "":
			return nil, nil, errors.New("review: a component of uncertainty has no name; name it, for " +
				"example placement")
		case seen[s.Name]:
			return nil, nil, fmt.Errorf("%s is stated twice; keep one of them", what)
		case !(s.Uncertainty >= 0) || math.IsInf(s.Uncertainty, 0):
			return nil, nil, fmt.Errorf("%s is %v dB; it is a standard uncertainty, finite and not below zero",
				what, s.Uncertainty)
		case !(s.DegreesOfFreedom >= 0):
			return nil, nil, fmt.Errorf("%s has %v degrees of freedom; they are not below zero", what, s.DegreesOfFreedom)
		case !(s.Octaves == 0 || s.Octaves >= 1./24):
			return nil, nil, fmt.Errorf("%s is correlated over %v octaves; give at least 1/24, or 0 for the "+
				"usual distance",
				what, s.Octaves)
		case s.CommonTo < response.OneSeating || s.CommonTo > response.Everything:
			return nil, nil, fmt.Errorf("%s is common to %v; name one of the scopes", what, s.CommonTo)
		}
		seen[s.Name] = true
		octaves := 1.0
		for _, u := range usual {
			if u.name == s.Name {
				s.CommonTo, octaves = u.scope, u.octaves
			}
		}
		if s.Octaves == 0 {
			s.Octaves = octaves
		}
		table := s.ByFrequency
		for k, v := range table.Level {
			if !(v >= 0) || math.IsInf(v, 0) {
				return nil, nil, fmt.Errorf("%s is %v dB at %s; it is a standard uncertainty, finite and not below zero",
					what, v, response.FormatFrequency(table.Frequency[k]))
			}
		}
		band := c.band()
		if c.MaxFrequency > 0 {
			band.High = min(band.High, c.MaxFrequency)
		}
		if len(table.Level) > 0 && (table.Valid.Low > band.Low*(1+1e-6) || table.Valid.High < band.High*(1-1e-6)) {
			notes = append(notes, fmt.Sprintf(
				"The component %q is stated over %v, which does not cover %v: outside it no interval is "+
					"known; state it there too.", s.Name, table.Valid, band))
		}
	}
	for _, m := range []*level.Calibration{c.Microphone, c.MicrophoneRight} {
		if m == nil {
			continue
		}
		if m.Response.Uncertainty != nil && seen["microphone"] {
			return nil, nil, errors.New(`review: the component "microphone" is stated, but the microphone’s file also has an uncertainty; keep one of them`)
		}
		for k, v := range m.Response.Uncertainty {
			if v < 0 || math.IsInf(v, 0) {
				return nil, nil, fmt.Errorf("review: the microphone’s uncertainty is %v dB at %s; it is finite and not below zero",
					v, response.FormatFrequency(m.Response.Frequency[k]))
			}
		}
	}
	if c.Microphone == nil && c.MicrophoneRight != nil {
		return nil, nil, errors.New(
			"review: the right side’s microphone has a calibration but the left side’s has none; give both, " +
				"or one for both sides")
	}
	return all, notes, nil
}

// microphoneOf returns the calibration of the microphone on a side, or nil if the microphone is
// taken as flat.
func (b *Bench) microphoneOf(side sweep.Side) *level.Calibration {
	if side == sweep.Right && b.microphoneRight != nil {
		return b.microphoneRight
	}
	return b.microphone
}

// components adds the components of uncertainty to a reading.
func (p *Pair) components(r *Reading) {
	b, side := p.bench, r.side.String()
	pair := p.about.Name + " " + b.identity
	c := r.Response
	if c.Uncertainty == nil { // the noise is not known
		c.Uncertainty, c.Components = make([]float64, len(c.Level)), []response.CurveComponent{}
	}
	if r.fromRate > 0 {
		c = c.Within(response.Band{Low: 0, High: capture.ResampledShare / 2 * float64(r.fromRate)})
	}
	c.Components = slices.Clone(c.Components)
	for i := range c.Components {
		switch own := &c.Components[i]; {
		case own.CommonTo == response.OneSide && own.Key == "": // the window's smoothing, in every seating
			own.Key = pair + ", " + side
		case own.CommonTo == response.OneRig: // only the noise of this direct recording
			own.Key = b.identity + ", " + side
		}
	}
	microphone := "the microphone"
	m := b.microphoneOf(r.side)
	if m != nil {
		microphone = statistic.Fingerprint(m.Response.Level)
	}
	if p.twoMicrophones() && b.microphoneRight == nil {
		microphone += ", " + side
	}
	keys := map[response.Scope]string{
		response.OneSeating:    fmt.Sprintf("%s, %s, seating %d", pair, side, r.seating),
		response.OneSide:       pair + ", " + side,
		response.OneMicrophone: microphone, response.OnePair: pair, response.OneRig: b.config.Rig,
	}
	c = b.withDrift(b.withStated(c, r.side, keys), r.side, keys[response.OnePair])
	// half of the ripple as a rectangular distribution; the same in all recordings resampled like
	// this
	if r.fromRate > 0 {
		cause := response.Cause{Name: "resampling", CommonTo: response.OneRig, Key: fmt.Sprint(r.fromRate)}
		c = c.With(cause, func(float64) float64 { return capture.ResampledRipple / math.Sqrt(3) }, 1./3)
	}
	r.Response = c
	if len(r.Harmonics.Orders) > 0 {
		r.Harmonics = r.Harmonics.Unsure(b.shared(r.side).apart)
	}
}

// withDrift adds the drift between two direct recordings to a curve of a side on the bench's
// frequencies. It is the same fraction of the drift on both sides.
func (b *Bench) withDrift(c response.Curve, side sweep.Side, pair string) response.Curve {
	drift := b.drift[side]
	if drift == nil {
		return c
	}
	cause := response.Cause{Name: "drift", CommonTo: response.OnePair, Key: pair}
	c.Components = append(c.Components, response.CurveComponent{Cause: cause, Effects: [][]float64{drift}})
	return c.Refreshed()
}

// withStated adds the components of uncertainty that the recordings do not show to a curve of a
// side.
func (b *Bench) withStated(c response.Curve, side sweep.Side, keys map[response.Scope]string) response.Curve {
	if m := b.microphoneOf(side); m != nil && m.Response.Uncertainty != nil {
		own := Stated{Name: "microphone", CommonTo: response.OneMicrophone}
		c = c.With(own.cause(keys[own.CommonTo]), m.Response.UncertaintyAt, 1)
	}
	for _, s := range b.stated {
		if absolute(s.Name) || s.Name == "drift" && b.drift != nil {
			continue
		}
		u := func(float64) float64 { return s.Uncertainty }
		if len(s.ByFrequency.Level) > 0 {
			u = s.ByFrequency.At
		}
		c = c.With(s.cause(keys[s.CommonTo]), u, s.Octaves)
	}
	if calibrator := b.config.Calibrator; calibrator != nil {
		c = microphoneRelativeTo(c, calibrator.Frequency)
	}
	return c
}

// twoMicrophones reports whether left and right were recorded with two microphones: each has a
// calibration of its own, or both sides are channels of one recording.
func (p *Pair) twoMicrophones() bool {
	return p.bench.microphoneRight != nil || p.onePlacement()
}

// onePlacement reports whether both sides were recorded at once in every seating that has both.
func (p *Pair) onePlacement() bool {
	together, apart := 0, 0
	for _, u := range p.uses {
		for _, v := range p.uses {
			switch {
			case u.seating != v.seating || u.side != sweep.Left || v.side != sweep.Right:
			case u.recording == v.recording && u.channel != v.channel:
				together++
			default:
				apart++
			}
		}
	}
	return together > 0 && apart == 0
}

// notIncluded lists the usual components that the session does not state.
func (p *Pair) notIncluded(r *Results) []string {
	stated := map[string]bool{"drift": p.bench.drift != nil}
	for _, s := range p.bench.stated {
		stated[s.Name] = true
	}
	if m := p.bench.microphone; m != nil && m.Response.Uncertainty != nil {
		stated["microphone"] = true
	}
	if stated["rig"] { // covers microphone and positioning
		stated["microphone"], stated["coupler"], stated["placement"] = true, true, true
	}
	var missing []string
	for _, side := range r.Sides() {
		if len(side.Seatings) == 1 &&
			!slices.ContainsFunc(side.Response().Components,
				func(c response.CurveComponent) bool { return c.DegreesOfFreedom > 0 }) {
			missing = append(missing, "the scatter of seatings: the "+side.Name+" side has only one")
		}
	}
	for _, u := range usual {
		if !stated[u.name] && (r.Sound != nil || !absolute(u.name)) {
			missing = append(missing, u.missing)
		}
	}
	return missing
}

// inScatter returns notes about the stated components that are not added, since they are common to
// one seating and so show in the scatter of several.
func (p *Pair) inScatter(r *Results) (notes []string) {
	several := !slices.ContainsFunc(r.Sides(), func(s *Side) bool { return len(s.Seatings) == 1 })
	for _, s := range p.bench.stated {
		if s.CommonTo == response.OneSeating && several {
			notes = append(notes, fmt.Sprintf("The component %q is common to one seating. It is part of the scatter of the "+
				"seatings, so it is not added to the uncertainty of their mean.", s.Name))
		}
	}
	return notes
}

// DirectAfter takes a second direct recording, made at the end of the session, and returns findings
// about it. The rig drifted by the difference between the two recordings, at an unknown time within
// the session. The error of the response therefore lies between zero and the full drift. It is
// treated as a rectangular distribution about zero (JCGM 100:2008, 4.3.7). Call DirectAfter after
// Direct and before the first Pair.
func (b *Bench) DirectAfter(c Channels) ([]response.Finding, error) {
	if len(b.parts) == 0 {
		return nil, errors.New("review: the second direct recording comes after the first; call Direct " +
			"before DirectAfter")
	}
	if err := cmp.Or(c.Left.Err, c.Right.Err); err != nil {
		return nil, fmt.Errorf("the second direct recording: %w", err)
	}
	if c.Left.Recording == nil || c.Right.Recording == nil {
		return nil, errors.New("review: the second direct recording needs a channel for each side; " +
			"name one channel twice if there is only one")
	}
	uses, findings := b.direct.uses(c, 0, "direct, at the end")
	findings = append(findings, b.direct.inspect(uses, true)...)
	drift := map[sweep.Side][]float64{}
	for _, u := range uses {
		if err := cmp.Or(u.cutShort(), b.direct.unfit(u)); err != nil && (u.cut != nil || !b.config.UseUnfit) {
			return findings, fmt.Errorf("the second direct recording: %w", err)
		}
		placed, err := b.direct.onPlayersClock(u)
		if err != nil {
			return findings, err
		}
		p, err := b.separate(placed, u, nil)
		if err != nil {
			return findings, err
		}
		ratio, err := p.transfer.Divide(b.parts[u.side].transfer)
		if err != nil {
			return findings, err
		}
		moved, err := ratio.Smoothed(b.frequency, Smoothing)
		if err != nil {
			return findings, err
		}
		b.notes = append(b.notes, fmt.Sprintf(
			"Between the two direct recordings the level moved by %+.3f dB at 1 kHz on the %v.", moved.At(1000), u.side))
		drift[u.side] = floats.ScaleTo(make([]float64, len(moved.Level)), 1/math.Sqrt(3), moved.Level)
	}
	b.drift, b.errors = drift, map[sweep.Side]*sharedErrors{}
	return findings, nil
}

// shared returns the errors from the stated components that all seatings of a side share.
func (b *Bench) shared(side sweep.Side) *sharedErrors {
	b.shares.Lock()
	defer b.shares.Unlock()
	if known := b.errors[side]; known != nil {
		return known
	}
	none := make([]float64, len(b.frequency))
	c := b.withDrift(b.withStated(response.Curve{Frequency: b.frequency, Level: none, Valid: response.AllFrequencies,
		Uncertainty: none,
		Components:  []response.CurveComponent{}}, side, nil), side, "")
	out := &sharedErrors{}
	for _, one := range c.Components {
		for _, effect := range one.Effects {
			if effect != nil && one.CommonTo != response.OneSeating {
				out.effects = append(out.effects,
					response.Curve{Frequency: c.Frequency, Level: effect, Valid: response.AllFrequencies})
			}
		}
	}
	b.errors[side] = out
	return out
}

// usual lists the known names with their scope, the distance in octaves over which their errors are
// correlated, and the words for a report if they are not stated.
var usual = []struct {
	name    string
	scope   response.Scope
	octaves float64
	missing string
}{
	{"microphone", response.OneMicrophone, 1, "the microphone’s calibration"},
	{"coupler", response.OneRig, 1, "the coupler or plate"},
	{"placement", response.OneSide, 1, "the placement common to all seatings"},
	{"drift", response.OnePair, math.Inf(1), "the drift of the gain between the direct recording and the seatings"},
	{"samples", response.OnePair, 1, "the difference between samples of the model"},
	{"temperature", response.Everything, math.Inf(1), "the temperature, for levels in sound pressure"},
	{"pressure", response.Everything, math.Inf(1), "the air pressure, for levels in sound pressure"},
}

// Usual reports whether the name of a component is known, and returns which results share its
// error.
func Usual(name string) bool {
	for _, u := range usual {
		if u.name == name {
			return true
		}
	}
	return false
}

// absolute reports whether a component affects levels in sound pressure only.
func absolute(name string) bool { return name == "temperature" || name == "pressure" }

// microphoneRelativeTo subtracts from the microphone's error its value at f Hz, if a calibrator has
// set the level.
func microphoneRelativeTo(c response.Curve, f float64) response.Curve {
	for n, one := range c.Components {
		if one.Name != "microphone" {
			continue
		}
		effects := make([][]float64, len(one.Effects))
		for k, effect := range one.Effects {
			if effect != nil {
				effects[k] = slices.Clone(effect)
				floats.AddConst(-response.Curve{Frequency: c.Frequency, Level: effect, Valid: c.Valid}.At(f), effects[k])
			}
		}
		c.Components[n].Effects = effects
	}
	return c.Refreshed()
}
