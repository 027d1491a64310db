package session

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// tape is a recording of the stimulus as it lies in its file: one play, or several.
type tape struct {
	*capture.Recording
	plays []capture.Play // nil where it was not looked for them: the recording is too short for two
}

// reel reads the recordings of a session, each file once.
type reel struct {
	session  *Session
	stimulus *sweep.Stimulus
	tapes    map[string]*tape
	progress func(string)
}

// tape reads a file, and finds its plays where it may hold several, or all are asked for.
func (r *reel) tape(file string) (*tape, error) {
	if t := r.tapes[file]; t != nil {
		return t, nil
	}
	r.progress("reading " + file)
	rec, err := capture.Read(r.session.path(file))
	if err != nil {
		return nil, err
	}
	t := &tape{Recording: rec}
	r.tapes[file] = t
	// Two plays last at least as long as this, less silence at the ends.
	still := r.stimulus.Find(sweep.Silence)[0]
	several := float64(2*(r.stimulus.Len()-2*still.Len)) / float64(r.stimulus.Sweep().SampleRate())
	if asked := slices.Contains(r.session.filesWithPlays(), file); asked || rec.Duration() > several {
		r.progress("looking for plays of the stimulus in " + file)
		if t.plays, err = rec.Plays(r.stimulus); err != nil && asked {
			return nil, err
		} // else what it holds instead is said where recordings are looked at
	}
	return t, nil
}

// filesWithPlays are the files of which the session says that they hold several plays.
func (s *Session) filesWithPlays() []string {
	var files []string
	if s.Direct.Play > 0 {
		files = append(files, s.Direct.File)
	}
	for _, seating := range s.Seatings {
		for _, f := range []File{seating.Left, seating.Right} {
			if f.File != "" && (f.Play > 0 || seating.EveryPlay) {
				files = append(files, f.File)
			}
		}
	}
	return files
}

// recording is the play of a file that was asked for, 0 for the only one, and what it goes by.
func (t *tape) recording(file string, number int) (*capture.Recording, string, error) {
	if number > len(t.plays) {
		return nil, "", fmt.Errorf("session: %w: %s: play = %d is asked for, and it holds %s; name one of these", ErrSession, file, number, t.list())
	}
	if number > 0 {
		rec := t.plays[number-1].Recording
		return rec, filepath.Join(filepath.Dir(file), rec.Name), nil
	}
	switch whole := t.whole(nil); {
	case len(whole) > 1:
		return nil, "", fmt.Errorf("session: %w: %s holds %s; say which with play = 1 and so on, or every_play = true in [[seating]] if each is a seating",
			ErrSession, file, t.list())
	case len(t.plays) > 1 && len(whole) == 1:
		return t.recording(file, whole[0])
	}
	return t.Recording, file, nil
}

// whole are the numbers of the plays that were not cut short, less those given.
func (t *tape) whole(less []int) []int {
	var numbers []int
	for _, p := range t.plays {
		if p.Whole() && !slices.Contains(less, p.Number) {
			numbers = append(numbers, p.Number)
		}
	}
	return numbers
}

// list says where the plays are: "3 plays of the stimulus, from 0.6, 6.8 and (cut short) 11.5 s on".
func (t *tape) list() string {
	var places []string
	for _, p := range t.plays {
		place := fmt.Sprintf("%.1f", p.Start)
		if !p.Whole() {
			place = "(cut short) " + place
		}
		places = append(places, place)
	}
	if len(places) == 1 {
		return "1 play of the stimulus, from " + places[0] + " s on"
	}
	last := len(places) - 1
	return fmt.Sprintf("%d plays of the stimulus, from %s and %s s on", len(places), strings.Join(places[:last], ", "), places[last])
}

// unrolled are the seatings one by one: of one with every_play, a seating for each play that is whole and not named elsewhere.
func (r *reel) unrolled() ([]Seating, error) {
	var all []Seating
	for i, seating := range r.session.Seatings {
		if !seating.EveryPlay {
			all = append(all, seating)
			continue
		}
		var plays [2][]int
		var said []string
		for k, f := range []File{seating.Left, seating.Right} {
			if f.File == "" {
				continue
			}
			t, err := r.tape(f.File)
			if err != nil {
				return nil, err
			}
			plays[k] = t.whole(r.session.playsNamed(f.File))
			if len(plays[k]) == 0 {
				return nil, fmt.Errorf("session: %w: seating %d: %s holds %s, none of them whole and not named elsewhere; play the stimulus to its end and record that again",
					ErrSession, i+1, f.File, t.list())
			}
			said = append(said, fmt.Sprintf("%s has %d for it (%s)", f.File, len(plays[k]), t.list()))
		}
		if len(said) == 2 && len(plays[0]) != len(plays[1]) {
			return nil, fmt.Errorf("session: %w: seating %d: which play of the left belongs to which of the right is not known: %s; list the seatings one by one, with play = 1 and so on",
				ErrSession, i+1, strings.Join(said, ", "))
		}
		for k := range max(len(plays[0]), len(plays[1])) {
			one := Seating{Name: seating.Name, Left: seating.Left, Right: seating.Right}
			if one.Name != "" {
				one.Name = fmt.Sprintf("%s %d", seating.Name, k+1)
			}
			if one.Left.File != "" {
				one.Left.Play = plays[0][k]
			}
			if one.Right.File != "" {
				one.Right.Play = plays[1][k]
			}
			all = append(all, one)
		}
	}
	return all, nil
}

// playsNamed are the plays of a file that the session names by number.
func (s *Session) playsNamed(file string) []int {
	var named []int
	if s.Direct.File == file && s.Direct.Play > 0 {
		named = append(named, s.Direct.Play)
	}
	for _, seating := range s.Seatings {
		for _, f := range []File{seating.Left, seating.Right} {
			if f.File == file && f.Play > 0 {
				named = append(named, f.Play)
			}
		}
	}
	return named
}

// checkPlays says where play and every_play contradict each other.
func (s *Session) checkPlays() error {
	if s.Direct.Play < 0 {
		return fmt.Errorf("[direct] has play = %d; plays are counted from 1", s.Direct.Play)
	}
	for i, seating := range s.Seatings {
		for _, f := range []File{seating.Left, seating.Right} {
			switch {
			case f.Play < 0:
				return fmt.Errorf("seating %d has play = %d; plays are counted from 1", i+1, f.Play)
			case f.Play > 0 && seating.EveryPlay:
				return fmt.Errorf("seating %d has every_play and play = %d; keep one of them", i+1, f.Play)
			}
		}
	}
	for i, p := range s.Programmes {
		if p.Direct.Play != 0 || p.Through.Play != 0 {
			return fmt.Errorf("programme %d (%q) has play = …, which is for recordings of the stimulus; leave it out", i+1, p.Name)
		}
	}
	return nil
}
