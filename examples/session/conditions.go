package session

import (
	"cmp"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/target/change"
	"example.com/earnest/target/review"
)

// Compare asks whether something changed between conditions.
type Compare struct {
	// Conditions are two or more of the conditions that seatings name; empty means all. A session
	// whose seatings name no condition uses its date as condition.
	Conditions []string `toml:"conditions"`
	// Against is the condition with which all others are compared; empty means every pair of
	// conditions.
	Against string `toml:"against"`
	// Order of the seatings: "random", as drawn by lot, or "in turn", A B A B, with the drift
	// removed.
	Order string `toml:"order"`
	// Margin is the change in dB that would matter; 0 means 0.5.
	Margin float64 `toml:"margin"`
	Low    float64 `toml:"low"`  // Hz; 0 means 40
	High   float64 `toml:"high"` // Hz; 0 means 10 000
	// Day is the standard uncertainty in dB of the difference between days, if each condition has
	// its own day.
	Day float64 `toml:"day"`
	// Sessions are other sessions on the same rig to include, each on its own day.
	Sessions []string `toml:"sessions"`
}

// config returns the question in the form of package change.
func (c Compare) config() change.Config {
	o := change.Config{Against: c.Against, Random: c.Order == "random", InTurn: c.Order == "in turn",
		Margin: c.Margin, Day: c.Day}
	if c.Low != 0 || c.High != 0 {
		o.Band = response.Band{Low: cmp.Or(c.Low, 40), High: cmp.Or(c.High, 10000)}
	}
	return o
}

// specimenSeating is a seating to compare, with its specimen of the model.
type specimenSeating struct {
	change.Seating
	specimen string
}

// label returns the condition and the specimen of the seating.
func (s specimenSeating) label() string {
	return cmp.Or(strings.Trim(s.Condition+", "+s.specimen, ", "), "without a condition")
}

// part holds the seatings in one condition of one specimen.
type part struct {
	condition, specimen string
	seatings            []review.Seating
	labels              []Seating        // theirs in the session file
	places              map[string]place // by the name of the seating
}

// place is the position of a seating in the session file.
type place struct {
	number    int
	placement string
}

// checkConditions returns an error if conditions, specimens or the questions about them are wrong.
func (s *Session) checkConditions() error {
	used := map[string]string{}
	var conditions []string
	for i, seating := range s.Seatings {
		if !slices.Contains(conditions, seating.Condition) {
			conditions = append(conditions, seating.Condition)
		}
		for side, f := range map[string]File{"left": seating.Left, "right": seating.Right} {
			what := fmt.Sprintf("condition %q, specimen %q", seating.Condition,
				cmp.Or(seating.Specimen, s.Headphones.Specimen))
			key := fmt.Sprint(f.File, f.Channel, f.Play, side)
			if have, there := used[key]; there && have != what && f.File != "" && !seating.EveryPlay {
				return fmt.Errorf("seating %d: %s is named for %s and for %s, but a recording belongs to "+
					"only one; name the right file", i+1, f.File, have, what)
			}
			used[key] = what
		}
	}
	var all []specimenSeating
	for _, seating := range s.Seatings {
		all = append(all, specimenSeating{change.Seating{Condition: seating.Condition}, s.specimen(seating)})
	}
	if err := alike(all); err != nil {
		return err
	}
	if len(s.Compares) > 0 && s.alone() {
		return errors.New("there is [[compare]] but no [[seating]]; comparing conditions needs recordings " +
			"of the stimulus")
	}
	if len(conditions) > 1 && slices.Contains(conditions, "") {
		return fmt.Errorf("some seatings have a condition and others have none; give each seating one, such "+
			"as condition = %q",
			slices.Max(conditions))
	}
	for i, c := range s.Compares {
		what := fmt.Sprintf("[[compare]], number %d", i+1)
		switch {
		case len(c.Conditions) == 1:
			return fmt.Errorf("%s names one condition, %q; name another to compare it with, or leave conditions out",
				what, c.Conditions[0])
		case !slices.Contains([]string{"", "random", "in turn"}, c.Order):
			return fmt.Errorf(`%s: order = %q; it is "random", "in turn" or left out`, what, shortened(c.Order))
		case c.Margin < 0 || c.Low < 0 || c.High < 0 || c.Day < 0:
			return fmt.Errorf("%s has a number below zero; margin and day are dB, low and high are Hz", what)
		case len(c.Sessions) > 0:
			continue // those sessions may have the others
		case len(conditions) < 2:
			return fmt.Errorf("%s needs two conditions, but all seatings are in one, %q; give the others "+
				"theirs, such as condition = \"after 20 hours\", or name sessions = "+
				"[\"…\"]", what, strings.Join(conditions, ""))
		}
		for _, name := range append(slices.Clone(c.Conditions), c.Against) {
			if name != "" && !slices.Contains(conditions, name) {
				return fmt.Errorf("%s: no seating has condition = %q; there are %q", what, shortened(name), conditions)
			}
		}
	}
	return nil
}

// divide groups the seatings by condition and specimen, beginning with the group of the first
// seating.
func (s *Session) divide(seatings []review.Seating, labels []Seating) []*part {
	parts := []*part{{places: map[string]place{}}}
	several := slices.ContainsFunc(labels, func(l Seating) bool {
		return l.Condition != labels[0].Condition || s.specimen(l) != s.specimen(labels[0])
	})
	for i, seating := range seatings {
		l := labels[i]
		if i == 0 {
			parts[0].condition, parts[0].specimen = l.Condition, s.specimen(l)
		}
		seating.Name = cmp.Or(seating.Name, fmt.Sprintf("seating %d", i+1))
		if several {
			seating.Name = fmt.Sprintf("%s (%s)", seating.Name, strings.Trim(l.Condition+", "+s.specimen(l), ", "))
		}
		k := slices.IndexFunc(parts, func(p *part) bool {
			return p.condition == l.Condition && p.specimen == s.specimen(l)
		})
		if k < 0 {
			k = len(parts)
			parts = append(parts, &part{condition: l.Condition, specimen: s.specimen(l), places: map[string]place{}})
		}
		if _, taken := parts[k].places[seating.Name]; taken && several {
			seating.Name = fmt.Sprintf("%s, number %d", seating.Name, i+1)
		}
		parts[k].seatings, parts[k].labels = append(parts[k].seatings, seating), append(parts[k].labels, l)
		parts[k].places[seating.Name] = place{i, l.Placement}
	}
	return parts
}

func (s *Session) specimen(l Seating) string { return cmp.Or(l.Specimen, s.Headphones.Specimen) }

// others measures the seatings in other conditions than the first and of other specimens, and
// compares them. A note names what cannot be measured.
func (s *Session) others(bench *review.Bench, c *fileCache, parts []*part, results *review.Results,
	progress func(string)) error {
	if len(parts) == 1 && len(s.Compares) == 0 && !s.toCompare {
		return nil
	}
	type numbered struct {
		specimenSeating
		number int
	}
	var all []numbered
	for i, p := range parts {
		r := results
		if i > 0 {
			what := strings.Trim(p.condition+", "+p.specimen, ", ")
			progress("measuring " + what)
			pair := bench.Pair(review.About{
				Name: s.Headphones.Name + strings.TrimSuffix(", "+p.specimen, ", "+parts[0].specimen)})
			err := c.seat(pair, p)
			if err == nil || errors.Is(err, fitness.ErrUnfit) {
				r, err = pair.Measure()
			}
			if err != nil {
				results.Notes = append(results.Notes,
					fmt.Sprintf("%s: could not be measured and is not compared: %v.", what, err))
				continue
			}
			for _, f := range r.Findings {
				said := func(have response.Finding) bool { return have.String() == f.String() }
				if !slices.ContainsFunc(results.Findings, said) {
					results.Findings = append(results.Findings, f)
				}
			}
		}
		seatings, err := r.InCondition(p.condition)
		if err != nil {
			results.Notes = append(results.Notes, strings.TrimPrefix(err.Error(), "review: ")+".")
			continue
		}
		for _, one := range seatings {
			at := p.places[one.Placement]
			one.Placement, one.Day = at.placement, s.Date
			all = append(all, numbered{specimenSeating{one, p.specimen}, at.number})
		}
	}
	slices.SortStableFunc(all, func(a, b numbered) int { return a.number - b.number })
	s.measured = nil
	for _, one := range all {
		s.measured = append(s.measured, one.specimenSeating)
	}
	if len(parts) > 1 {
		results.Notes = append(results.Notes, fmt.Sprintf("The review is of %s; the other measurements (%s) "+
			"are compared with it and are not part of any other figure.",
			strings.Trim(parts[0].condition+", "+parts[0].specimen, ", "), plural(len(all)-len(parts[0].seatings),
				"seating")))
	}
	return s.compare(results, progress)
}

// compare answers the session's questions.
func (s *Session) compare(results *review.Results, progress func(string)) error {
	questions := s.Compares
	conditions := map[string]bool{}
	for _, one := range s.measured {
		conditions[one.Condition] = true
	}
	if len(questions) == 0 && len(conditions) > 1 {
		questions = []Compare{{}}
	}
	everything := s.measured
	for i, q := range questions {
		all := withDay(s.measured, "this session", len(q.Sessions) > 0)
		for _, path := range q.Sessions {
			progress("measuring " + path)
			other, err := s.otherSeatings(path)
			if err != nil {
				return fmt.Errorf("[[compare]], number %d: %s: %w", i+1, path, err)
			}
			all = append(all, withDay(other, path, true)...)
		}
		if len(q.Sessions) > 0 {
			everything = all
		}
		if err := cmp.Or(alike(all), different(all)); err != nil {
			return fmt.Errorf("[[compare]], number %d: %w", i+1, err)
		}
		var seatings []change.Seating
		for _, one := range all {
			if len(q.Conditions) == 0 || slices.Contains(q.Conditions, one.Condition) {
				seatings = append(seatings, one.Seating)
			}
		}
		changes, err := change.Compare(seatings, q.config())
		if err != nil {
			results.Notes = append(results.Notes,
				fmt.Sprintf("[[compare]], number %d: %s.", i+1, strings.TrimPrefix(err.Error(), "change: ")))
			continue
		}
		results.Changes = append(results.Changes, changes...)
	}
	across(everything, results)
	return nil
}

// otherSeatings measures another session, named relative to this one.
func (s *Session) otherSeatings(path string) ([]specimenSeating, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return nil, err
	}
	same := func(a, b string) bool {
		a, errA := filepath.Abs(a)
		b, errB := filepath.Abs(b)
		return errA == nil && errB == nil && a == b
	}
	for _, one := range other.Seatings {
		for _, own := range s.Seatings {
			for side, f := range map[string][2]File{"left": {own.Left, one.Left}, "right": {own.Right, one.Right}} {
				if f[0].File != "" && f[0].Channel == f[1].Channel && f[0].Play == f[1].Play &&
					same(s.path(f[0].File), other.path(f[1].File)) {
					return nil, fmt.Errorf("its %s recording %s is also in this session; a recording counts "+
						"only once",
						side, f[1].File)
				}
			}
		}
	}
	other.Like(s)
	return other.withFigures().seatingsToCompare()
}

// withFigures is the session with all that conditions are compared by: not the response alone, but
// material, impedance and isolation too.
func (s *Session) withFigures() *Session {
	all := *s
	all.Calibrator, all.Spill = Calibrator{}, Spill{}
	return &all
}

// seatingsToCompare measures the seatings in all conditions.
func (s *Session) seatingsToCompare() ([]specimenSeating, error) {
	alone := *s
	alone.Compares, alone.toCompare = nil, true
	bench, err := alone.responseBench()
	if err != nil {
		return nil, err
	}
	if _, err := alone.measure(bench, func(string) {}); err != nil {
		return nil, err
	}
	s.direct = alone.direct
	if len(alone.measured) == 0 {
		return nil, errors.New("it has no seating to compare")
	}
	return alone.measured, nil
}

// CompareSessions measures sessions of one pair on one rig and compares all their conditions: those
// that seatings name, or else the dates of the sessions. If there are several specimens, it also
// returns their differences.
func CompareSessions(paths []string, q Compare, progress func(string)) ([]change.Change, *change.Specimens, error) {
	first, err := Read(paths[0])
	if err != nil {
		return nil, nil, err
	}
	q.Sessions = nil
	for _, path := range paths[1:] {
		if path, err = filepath.Abs(path); err != nil {
			return nil, nil, err
		}
		q.Sessions = append(q.Sessions, path)
	}
	first.Compares = []Compare{q}
	progress("measuring " + paths[0])
	results := &review.Results{}
	if first.measured, err = first.withFigures().seatingsToCompare(); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", paths[0], err)
	}
	const number = "[[compare]], number 1: " // the caller asked for this comparison only
	if err := first.compare(results, progress); err != nil {
		return nil, nil, &fileError{strings.TrimPrefix(err.Error(), number), err}
	}
	if len(results.Changes) == 0 && results.Specimens == nil {
		return nil, nil, errors.New(strings.ReplaceAll(strings.Join(results.Notes, "\n"), number, ""))
	}
	return results.Changes, results.Specimens, nil
}

// Plan returns the number of seatings needed to detect a change, from the scatter of the seatings
// of earlier sessions.
func Plan(paths []string, q Compare, progress func(string)) (change.Plan, error) {
	var all []change.Seating
	for _, path := range paths {
		s, err := Read(path)
		if err != nil {
			return change.Plan{}, err
		}
		progress("measuring " + path)
		seatings, err := s.responseAlone().seatingsToCompare()
		if err != nil {
			return change.Plan{}, fmt.Errorf("%s: %w", path, err)
		}
		for _, one := range seatings { // errors that the seatings share are not scatter
			one.Seating.Condition, one.Day = strings.Join([]string{path, one.Condition, one.specimen}, "\x00"), ""
			one.Placement = ""
			all = append(all, one.Seating)
		}
	}
	return change.NewPlan(all, q.config())
}

// withDay fills in the day and condition of the seatings of one session. A missing day becomes the
// session if there are several; a missing condition becomes the day.
func withDay(seatings []specimenSeating, session string, several bool) []specimenSeating {
	out := slices.Clone(seatings)
	for i := range out {
		if several {
			out[i].Day = cmp.Or(out[i].Day, session)
			out[i].Condition = cmp.Or(out[i].Condition, out[i].Day)
		}
	}
	return out
}

// alike returns an error if two conditions or specimens are spelt almost the same, so that one is
// probably a slip.
func alike(all []specimenSeating) error {
	plain := strings.NewReplacer(" ", "", ".", "", "-", "", "_", "", "#", "")
	names := map[string]string{}
	for _, one := range all {
		for what, name := range map[string]string{"condition": one.Condition, "specimen": one.specimen} {
			key := what + strings.ToLower(plain.Replace(name))
			if have, there := names[key]; there && have != name {
				return fmt.Errorf("%s = %q and %q look like the same; use one spelling everywhere", what, have, name)
			}
			names[key] = name
		}
	}
	return nil
}

// different returns an error if two seatings are one recording under two names: no two measurements
// are equal to the last digit.
func different(all []specimenSeating) error {
	for i, one := range all {
		for k, other := range all[:i] {
			if slices.Equal(one.Response.Level, other.Response.Level) {
				return fmt.Errorf("seatings %d and %d (%s and %s) are the same recording under two names; a recording counts only once",
					k+1, i+1, other.label(), one.label())
			}
		}
	}
	return nil
}

// across compares the specimens, if there are several, in the condition of the first seating.
func across(all []specimenSeating, results *review.Results) {
	var seatings []change.Seating
	specimens := map[string]bool{}
	for _, one := range all {
		if one.specimen != "" && one.Condition == all[0].Condition {
			one.Seating.Condition, one.Placement, one.Day = one.specimen, "", ""
			specimens[one.specimen] = true
			seatings = append(seatings, one.Seating)
		}
	}
	if len(specimens) < 2 {
		return
	}
	found, err := change.AcrossSpecimens(seatings, response.Band{})
	if err != nil {
		results.Notes = append(results.Notes, strings.TrimPrefix(err.Error(), "change: ")+".")
		return
	}
	results.Specimens = &found
}
