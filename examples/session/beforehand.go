package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/target"
)

// named is a file that the session names.
type named struct {
	place string // in the session file
	file  string
}

// foresee looks at all that the session names before anything is measured: what
// would only be missed after minutes, a name that leads nowhere, a line of a
// target that is none, a pair from another rig, is said at once.
func (s *Session) foresee() error {
	if err := s.foreseeResponse(); err != nil {
		return err
	}
	if err := s.present(s.others()); err != nil {
		return err
	}
	for _, p := range s.Programmes {
		for _, f := range []File{p.Direct, p.Through} {
			if _, err := capture.Read(s.path(f.File)); err != nil {
				return fmt.Errorf("programme %q: %w", p.Name, err)
			}
		}
	}
	return s.foreseeJudgement()
}

// foreseeResponse is foresee for what MeasureResponse measures.
func (s *Session) foreseeResponse() error {
	if err := s.present(append(s.recordings(), stated([]named{{"[rig] microphone", s.Rig.Microphone}})...)); err != nil {
		return err
	}
	_, err := s.calibration()
	return err
}

// foreseeJudgement judges pairs that are flat, of which only the rig and the
// band are those of the session, as the measured ones will be.
func (s *Session) foreseeJudgement() error {
	t, err := s.target(s.standIn)
	if err != nil {
		return err
	}
	own, err := s.flat()
	if err != nil {
		return err
	}
	options := s.options()
	if _, err := target.CompareSeatings(own, t, options); err != nil {
		return s.targetError(err)
	}
	if len(s.Rivals) == 0 {
		return nil
	}
	pairs, err := s.pairs(own, s.standIn)
	if err != nil {
		return err
	}
	if _, err = target.Rank(pairs, t, options); err != nil {
		return fmt.Errorf("[[rival]]: %w", err)
	}
	return nil
}

// standIn stands for another session's pair until that is measured.
func (s *Session) standIn(path string) (target.Session, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return target.Session{}, err
	}
	other = other.responseAlone()
	if err := other.foreseeResponse(); err != nil {
		return target.Session{}, err
	}
	for _, f := range other.recordings() {
		if _, err := capture.Read(other.path(f.file)); err != nil {
			return target.Session{}, fmt.Errorf("%s: %w", f.place, err)
		}
	}
	seatings, err := other.flat()
	return target.Session{Name: other.Headphones.Name, Seatings: seatings}, err
}

// flat is a response of 0 dB where the session's can be known, for each seating.
func (s *Session) flat() ([]response.Curve, error) {
	st, err := s.Stimulus.Build()
	if err != nil {
		return nil, err
	}
	frequency := grid(st.Sweep())
	known := response.Band{Low: st.Sweep().Start(), High: st.Sweep().Stop()}
	if s.Rig.Ceiling > 0 {
		known.High = min(known.High, s.Rig.Ceiling)
	}
	switch c, err := s.calibration(); {
	case err != nil:
		return nil, err
	case c != nil:
		known = known.Intersect(c.Response.Valid)
	}
	n := len(s.Seatings)
	if s.Seatings[0].EveryPlay {
		n = max(n, 2)
	}
	curves := make([]response.Curve, n)
	for i := range curves {
		curves[i] = response.Curve{Frequency: frequency, Level: make([]float64, len(frequency)), Rig: s.Rig.Name, Valid: known}
	}
	return curves, nil
}

// recordings are those of the stimulus.
func (s *Session) recordings() []named {
	all := []named{{"[direct]", s.Direct.File}}
	for i, seating := range s.Seatings {
		place := "[[seating]] " + seating.name(i)
		all = append(all, named{place + ", left", seating.Left.File}, named{place + ", right", seating.Right.File})
	}
	return stated(all)
}

// others are the files beside the recordings of the stimulus. Sessions are not
// among them: those are read.
func (s *Session) others() []named {
	all := []named{
		{"[target]", s.Target.File}, {"[calibrator]", s.Calibrator.File},
		{"[impedance]", s.ImpedanceFile.File}, {"[impedance] reference", s.ImpedanceFile.Reference},
		{"[isolation] open", s.Isolation.Open}, {"[isolation] covered", s.Isolation.Covered}, {"[isolation] background", s.Isolation.Background},
		{"[spill] beside", s.Spill.Beside}, {"[spill] background", s.Spill.Background},
	}
	for _, p := range s.Programmes {
		place := fmt.Sprintf("[[programme]] %q", p.Name)
		all = append(all, named{place + ", direct", p.Direct.File}, named{place + ", through", p.Through.File})
	}
	return stated(all)
}

// stated leaves out what names no file.
func stated(all []named) []named {
	var out []named
	for _, f := range all {
		if f.file != "" {
			out = append(out, f)
		}
	}
	return out
}

// present tells which files are missing, all of them at once and each where it is
// named first.
func (s *Session) present(files []named) error {
	var errs []error
	seen := map[string]bool{}
	for _, f := range files {
		path := s.path(f.file)
		if seen[path] {
			continue
		}
		seen[path] = true
		about, err := os.Stat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			errs = append(errs, fmt.Errorf("session: %s: %s: %w; check the name, which counts from the folder of the session file", f.place, path, fs.ErrNotExist))
		case err != nil:
			errs = append(errs, fmt.Errorf("session: %s: %w", f.place, err))
		case about.IsDir():
			errs = append(errs, fmt.Errorf("session: %s: %w: %s is a folder; name a file in it", f.place, ErrSession, path))
		}
	}
	return errors.Join(errs...)
}
