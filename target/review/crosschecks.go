package review

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// The kinds of findings that need a measurement or a comparison of several recordings.
const (
	Unusable      response.FindingKind = "cannot be used"
	WrongSetting  response.FindingKind = "wrong setting"
	DirectNotFlat response.FindingKind = "direct recording not flat"
	NotDirect     response.FindingKind = "not a direct recording"
	AnotherGain   response.FindingKind = "another gain"
	Outlying      response.FindingKind = "outlying seating"
	Moved         response.FindingKind = "pair moved"
	OnePlayTwice  response.FindingKind = "one play for both sides"
)

// Limits of the cross-checks in dB. An interface is taken to be flat to 0.5 dB and to ripple by at
// most 0.05 dB about its mean over an octave; a recording through headphones ripples by 0.3 dB or
// more (simulated). The drivers of a pair are taken to differ in sensitivity by less than 3 dB, and
// seatings by less than 1.5 dB (common practice).
const (
	mostFromFlat   = 1.0
	mostRipple     = 0.15
	mostDistortion = 0.03 // %, of an interface at distortionAt
	distortionAt   = 1000 // Hz
	// lowest is the frequency in Hz at which a limiter fast enough to follow single periods shows;
	// mostInBass is the most distortion in % that an interface has there.
	lowest           = 40
	mostInBass       = 1
	mostBetweenSides = 3.0
	mostBetween      = 1.5
	// likeGain is the largest rms deviation from its mean, in dB, at which a difference counts as a
	// gain.
	likeGain = 0.5
)

var (
	directBand = response.Band{Low: 40, High: 16000}
	gainBand   = response.Band{Low: 200, High: 4000} // where fit and position change a response little
)

// flatness says how far a recording differs from one of an interface. Its figures are NaN if less
// than an octave is above the noise.
type flatness struct {
	off, at float64 // largest deviation from the median in dB, and its frequency in Hz
	ripple  float64 // dB rms about the mean over an octave
}

// checkDirect checks that each side of the direct recording is flat and without ripple, as an
// interface is. It leaves out frequencies at which noise changes the level by more than 0.05 dB.
func (b *Bench) checkDirect(uses []use, measured map[sweep.Side]*parts) ([]response.Finding, error) {
	var found []response.Finding
	for _, u := range uses {
		p := measured[u.side]
		found = append(found, p.checkFollows(u.recording.Name, u.channel)...)
		is := p.flatness()
		f := doubt(u.recording.Name, DirectNotFlat, response.Warning)
		f.Channel = u.channel
		f.Figures = map[string]response.Figure{"deviation": {Value: is.off, Unit: "dB"}, "at": {Value: is.at, Unit: "Hz"},
			"ripple": {Value: is.ripple, Unit: "dB"}}
		switch distortion := p.harmonics.THD(distortionAt).Value; {
		case is.ripple > mostRipple && (distortion > mostDistortion || !(math.Abs(is.off) > mostFromFlat)):
			f.Kind = NotDirect
			f.What = fmt.Sprintf("the interface's %v side ripples by %.2f dB about its mean over an octave, "+
				"like a recording through headphones and a microphone%s", u.side, is.ripple, distorted(distortion))
			f.Remedy = "check that the direct recording and one through the headphones are not exchanged"
		case math.Abs(is.off) > mostFromFlat:
			f.What = fmt.Sprintf("the interface's %v side deviates from flat by %+.1f dB at %s; the headphones' response "+
				"has the same error unless the cause is in both recordings",
				u.side, is.off, response.FormatFrequency(is.at))
			if is.ripple > mostRipple {
				f.What += fmt.Sprintf("; it ripples by %.2f dB about its mean over an octave, like an equaliser "+
					"or headphones: are direct and through exchanged?", is.ripple)
			}
			f.Remedy = "switch off equalisers and enhancements in player and recorder, " +
				"check that this is the direct recording, " +
				"and record again"
		case p.harmonics.THD(lowest).Value > mostInBass:
			bass := p.harmonics.THD(lowest).Value
			f.Kind, f.Figures = fitness.LevelControl, map[string]response.Figure{"distortion": {Value: bass, Unit: "%"}}
			f.What = fmt.Sprintf("the interface's %v side distorts by %.2g %% at %s%s, "+
				"like a limiter that follows single periods",
				u.side, bass, response.FormatFrequency(lowest), distorted(distortion))
			f.Remedy = "switch off limiters and automatic gain in player and recorder, " +
				"lower the level if an input is overloaded, and record again"
		default:
			continue
		}
		found = append(found, f)
	}
	return found, nil
}

func (p *parts) flatness() flatness {
	const clearOfNoise = 30 // dB
	c := p.level
	if len(p.floor.Frequency) > 0 {
		c = c.MaskBelow(p.floor, clearOfNoise)
	}
	frequency, level := levelsIn(c, directBand)
	if len(level) < PerOctave {
		return flatness{math.NaN(), math.NaN(), math.NaN()}
	}
	middle, worst := statistic.Median(level), 0
	for i, v := range level {
		if math.Abs(v-middle) > math.Abs(level[worst]-middle) {
			worst = i
		}
	}
	return flatness{level[worst] - middle, frequency[worst], rippleOf(level)}
}

// checkSeatings looks for seatings that were recorded at another gain, and for outliers, given what
// both sides of them show.
func (s *Side) checkSeatings(uses []use, both []bothSides) []response.Finding {
	var found []response.Finding
	for i, r := range s.Seatings {
		found = append(found, r.follows...)
		least, gain := math.Inf(1), math.NaN()
		for k, other := range s.Seatings {
			if k == i {
				continue
			}
			g, alike := gainBetween(r.Response, other.Response)
			if !alike {
				g = 0
			}
			if math.Abs(g) < least {
				least, gain = math.Abs(g), g
			}
		}
		// With two seatings, either may have the wrong gain. The finding names the later one.
		if len(s.Seatings) == 1 || !(least > mostBetween) || len(s.Seatings) == 2 && i == 0 {
			continue
		}
		f := doubt(recordingOf(uses, r), AnotherGain, response.Warning)
		f.What = fmt.Sprintf("%s, %s side, is %+.2f dB from the other seatings, the same at all "+
			"frequencies, so a gain was changed; this moves the mean and widens its interval", r.Name, s.Name, gain)
		f.Remedy = "leave every gain as it is between seatings, and record this one again"
		f.Figures = map[string]response.Figure{"gain": {Value: gain, Unit: "dB"}}
		found = append(found, f)
	}
	for severity, outliers := range [][]response.Outlier{response.Note: s.Average.Stragglers,
		response.Warning: s.Average.Outliers} {
		for _, o := range outliers {
			r := s.Seatings[o.Index]
			i := slices.IndexFunc(both, func(b bothSides) bool { return b.left == r || b.right == r })
			switch {
			case i < 0:
				found = append(found, s.outlying(o, response.Severity(severity), recordingOf(uses, r), false))
			case both[i].exchanged: // checkBothSides names that
			case both[i].alike(): // chance does not move both sides so
				found = append(found, s.outlying(o, response.Warning, recordingOf(uses, r), true))
			default:
				found = append(found, s.outlying(o, response.Severity(severity), recordingOf(uses, r), false))
			}
		}
	}
	return found
}

// checkSides looks for sides that differ by a gain, that have opposite polarity in every seating,
// or that come from the same play.
func (r *Results) checkSides(uses []use) []response.Finding {
	var found []response.Finding
	if r.Left == nil || r.Right == nil {
		return nil
	}
	about := recordingOf(uses, r.Right.Seatings[0])
	gain, alike := gainBetween(r.Left.Response(), r.Right.Response())
	if alike && math.Abs(gain) > mostBetweenSides {
		f := doubt(about, AnotherGain, response.Warning)
		f.What = fmt.Sprintf("left is %+.2f dB from right, the same at all frequencies, so an input, an "+
			"output or a driver has another gain", gain)
		f.Remedy = "set both inputs and both outputs alike, or exchange left and right at the interface to " +
			"see whether the difference moves with them"
		f.Figures = map[string]response.Figure{"gain": {Value: gain, Unit: "dB"}}
		found = append(found, f)
	}
	var opposite, both, same int
	var alikeness float64
	for _, left := range r.Left.Seatings {
		for _, right := range r.Right.Seatings {
			if left.seating != right.seating {
				continue
			}
			both++
			match := left.polarity * right.polarity
			if left.Transfer != nil {
				match = correlation(left.Transfer, right.Transfer)
			}
			alikeness += match
			if match < -0.6 {
				opposite++
			}
			if left.samePlay(right, uses) {
				same++
			}
		}
	}
	if both > 0 {
		r.Polarity = response.Figure{Value: alikeness / float64(both), Uncertainty: math.NaN(), Unit: "1"}
	}
	if both > 0 && opposite == both {
		f := doubt(about, fitness.OppositePolarity, response.Warning)
		f.What = "left and right have opposite polarity in every seating that has both"
		f.Remedy = "check the wiring of leads, adapters and microphones; if the pair itself causes it, one " +
			"of its drivers is connected the wrong way round"
		found = append(found, f)
	}
	if same > 0 {
		f := doubt(about, OnePlayTwice, response.Unfit)
		f.What = "left and right come from the same play and channel, so the difference of the sides is not known"
		f.Remedy = "record each cup in a play of its own and give each side its play: left = { file = …, " +
			"play = 1 }, " +
			"right = { file = …, play = 2 }"
		found = append(found, f)
		r.Difference = response.Curve{}
	}
	return found
}

// samePlay reports whether two sides of a seating come from the same channel and time.
func (r *Reading) samePlay(other *Reading, uses []use) bool {
	if r.Transfer == nil {
		return slices.Equal(r.pieces, other.pieces)
	}
	const apart = 0.01 // s; locating is accurate to a few milliseconds
	find := func(r *Reading) use {
		i := slices.IndexFunc(uses, func(u use) bool { return u.seating == r.seating && u.side == r.side })
		return uses[i]
	}
	a, b := find(r), find(other)
	return a.recording == b.recording && a.channel == b.channel && math.Abs(r.sweepAt-other.sweepAt) < apart
}

// doubt begins a finding that has no position in time.
func doubt(recording string, kind response.FindingKind, severity response.Severity) response.Finding {
	return response.Finding{Recording: recording, Kind: kind, Severity: severity, Time: math.NaN(), Duration: math.NaN()}
}

// levelsIn returns the known levels of a curve in a band, and their frequencies.
func levelsIn(c response.Curve, b response.Band) (frequency, level []float64) {
	for i, f := range c.Frequency {
		if b.Contains(f) && c.Valid.Contains(f) && !math.IsNaN(c.Level[i]) {
			frequency, level = append(frequency, f), append(level, c.Level[i])
		}
	}
	return frequency, level
}

// distorted returns the end of a sentence that states a distortion in %, or "" if it is no more
// than an interface's.
func distorted(percent float64) string {
	if !(percent > mostDistortion) {
		return ""
	}
	return fmt.Sprintf(", and distorts by %.2g %% at %s", percent, response.FormatFrequency(distortionAt))
}

// checkExchanged finds a recording through the headphones that is flat and without ripple, like one
// of an interface, while the direct recording is not. The two are then exchanged and the response
// is inverted.
func checkExchanged(u use, through, direct *parts) []response.Finding {
	is := through.flatness()
	if !(math.Abs(is.off) < mostFromFlat && is.ripple < mostRipple) {
		return nil
	}
	was := direct.flatness()
	if !(was.ripple > mostRipple && was.ripple > 2*is.ripple) {
		return nil
	}
	f := doubt(u.recording.Name, NotDirect, response.Unfit)
	f.Channel = u.channel
	f.What = fmt.Sprintf("%s, %v side, is flat to %.2g dB and ripples by %.2g dB, as an interface does, "+
		"and the direct recording ripples by %.2f dB%s: "+
		"the two are exchanged, and the response is inverted",
		u.name, u.side, math.Abs(is.off), is.ripple, was.ripple, distorted(direct.harmonics.THD(distortionAt).Value))
	f.Remedy = "name each file for what it holds"
	f.Figures = map[string]response.Figure{"ripple": {Value: is.ripple, Unit: "dB"},
		"ripple of the direct recording": {Value: was.ripple, Unit: "dB"}}
	return []response.Finding{f}
}

// rippleOf returns the rms of levels, PerOctave to an octave, about their mean over an octave.
func rippleOf(level []float64) float64 {
	var ripple []float64
	for i := PerOctave / 2; i+PerOctave/2 < len(level); i++ {
		ripple = append(ripple, level[i]-stat.Mean(level[i-PerOctave/2:i+PerOctave/2+1], nil))
	}
	return math.Sqrt(statistic.MeanSquare(ripple))
}

// gainBetween returns the mean difference of two curves over gainBand in dB, and whether it is the
// same at all frequencies, as a gain is.
func gainBetween(a, b response.Curve) (gain float64, alike bool) {
	difference, err := a.Sub(b)
	if err != nil {
		return math.NaN(), false
	}
	_, level := levelsIn(difference, gainBand)
	if len(level) < PerOctave {
		return math.NaN(), false
	}
	mean, deviation := stat.MeanStdDev(level, nil)
	return mean, deviation < likeGain
}

// recordingOf returns the name of a reading's recording.
func recordingOf(uses []use, r *Reading) string {
	i := slices.IndexFunc(uses, func(u use) bool { return u.seating == r.seating && u.side == r.side })
	switch {
	case i >= 0:
		return uses[i].recording.Name
	case len(r.pieces) > 0:
		return r.pieces[0]
	}
	return r.Name
}

// correlation returns the normalised correlation of two responses without delay from 100 Hz to 3
// kHz, where a seating changes the phase little.
func correlation(a, b *response.Transfer) float64 {
	band := response.Band{Low: 100, High: 3000}
	var cross, aa, bb float64
	for k := range min(len(a.Bins), len(b.Bins)) {
		if !band.Contains(a.Frequency(k)) {
			continue
		}
		x, y := a.Bins[k], b.Bins[k]
		cross += real(x)*real(y) + imag(x)*imag(y)
		aa += real(x)*real(x) + imag(x)*imag(x)
		bb += real(y)*real(y) + imag(y)*imag(y)
	}
	return cross / math.Sqrt(aa*bb)
}
