package report

import (
	"errors"
	"math"
	"slices"
	"strings"

	"example.com/earnest/distortion"
	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// furtherJSON holds the results of the stimulus's further parts for one side; null where not
// recorded. The results are means over the seatings that hold the part.
type furtherJSON struct {
	Seatings    []heldJSON       `json:"seatings"`
	SteadyTones []steadyToneJSON `json:"steady_tones"`
	Levels      []levelJSON      `json:"levels"`
	MaxLevels   []maxLevelJSON   `json:"max_levels"`
	Modulation  *productsJSON    `json:"modulation"`
	Difference  *productsJSON    `json:"difference_frequency"`
	Many        *manyJSON        `json:"many_tones"`
	Crosstalk   *crosstalkJSON   `json:"crosstalk"`
	RubBuzz     *rubBuzzJSON     `json:"rub_and_buzz"`
	Polarity    figureJSON       `json:"polarity"`
	Delay       delayJSON        `json:"group_delay"`
}

// newFurther returns nil if the stimulus has no further parts.
func newFurther(r *review.Results, s *review.Side) *furtherJSON {
	f := s.Further
	if f == nil {
		return nil
	}
	out := &furtherJSON{Seatings: newHeld(s), SteadyTones: []steadyToneJSON{}, Levels: []levelJSON{},
		MaxLevels:  []maxLevelJSON{},
		Modulation: newProducts(f.Modulation), Difference: newProducts(f.Difference),
		Polarity: newFigure(s.AbsolutePolarity)}
	for _, t := range f.Tones {
		sweep := bySweep(r, s, t)
		out.SteadyTones = append(out.SteadyTones, steadyToneJSON{newTHD(t.THD), number(t.Played), number(t.THD.Level),
			newFigure(t.THDPlusN), newTHD(sweep), agreement(t.THD, sweep)})
	}
	for _, at := range levelFrequencies {
		for _, p := range s.LevelsAt(at) {
			one := levelJSON{thdJSON: newTHD(p.THD), PlayedDBFS: number(p.Played), SoundDBSPL: number(p.THD.Level),
				Compression: newFigure(p.Compression)}
			for _, o := range p.Orders {
				one.OrdersDB = append(one.OrdersDB, number(o.Value))
			}
			out.Levels = append(out.Levels, one)
		}
	}
	for _, m := range s.MaxLevels {
		out.MaxLevels = append(out.MaxLevels, maxLevelJSON{number(m.Frequency), number(m.Percent), reached(m),
			newFigure(m.Played), newFigure(m.Sound)})
	}
	if m := f.Many; m != nil {
		out.Many = &manyJSON{Tones: len(m.Tones), Total: newReading(m.Total.Distortion.Percent())}
		for _, b := range m.Bands {
			out.Many.FrequencyHz = append(out.Many.FrequencyHz, number(b.Frequency))
			out.Many.LevelDB = append(out.Many.LevelDB, number(b.Distortion.Value))
			out.Many.FloorDB = append(out.Many.FloorDB, number(b.Distortion.Floor))
			low, high := allowed95(b.Distortion)
			out.Many.Low95DB, out.Many.High95DB = append(out.Many.Low95DB, number(low)), append(out.Many.High95DB,
				number(high))
		}
	}
	if c := f.Crosstalk; c != nil {
		out.Crosstalk = &crosstalkJSON{numbers(c.Level.Frequency), numbers(c.Level.Level), numbers(c.Level.Uncertainty),
			numbers(c.Level.HalfWidth(confidence)), numbers(c.Floor.Level), nil}
		if g := r.CommonGround(s); g != nil {
			out.Crosstalk.Common = &commonGroundJSON{newFigure(g.Resistance), numbers(g.Common.Frequency),
				numbers(g.Common.Level), numbers(g.Common.HalfWidth(confidence)), numbers(g.Leak.Level)}
		}
	}
	out.RubBuzz = newRubBuzz(s.RubBuzz)
	out.Delay = newDelay(s.GroupDelay)
	return out
}

// heldJSON says what one seating holds for a side: the response, and at least a part for each of
// the questions.
type heldJSON struct {
	Name     string           `json:"name"`
	Response bool             `json:"response"`
	Parts    []sweep.Question `json:"parts"`
}

// steadyToneJSON holds the distortion of a steady tone, averaged over the seatings, beside that
// from the sweep, which is only known at the sweep's level.
type steadyToneJSON struct {
	thdJSON
	PlayedDBFS number     `json:"played_dbfs"`
	SoundDBSPL number     `json:"sound_db_spl"`
	THDPlusN   figureJSON `json:"thd_plus_n"`
	BySweep    thdJSON    `json:"by_sweep"`
	Agreement  string     `json:"agreement"` // "yes", "no", "not known"
}

// levelJSON holds the result of a sweep at one level and frequency.
type levelJSON struct {
	thdJSON
	PlayedDBFS  number     `json:"played_dbfs"`
	SoundDBSPL  number     `json:"sound_db_spl"`
	Compression figureJSON `json:"compression_db"`
	OrdersDB    []number   `json:"orders_db"` // from the second
}

// maxLevelJSON is the highest level at which distortion stays below a limit.
type maxLevelJSON struct {
	FundamentalHz number     `json:"fundamental_hz"`
	Percent       number     `json:"percent"`
	Reached       string     `json:"reached"`
	Played        figureJSON `json:"played"`
	Sound         figureJSON `json:"sound"`
}

// productsJSON holds the intermodulation products of two tones.
type productsJSON struct {
	LowerHz number      `json:"lower_hz"`
	UpperHz number      `json:"upper_hz"`
	Second  readingJSON `json:"second_order"`
	Third   readingJSON `json:"third_order"`
	Total   readingJSON `json:"total"`
}

func newProducts(i *tone.Intermodulation) *productsJSON {
	if i == nil {
		return nil
	}
	return &productsJSON{number(i.Lower.Frequency), number(i.Upper.Frequency),
		newReading(i.Second.Reading), newReading(i.Third.Reading), newReading(i.Total.Reading)}
}

// readingJSON is a distortion in % and in dB, null if it is not clear of its floor, with its upper
// bound at 95 % confidence.
type readingJSON struct {
	Percent figureJSON `json:"percent"`
	DB      number     `json:"db"`
	AtMost  number     `json:"at_most_percent"`
}

// levelFrequencies are the frequencies in Hz at which distortion is given against level.
var levelFrequencies = []float64{50, 100, 200, 500, 1000, 2000, 5000}

func newReading(r distortion.Reading) readingJSON {
	most := r.AtMost()
	if r.Known() {
		_, most = r.Interval(confidence)
	}
	return readingJSON{newFigure(r.Figure), number(20 * math.Log10(r.Value/100)), number(most)}
}

type manyJSON struct {
	Tones       int         `json:"tones"`
	Total       readingJSON `json:"total"`
	FrequencyHz []number    `json:"band_hz"`
	LevelDB     []number    `json:"level_db"`
	FloorDB     []number    `json:"floor_db"`
	Low95DB     []number    `json:"low_95_db"`
	High95DB    []number    `json:"high_95_db"`
}

type crosstalkJSON struct {
	FrequencyHz []number          `json:"frequency_hz"`
	LevelDB     []number          `json:"level_db"`
	Uncertainty []number          `json:"uncertainty_db"`
	HalfWidth95 []number          `json:"half_width_95_db"`
	FloorDB     []number          `json:"floor_db"`
	Common      *commonGroundJSON `json:"common_ground"`
}

type commonGroundJSON struct {
	Resistance  figureJSON `json:"resistance"`
	FrequencyHz []number   `json:"frequency_hz"`
	CommonDB    []number   `json:"common_db"`
	HalfWidth95 []number   `json:"common_half_width_95_db"`
	LeakDB      []number   `json:"leak_db"`
}

type rubBuzzJSON struct {
	FundamentalHz []number `json:"fundamental_hz"`
	LevelDB       []number `json:"level_db"`
	FloorDB       []number `json:"floor_db"`
	Low95DB       []number `json:"low_95_db"`
	High95DB      []number `json:"high_95_db"`
	CrestDB       []number `json:"crest_db"`
	Seatings      []int    `json:"seatings"`
	Rattling      []int    `json:"rattling_seatings"`
	RattlesHz     []number `json:"rattles_hz"`
}

// newRubBuzz returns nil if the residue was not measured.
func newRubBuzz(all []review.RubBuzz) *rubBuzzJSON {
	if all == nil {
		return nil
	}
	out := &rubBuzzJSON{RattlesHz: []number{}}
	for _, b := range all {
		low, high := allowed95(b.Level)
		out.FundamentalHz = append(out.FundamentalHz, number(b.Frequency))
		out.LevelDB, out.FloorDB = append(out.LevelDB, number(b.Level.Value)), append(out.FloorDB, number(b.Level.Floor))
		out.Low95DB, out.High95DB = append(out.Low95DB, number(low)), append(out.High95DB, number(high))
		out.CrestDB, out.Seatings = append(out.CrestDB, number(b.Crest)), append(out.Seatings, b.Seatings)
		if out.Rattling = append(out.Rattling, b.Rattles); b.Rattles > 0 {
			out.RattlesHz = append(out.RattlesHz, number(b.Frequency))
		}
	}
	return out
}

type delayJSON struct {
	FrequencyHz  []number `json:"frequency_hz"`
	Milliseconds []number `json:"ms"`
	Uncertainty  []number `json:"uncertainty_ms"` // standard; null without scatter of seatings
	HalfWidth95  []number `json:"half_width_95_ms"`
}

func newDelay(c response.Curve) delayJSON {
	return delayJSON{numbers(c.Frequency), numbers(c.Level), numbers(c.Uncertainty), numbers(c.HalfWidth(confidence))}
}

// delayDifferenceJSON is left less right: of the arrival, which is only known if both were recorded
// at once, and of the group delay without it.
type delayDifferenceJSON struct {
	Arrival    figureJSON `json:"arrival"`
	GroupDelay delayJSON  `json:"group_delay"`
}

// newDelayDifference returns nil without further parts or with only one side.
func newDelayDifference(r *review.Results) *delayDifferenceJSON {
	if r.Config.Stimulus == nil || len(r.Config.Stimulus.Parts()) == 0 || r.Left == nil || r.Right == nil {
		return nil
	}
	return &delayDifferenceJSON{newFigure(r.TimeDifference), newDelay(r.DelayDifference)}
}

// The rows and sentences of the page.

// toneRow is the row of a steady tone in the page's table.
type toneRow struct{ Frequency, Level, ByTone, BySweep, WithNoise, Agrees string }

// Further returns the sides with further results.
func (v *view) Further() []*review.Side { return askedFurther(v.R) }

// Tones returns the rows of a side's steady tones.
func (v *view) Tones(s *review.Side) (rows []toneRow) {
	for _, t := range s.Further.Tones {
		sweep := bySweep(v.R, s, t)
		row := toneRow{v.plainHz(t.Frequency), typeset(v.Number("%.4g dBFS", t.Played)),
			typeset(v.percentAndLevel(t.THD.Reading)),
			typeset(v.percentAndLevel(sweep.Reading)), typeset(v.withNoise(t)),
			v.Text("agreement." + agreement(t.THD, sweep))}
		if !math.IsNaN(t.THD.Level) {
			row.Level += typeset(v.Text("further.sound", t.THD.Level))
		}
		rows = append(rows, row)
	}
	return rows
}

// percentAndLevel formats a distortion in % and in dB: "0.12 % (−58.4 dB)", the mean of several
// seatings with its interval: "0.120 ± 0.013 % (−58.4 dB)".
func (l language) percentAndLevel(r distortion.Reading) string {
	v := r.Value
	if r.Below {
		v = r.Bound
	}
	if math.IsNaN(v) || r.Unit == "" {
		return l.Text("page.not-known")
	}
	text := l.twoDigits(v) + " %"
	switch {
	case r.Below:
		text = l.Text("further.at-most") + text
	case r.Budget != nil:
		text = l.Interval(r.Figure)
	}
	return text + l.Number(" (%.1f dB)", 20*math.Log10(v/100))
}

// withNoise formats THD+N like the distortion beside it.
func (l language) withNoise(t review.SteadyTone) string {
	if t.THDPlusN.DegreesOfFreedom > 0 {
		return l.Interval(t.THDPlusN)
	}
	return l.twoDigits(t.THDPlusN.Value) + " %"
}

// readingInDB formats a reading in dB with its interval.
func (l language) readingInDB(r distortion.Reading) string {
	switch {
	case r.Known():
		return l.Interval(r.Figure)
	case math.IsNaN(r.Bound):
		return l.Text("page.not-known")
	}
	return l.Text("further.at-most") + l.Number("%.1f dB", r.Bound)
}

// held says which parts each seating holds; "" if all hold everything.
func (v *view) held(s *review.Side) string {
	var lines []string
	every := true
	all := s.Further.Held
	for _, one := range newHeld(s) {
		parts := make([]string, len(one.Parts))
		for i, q := range one.Parts {
			parts[i] = v.Text("question." + string(q))
		}
		if len(parts) == 0 {
			parts = []string{v.Text("further.none")}
		}
		every = every && one.Response && len(one.Parts) == len(all)
		line := v.Text("further.held", one.Name, strings.Join(parts, ", "))
		if !one.Response {
			line = v.Text("further.cut", one.Name, strings.Join(parts, ", "))
		}
		lines = append(lines, line)
	}
	if every {
		return ""
	}
	return v.Text("further.lacks", strings.Join(lines, "; "))
}

// Says returns sentences about a side's further results.
func (v *view) Says(s *review.Side) (all []string) {
	f := s.Further
	say := func(text string) { all = append(all, text) }
	if held := v.held(s); held != "" {
		say(held)
	}
	if m := f.Modulation; m != nil {
		say(v.Text("further.modulation", v.plainHz(m.Lower.Frequency),
			v.plainHz(m.Upper.Frequency), v.percentAndLevel(m.Total.Reading), v.percentAndLevel(m.Second.Reading),
			v.percentAndLevel(m.Third.Reading)))
	}
	if d := f.Difference; d != nil {
		say(v.Text("further.difference",
			v.plainHz(d.Lower.Frequency),
			v.plainHz(d.Upper.Frequency), v.percentAndLevel(d.Second.Reading), v.percentAndLevel(d.Third.Reading)))
	}
	if m := f.Many; m != nil {
		say(v.Text("further.many", len(m.Tones), v.percentAndLevel(m.Total.Distortion.Percent())))
	}
	if s.MaxLevels != nil {
		all = append(all, v.maxLevelPlot(v.R, s).Summary)
	}
	if rubBuzz := s.RubBuzz; rubBuzz != nil {
		var at []string
		for _, one := range rubBuzz {
			if one.Rattles > 0 {
				at = append(at, v.Text("further.crest", v.plainHz(one.Frequency), v.readingInDB(one.Level), one.Crest,
					one.Rattles, one.Seatings))
			}
		}
		if len(at) > 0 {
			say(v.Text("further.rubs", strings.Join(at, ", ")))
		} else {
			say(v.Text("further.rubs-not"))
		}
	}
	if c := f.Crosstalk; c != nil {
		say(v.Text("further.crosstalk", v.readingInDB(c.At(1000))))
		switch g := v.R.CommonGround(s); {
		case v.R.Impedance == nil:
		case g == nil:
			say(v.Text("crosstalk.together"))
		case !told(g) && !leaks(g, c):
			say(v.Text("further.return-not-known", v.Interval(g.Resistance)))
		case told(g):
			say(v.Text("further.return", v.Interval(g.Resistance), v.Interval(g.Common.Figure(1000))))
		default:
			say(v.Text("further.leak", v.Interval(g.Resistance)))
		}
	}
	switch p := s.AbsolutePolarity; {
	case p.Value > 0.5:
		say(v.Text("further.upright"))
	case p.Value < -0.5:
		say(v.Text("further.upside-down"))
	default:
		say(v.Text("further.polarity"))
	}
	return all
}

// Arrival says which side is later.
func (v *view) Arrival() string {
	d := v.R.TimeDifference
	if !d.Known() {
		return v.Text("further.later-not")
	}
	return v.Text("further.later", v.Interval(d))
}

// newHeld returns the seatings with a response before those without.
func newHeld(s *review.Side) (all []heldJSON) {
	for i, r := range slices.Concat(s.Seatings, s.FurtherOnly) {
		one := heldJSON{r.Name, i < len(s.Seatings), []sweep.Question{}}
		if r.Further != nil {
			one.Parts = append(one.Parts, r.Further.Held...)
		}
		all = append(all, one)
	}
	return all
}

// bySweep returns the distortion from the sweep at the frequency of a tone that was played at the
// sweep's level; otherwise it is not known.
func bySweep(r *review.Results, s *review.Side, t review.SteadyTone) distortion.THD {
	if t.Played != r.Config.Stimulus.Level() {
		return distortion.MeanTHD()
	}
	return s.THD(t.Frequency)
}

// methods is the accepted ratio between the results of a tone and a sweep beyond their noise, 0.5
// dB. The sweep's windows reduce the effect of a reflection on a harmonic (simulated).
const methods = 1.06

// agreement says whether the 95 % intervals or bounds of a tone and the sweep overlap within
// methods.
func agreement(a, b distortion.THD) string {
	low, high := allowed95(a.Reading)
	from, to := allowed95(b.Reading)
	switch {
	case math.IsNaN(high) || math.IsNaN(to):
		return "not known"
	case low <= to*methods && from <= high*methods:
		return "yes"
	}
	return "no"
}

// allowed95 returns the values that a reading allows: its interval, or from no distortion to its
// bound. No distortion has no level in dB: there it is NaN.
func allowed95(r distortion.Reading) (low, high float64) {
	switch {
	case r.Below && strings.HasPrefix(r.Unit, "dB"):
		return math.NaN(), r.Bound
	case r.Below:
		return 0, r.Bound
	}
	return r.Interval(confidence)
}

// reached says whether a limit was reached.
func reached(m review.MaxLevel) string {
	switch {
	case m.Err == nil:
		return "reached"
	case errors.Is(m.Err, distortion.ErrNotReached):
		return "not reached"
	case errors.Is(m.Err, distortion.ErrExceeded):
		return "exceeded at the lowest level"
	}
	return "not known"
}

func askedFurther(r *review.Results) []*review.Side {
	return slices.DeleteFunc(r.Sides(), func(s *review.Side) bool { return s.Further == nil })
}
