package session

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"example.com/earnest/internal/duration"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/response/programme/excerpt"
	"example.com/earnest/sweep"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// fileError is an error about a file under the name that the session uses.
type fileError struct {
	text string
	is   error
}

func (e *fileError) Error() string { return e.text }

func (e *fileError) Unwrap() error { return e.is }

// Review measures the session and judges the results by its criteria.
//
// It first checks that all named files exist and fit together, including the target and other
// pairs, and measures those, while it holds no recording of its own. It calls progress, if not nil,
// before each step. A seating whose recording is not fit to use is left out and named. If nothing
// of a side is left, or if the direct recording is unfit, the error wraps fitness.ErrUnfit and says
// why. UseUnfit in the session suppresses that.
func (s *Session) Review(progress func(step string)) (*review.Results, error) {
	if progress == nil {
		progress = func(string) {}
	}
	progress("checking the files of the session")
	bench, err := s.preflight()
	if err != nil {
		return nil, err
	}
	photos, err := s.readPhotos()
	if err != nil {
		return nil, err
	}
	var notes []string
	like := s.like
	measure := func(path string) (target.Pair, error) { return s.measurePair(path, progress, &notes) }
	criteria, err := s.criteria(measure, func(path string) (target.Pair, error) {
		pair, err := measure(path)
		if err != nil {
			notes = append(notes, fmt.Sprintf("%s: could not be measured and is not ranked: %v.", path, err))
		}
		return pair, nil
	})
	if err != nil {
		return nil, err
	}
	if s.like != like { // another pair has the same direct recording
		if bench, err = s.bench(); err != nil {
			return nil, err
		}
	}
	results, err := s.measure(bench, progress)
	if err != nil {
		return nil, err
	}
	results.About.Photos, results.Notes = photos, append(results.Notes, notes...)
	progress("judging")
	return results, results.Judge(criteria)
}

// ReviewResponse is like Review but leaves out music, speech, sound pressure, impedance, isolation
// and the criteria. Its results suffice to compare pairs.
func (s *Session) ReviewResponse(progress func(step string)) (*review.Results, error) {
	if progress == nil {
		progress = func(string) {}
	}
	alone := s.responseAlone()
	bench, err := alone.responseBench()
	if err != nil {
		return nil, err
	}
	results, err := alone.measure(bench, progress)
	s.direct, s.played = alone.direct, alone.played
	s.playedHolds, s.playedNotes, s.playedDoubts = alone.playedHolds, alone.playedNotes, alone.playedDoubts
	return results, err
}

// responseAlone returns the session without the parts that ReviewResponse leaves out.
func (s *Session) responseAlone() *Session {
	alone := *s
	if !s.alone() {
		alone.Programmes = nil
	}
	alone.Calibrator, alone.ImpedanceFile, alone.Isolation, alone.Spill = Calibrator{}, ImpedanceFile{},
		Isolation{}, Spill{}
	return &alone
}

// responseBench returns the session's bench after checking that the files needed for the response
// exist.
func (s *Session) responseBench() (*review.Bench, error) {
	if err := s.present(s.needed()); err != nil {
		return nil, err
	}
	return s.bench()
}

// bench returns the session's bench.
func (s *Session) bench() (*review.Bench, error) {
	stimulus, err := s.Played()
	if err != nil {
		return nil, err
	}
	c := review.Config{
		Stimulus: stimulus, Rig: s.Rig.Name, MaxFrequency: s.Rig.Ceiling, Uncertainty: s.Rig.Uncertainty,
		SubtractInterface: s.Rig.Subtract, UseUnfit: s.UseUnfit,
	}
	for _, m := range []struct {
		place, file string
		into        **level.Calibration
	}{{"[rig] microphone", s.Rig.Microphone, &c.Microphone}, {"[rig] microphone_right",
		s.Rig.MicrophoneRight, &c.MicrophoneRight}} {
		if m.file == "" {
			continue
		}
		calibration, err := level.ReadCalibrationFile(s.path(m.file))
		if err != nil {
			return nil, fmt.Errorf("%s %s: %w", m.place, m.file, err)
		}
		*m.into = &calibration
	}
	if c.Stated, err = s.stated(); err != nil {
		return nil, err
	}
	if s.Rig.Field != "" {
		field, err := response.ReadCurveFile(s.path(s.Rig.Field))
		if err != nil {
			return nil, fmt.Errorf("[rig] field %s: %w", s.Rig.Field, err)
		}
		c.Field = &field
	}
	if s.Calibrator.File != "" {
		c.CalibratorTone = s.read(s.Calibrator.File, s.Calibrator.Channel)
		c.Calibrator = &level.Calibrator{
			Level: cmp.Or(s.Calibrator.Level, 94), Frequency: cmp.Or(s.Calibrator.Frequency, 1000),
			Tolerance: cmp.Or(s.Calibrator.Tolerance, level.Class2),
		}
	}
	if s.like != nil {
		c.Like = s.like.bench
	}
	bench, err := review.New(c)
	if err != nil && !strings.HasPrefix(err.Error(), "review:") { // a calibration that does not reach the calibrator
		return nil, fmt.Errorf("[rig] microphone %s: %w", s.Rig.Microphone, err)
	}
	return bench, err
}

// stated returns the components of uncertainty.
func (s *Session) stated() ([]review.Stated, error) {
	var out []review.Stated
	for _, c := range s.Uncertainty {
		one := review.Stated{Name: c.Name, CommonTo: response.Scope(max(0, slices.Index(scopes, c.CommonTo))),
			Uncertainty: c.DB, Octaves: c.Octaves}
		if c.OneValue {
			one.Octaves = math.Inf(1)
		}
		if c.Count > 1 { // the standard uncertainty of their mean
			one.Uncertainty, one.DegreesOfFreedom = c.DB/math.Sqrt(float64(c.Count)), float64(c.Count-1)
		}
		if c.File != "" {
			var err error
			if one.ByFrequency, err = response.ReadCurveFile(s.path(c.File)); err != nil {
				return nil, fmt.Errorf("uncertainty %s: %w", c.Name, err)
			}
		}
		out = append(out, one)
	}
	return out, nil
}

// read reads a recording and gives it the name used in the session, in errors too, so that a
// published report does not reveal folders. An empty name gives an empty channel.
func (s *Session) read(file string, channel int) review.Channel {
	if file == "" {
		return review.Channel{}
	}
	rec, err := capture.Read(s.path(file))
	if rec == nil {
		rec = &capture.Recording{}
	}
	rec.Name = file
	return review.Channel{Recording: rec, Err: s.fileError(file, err), Number: channel}
}

// readPlays reads only the plays of the stimulus in a file. It returns the channel of the first
// play, or one whose Err says why there is none.
func (s *Session) readPlays(file string, st *sweep.Stimulus) ([]placement.Play, review.Channel) {
	path := s.path(file)
	plays, err := placement.ReadPlays(path, st)
	if err != nil {
		return nil, review.Channel{Recording: &capture.Recording{Name: file}, Err: s.fileError(file, err)}
	}
	for _, p := range plays {
		p.Recording.Name = file + strings.TrimPrefix(p.Recording.Name, filepath.Base(path))
		for k := range p.Findings {
			p.Findings[k].Recording = file
		}
	}
	return plays, review.Channel{Recording: plays[0].Recording, Placement: plays[0].Placement}
}

// fileError rewrites an error about a file with the name that the session uses.
func (s *Session) fileError(file string, err error) error {
	if err == nil {
		return nil
	}
	return &fileError{strings.ReplaceAll(strings.TrimPrefix(err.Error(), "capture: "), s.path(file), file), err}
}

// measure reads the recordings and measures the pair.
func (s *Session) measure(bench *review.Bench, progress func(string)) (*review.Results, error) {
	stimulus, err := s.Played()
	if err != nil {
		return nil, err
	}
	r := &fileCache{session: s, stimulus: stimulus, files: map[string]*sourceFile{}, progress: progress}
	if s.alone() {
		return s.finish(bench, r, nil)
	}
	direct, err := r.direct()
	if err != nil {
		return nil, err
	}
	seatings, err := r.seatings()
	if err != nil {
		return nil, err
	}
	progress("direct recording " + s.Direct.File)
	if _, err := bench.Direct(direct); err != nil {
		return nil, cmp.Or(r.otherStimulus(bench), err)
	}
	if f := r.files[s.Direct.File]; f == nil || f.plays == nil {
		delete(r.files, s.Direct.File) // no longer needed
		if s.DirectAfter.File == "" {  // its drift belongs to this session
			s.direct = &measuredDirect{bench, direct}
		}
		if r.later { // a recording of minutes
			direct.Left.Recording.Channels = nil
		}
	}
	if s.DirectAfter.File != "" {
		after, err := r.stereo(s.DirectAfter)
		if err != nil {
			return nil, err
		}
		progress("direct recording " + s.DirectAfter.File)
		if _, err := bench.DirectAfter(after); err != nil {
			return nil, err
		}
	}
	return s.finish(bench, r, seatings)
}

// finish measures the pair on a bench that is ready.
func (s *Session) finish(bench *review.Bench, r *fileCache, seatings []review.Seating) (*review.Results, error) {
	progress := r.progress
	parts := s.divide(seatings, r.labels)
	pair := bench.Pair(review.About{Name: s.Headphones.Name, Kind: s.Headphones.Kind, Title: s.Title,
		Condition: parts[0].condition, Specimen: parts[0].specimen,
		Date: s.Date, Opinion: s.Notes.sections(), Price: s.Notes.Price, Availability: s.Notes.Availability})
	if len(seatings) > 0 {
		progress("checking whether the recordings are fit to use")
		// Unfit recordings are left out; if none is left, Measure returns an error.
		if err := r.seat(pair, parts[0]); err != nil && !errors.Is(err, fitness.ErrUnfit) {
			return nil, err
		}
	}
	s.beside(pair, progress)
	if err := s.material(pair, progress); err != nil {
		return nil, err
	}
	if len(seatings) > 0 {
		progress(fmt.Sprintf("measuring %s", plural(len(parts[0].seatings), "seating")))
	}
	results, err := pair.Measure()
	if err != nil {
		return nil, err
	}
	if err := s.others(bench, r, parts, results, progress); err != nil {
		return nil, err
	}
	findings, notes := r.told()
	findings, notes = append(slices.Clone(s.playedDoubts), findings...), append(slices.Clone(s.playedNotes), notes...)
	results.Findings, results.Notes = append(findings, results.Findings...), append(notes, results.Notes...)
	return results, nil
}

// beside reads and measures everything except sweeps and material. The results name what fails.
func (s *Session) beside(pair *review.Pair, progress func(string)) {
	pair.Drive(s.drive())
	for _, part := range []struct {
		file    string
		measure func(*review.Pair) error
	}{{s.ImpedanceFile.File, s.impedance}, {s.Isolation.Open, s.isolation}, {s.Spill.Beside, s.leakage}} {
		if part.file == "" {
			continue
		}
		progress("reading " + part.file)
		_ = part.measure(pair)
	}
}

// drive returns how the pair was driven. Values that are left out are not known.
func (s *Session) drive() review.Drive {
	relative := func(v, percent float64, unit string) response.Figure {
		return response.Figure{Value: v, Uncertainty: v * percent / 100, Unit: unit}
	}
	d, a := s.Drive, s.Amplifier
	return review.Drive{
		Voltage: relative(d.Volts, cmp.Or(d.Uncertainty, 1), level.Volt), Peak: d.Peak,
		Impedance:     relative(d.Impedance, cmp.Or(d.ImpedanceUncertainty, 5), level.Ohm),
		AmplifierName: a.Name,
		Amplifier: level.Amplifier{
			MaxVoltage: relative(a.MaxVolts, 0, level.Volt), MaxCurrent: relative(a.MaxMilliamps/1000, 0, level.Ampere),
			OutputImpedance: relative(a.OutputOhms, 0, level.Ohm),
		},
	}
}

func (s *Session) impedance(pair *review.Pair) error {
	c := s.ImpedanceFile
	resistor := func(ohms float64) response.Figure { // a rectangular distribution (JCGM 100:2008, 4.3.7)
		return response.Figure{Value: ohms, Uncertainty: ohms * cmp.Or(c.Tolerance, 1) / 100 / math.Sqrt(3),
			Unit: level.Ohm}
	}
	both := func(file string) (source, load review.Channel) {
		source = s.read(file, c.Source)
		load = source
		load.Number = c.Load
		return source, load
	}
	r := review.ImpedanceRecordings{Series: resistor(c.Series)}
	r.Source, r.Load = both(c.File)
	if c.Reference != "" {
		r.Known = resistor(c.Known)
		r.ReferenceSource, r.ReferenceLoad = both(c.Reference)
	}
	return pair.Impedance(r)
}

func (s *Session) isolation(pair *review.Pair) error {
	c := s.Isolation
	return pair.Isolation(s.read(c.Open, 1), s.read(c.Covered, 1), s.read(c.Background, 1))
}

func (s *Session) leakage(pair *review.Pair) error {
	return pair.SoundLeakage(s.read(s.Spill.Beside, 1), s.read(s.Spill.Background, 1),
		response.Figure{Value: cmp.Or(s.Spill.Metres, 0.5), Uncertainty: 0.02, Unit: level.Metre})
}

// excerpt returns which part of a piece is cut out to be compared by ear.
func (p Programme) excerpt() *excerpt.Config {
	c := &excerpt.Config{Length: duration.Of(p.Excerpt)}
	if p.ExcerptFrom != 0 {
		at := duration.Of(p.ExcerptFrom)
		c.At = &at
	}
	return c
}

func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
