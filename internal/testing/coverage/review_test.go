package coverage

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/correction"
	"example.com/earnest/target/review"
)

// session is one invented review: the truth, and the statements of the session.
type session struct {
	*rand.Rand
	*bench
	family   family
	device   [2]levels // smoothed, of the pair alone
	true     [2]levels // expected value over all seatings
	seatings int
	// harmonic and distorted are the second and third harmonic re the fundamental: those of the
	// pair in dB, and those of the interface as amplitudes, which add to them before the pair.
	harmonic  [2]float64
	distorted [2]float64
	stated    []review.Stated
	apart     bool      // each side is recorded separately, with one microphone for both
	rig       [2]levels // error of microphone and coupler on each side
	through   noise
	direct    noise
	ratio     float64 // SNR at 1 kHz
	rivals    int
	sides     *sides // nil if the sides do not hear each other
	chain     chain
}

func newSession(seed uint64, index int, b *bench, f family) *session {
	r := rand.New(rand.NewPCG(seed, uint64(index)))
	s := &session{Rand: r, bench: b, family: f, seatings: 2 + r.IntN(4), device: device(r), ratio: between(r, 12, 60), rivals: max(0, r.IntN(5)-2)}
	s.harmonic = [2]float64{between(r, -65, -25), between(r, -75, -30)}
	for k := range s.distorted {
		s.distorted[k] = math.Copysign(math.Pow(10, between(r, -110, -60)/20), r.Float64()-0.5)
	}
	s.apart = r.IntN(2) == 0
	s.state("placement", 0, 0.3, 0.5)
	s.state("drift", 0, 0.1)
	coupler := s.field(s.state("coupler", 0, 0.3))
	u := s.state("microphone", 0, 0.3, 0.6)
	microphone := s.field(u)
	s.rig = [2]levels{microphone.plus(1, coupler), microphone.plus(1, coupler)}
	if !s.apart {
		s.rig[1] = s.field(u).plus(1, coupler)
	}
	s.through = b.noiseFor(s.ratio, s.device[0].at(1000), r.IntN(2) == 0)
	s.direct = b.noiseFor(between(r, 30, 70), 0, r.IntN(2) == 0)
	s.true = s.expected(s.device)
	return s
}

// amplitudes returns those of the harmonics in a recording of the pair.
func (s *session) amplitudes() (a [2]float64) {
	for k := range a {
		a[k] = s.distorted[k] + math.Pow(10, s.harmonic[k]/20)
	}
	return a
}

// state draws the standard uncertainty in dB of a component; 0 means not stated.
func (s *session) state(name string, of ...float64) float64 {
	u := of[s.IntN(len(of))]
	if u > 0 {
		s.stated = append(s.stated, review.Stated{Name: name, Uncertainty: u})
	}
	return u
}

// of returns the stated uncertainty of a component.
func (s *session) of(name string) float64 {
	for _, c := range s.stated {
		if c.Name == name {
			return c.Uncertainty
		}
	}
	return 0
}

// field returns an error that is correlated over an octave.
func (s *session) field(u float64) levels { return field(1, s.NormFloat64).times(u) }

// placed returns the error of one pair on each side: the position of all its seatings on the rig,
// and the drift of the gain.
func (s *session) placed() [2]levels {
	drift := flat(s.of("drift") * s.NormFloat64())
	return [2]levels{s.field(s.of("placement")).plus(1, drift, s.rig[0]), s.field(s.of("placement")).plus(1, drift, s.rig[1])}
}

// expected returns the mean over all seatings of a device, as smoothed by the measurement.
func (s *session) expected(device [2]levels) [2]levels {
	left, right := s.family.mean, s.family.mean
	if s.family.right > 0 {
		right = right.times(s.family.right)
	}
	return [2]levels{device[0].plus(1, left).smoothed(), device[1].plus(1, right).smoothed()}
}

// measure records a device in a number of seatings and measures it. It also returns each seating's
// true levels, by side, with the errors, and the mean of these.
func (s *session) measure(b *review.Bench, name string, device [2]levels, seatings int, more func(p *review.Pair, seated [2][]levels, off [2]levels) error) (r *review.Results, seated [2][]levels, off [2]levels, err error) {
	pair := b.Pair(review.About{Name: name})
	off = s.placed()
	for k := range seatings {
		var channels [2][]float64
		for side := range 2 {
			l := device[side].plus(1, s.family.seated(s.Rand, side), off[side])
			seated[side] = append(seated[side], l)
			channels[side] = s.recordSide(side, l)
		}
		recorded := review.Both(s.recording(fmt.Sprint(name, k+1), channels[:]...))
		if s.apart {
			recorded = review.Channels{Left: s.channel(fmt.Sprint(name, k+1, "left"), channels[0]), Right: s.channel(fmt.Sprint(name, k+1, "right"), channels[1])}
		}
		if _, err := pair.Seat(review.Seating{Channels: recorded}); err != nil {
			return nil, seated, off, err
		}
	}
	if err := more(pair, seated, off); err != nil {
		return nil, seated, off, err
	}
	r, err = pair.Measure()
	return r, seated, off, err
}

// reviewed draws the direct recording and the seatings of the pair, and measures them.
func (s *session) reviewed() (*review.Results, error) {
	b, _, err := s.begin()
	if err != nil {
		return nil, err
	}
	r, _, _, err := s.measure(b, "pair", s.device, s.seatings, func(*review.Pair, [2][]levels, [2]levels) error { return nil })
	return r, err
}

// begin returns a bench with its direct recording, and the statements about levels if they are
// measured.
func (s *session) begin() (*review.Bench, *sound, error) {
	config := review.Config{Stimulus: s.stimulus, Rig: "simulated", Stated: s.stated, UseUnfit: true}
	var sound *sound
	if s.of("microphone") == 0 && !*unjudged { // a calibrator makes the microphone right at its own frequency
		sound = s.newSound()
		config.Calibrator, config.CalibratorTone = &sound.calibrator, sound.tone
	}
	b, err := review.New(config)
	if err != nil {
		return nil, nil, err
	}
	var channels [][]float64
	through := s.filter(flat(0).plus(1, s.chain.levels))
	for side := range 2 {
		channels = append(channels, s.record(s.Rand, side, through, s.distorted, s.direct))
		if s.sides != nil {
			floats.Add(channels[side], s.crossed(side, through, s.sides.own))
		}
		channels[side] = s.recorded(channels[side])
	}
	_, err = b.Direct(review.Both(s.recording("direct", channels...)))
	return b, sound, err
}

// run draws, measures and counts a whole review.
func (s *session) run() (draw, error) {
	b, sound, err := s.begin()
	if err != nil {
		return nil, err
	}
	results, seated, off, err := s.measure(b, "pair", s.device, s.seatings, func(p *review.Pair, seated [2][]levels, off [2]levels) error {
		if sound == nil {
			return nil
		}
		p.Drive(sound.drive)
		if err := s.electrical(p, sound); err != nil {
			return err
		}
		if s.IntN(3) > 0 {
			return nil
		}
		return s.material(p, sound, seated[0][0], off[0])
	})
	if err != nil {
		return nil, err
	}
	d := draw{}
	s.responses(d, results)
	s.distortion(d, results, seated, off)
	s.outliers(d, results)
	if *unjudged {
		return d, nil
	}
	var criteria review.Criteria
	devices := [][2]levels{s.device}
	for k := range s.rivals {
		rival := device(s.Rand)
		if k == 0 && s.IntN(2) == 0 { // an equal pair
			rival = [2]levels{s.device[0], s.device[1]}
		}
		devices = append(devices, rival)
		r, _, _, err := s.measure(b, fmt.Sprint("rival", k+1), rival, 2+s.IntN(4), func(*review.Pair, [2][]levels, [2]levels) error { return nil })
		if err != nil {
			return nil, err
		}
		criteria.Rivals = append(criteria.Rivals, r.Pair())
	}
	promises := s.promises(results, sound)
	for _, p := range promises {
		criteria.Claims = append(criteria.Claims, p.Claim)
	}
	if err := results.Judge(criteria); err != nil {
		return nil, err
	}
	s.deviations(d, results)
	s.ranked(d, results.Judgement.Ranking, devices)
	d.claimed(promises, results.Judgement.Claims)
	if sound != nil {
		s.sounds(d, results, sound)
		s.programmes(d, results, sound, seated[0][0])
	}
	return d, nil
}

// places are the frequencies at which responses are compared.
var places = map[string][]float64{
	"20–150 Hz": {25, 40, 63, 100}, "150 Hz–4 kHz": {200, 500, 1000, 2000, 3500}, "4–16 kHz": {5000, 6300, 8000, 10000, 12500, 16000},
}

func (s *session) pointwise(d draw, name string, c response.Curve, half []float64, true levels) {
	for band, at := range places {
		for _, f := range at {
			if half == nil {
				figure := c.Figure(f)
				d.figure(name+", "+band, figure, true.at(f))
				continue
			}
			width := response.Curve{Frequency: c.Frequency, Level: half, Valid: c.Valid}.At(f)
			if level := c.At(f); !math.IsNaN(level) {
				d.holds(interval, name+", "+band, level-width, level+width, true.at(f))
			}
		}
	}
}

func (s *session) responses(d draw, r *review.Results) {
	for k, side := range []*review.Side{r.Left, r.Right} {
		s.pointwise(d, fmt.Sprintf("response of a side, %d seatings", min(s.seatings, 4)), side.Response(), side.Response().HalfWidth(0.95), s.true[k])
	}
	s.pointwise(d, "response, mean of the sides", r.Mean, nil, s.true[0].plus(1, s.true[1]).times(0.5))
	s.pointwise(d, "left less right", r.Difference, r.Difference.HalfWidth(0.95), s.true[0].plus(-1, s.true[1]))
}

func (s *session) deviation(d draw, name string, v target.Deviation, true levels, aligned bool) {
	t := judged(true, v, aligned)
	d.figure(name+": rms", v.RMS, t.rms)
	d.figure(name+": mean absolute", v.MeanAbsolute, t.meanAbsolute)
	d.figure(name+": tilt", v.Tilt, t.tilt)
	d.figure(name+": ripple", v.Ripple, t.ripple)
	if aligned {
		d.figure(name+": offset", v.Offset, t.offset)
		d.figure(name+": share within tolerance", v.Share, t.share)
	}
	if v.Max.Level.Known() { // at the place that was chosen for its height
		low, high := v.Max.Level.Interval(0.95)
		d.holds(bound, name+": largest deviation, at its place", low, high, t.level.at(v.Max.Frequency))
	}
	for _, o := range v.Octaves {
		d.figure(name+": mean of an octave", o.Mean, t.meanOver(o.Band))
		d.figure(name+": rms of an octave", o.RMS, t.rmsOver(o.Band))
	}
	for _, o := range v.Regions {
		d.figure(name+": mean of a region", o.Mean, t.meanOver(o.Band))
		d.figure(name+": rms of a region", o.RMS, t.rmsOver(o.Band))
	}
}

func (s *session) deviations(d draw, r *review.Results) {
	j := r.Judgement
	mean := s.true[0].plus(1, s.true[1]).times(0.5)
	s.deviation(d, "mean", j.Mean, mean, true)
	for k, side := range r.Sides() {
		s.deviation(d, "a side", j.Sides[side.Name], s.true[k], true)
	}
	if j.Difference != nil {
		s.deviation(d, "left less right", *j.Difference, s.true[0].plus(-1, s.true[1]), false)
	}
	if c := j.Correction; c != nil && c.NewSeating.Known() {
		truth := s.equalised(c)
		d.figure("equaliser: rms of a new seating", c.NewSeating, truth)
		_, high := c.NewSeating.Interval(0.95)
		d.holds(bound, "equaliser: rms of a new seating is at most", 0, high, truth)
	}
}

// equalised returns the expected rms deviation of a new seating with the filters.
func (s *session) equalised(c *correction.Correction) float64 {
	filters := newLevels(func(f float64) float64 {
		if f >= float64(c.SampleRate)/2 {
			return 0
		}
		var level float64
		for _, filter := range c.Filters {
			level += filter.Level(f, c.SampleRate)
		}
		return level
	})
	const seatings = 20
	var sum float64
	for range seatings {
		left, right := s.device[0].plus(1, s.family.seated(s.Rand, 0)), s.device[1].plus(1, s.family.seated(s.Rand, 1))
		sum += judged(left.plus(1, right).times(0.5).plus(1, filters), c.After, true).rms / seatings
	}
	return sum
}

func (s *session) ranked(d draw, ranking *target.Ranking, devices [][2]levels) {
	if ranking == nil {
		return
	}
	var means []levels
	for _, device := range devices {
		e := s.expected(device)
		means = append(means, e[0].plus(1, e[1]).times(0.5))
	}
	for _, v := range ranking.Differences {
		a, b := ranking.Places[v.A], ranking.Places[v.B]
		ta, tb := judged(means[a.Pair], a.Deviation, true), judged(means[b.Pair], b.Deviation, true)
		d.figure("ranking: difference of rms", v.RMS, tb.rms-ta.rms)
		for _, region := range v.Regions {
			d.figure("ranking: difference of a region", region.Mean, tb.meanOver(region.Band)-ta.meanOver(region.Band))
		}
		if math.Abs(tb.rms-ta.rms) < 1e-6 {
			d.add(rare, "equal pairs separated", v.Separated)
		}
	}
}

func (s *session) outliers(d draw, r *review.Results) {
	if s.seatings < 3 {
		return
	}
	d.add(rare, "sessions with a seating that stands apart", len(r.Left.Average.Outliers)+len(r.Right.Average.Outliers) > 0)
}
