package session

import (
	"cmp"
	"fmt"
	"slices"

	"example.com/earnest/target/review"
)

// alone reports whether the session has only music and speech.
func (s *Session) alone() bool {
	return s.Direct.File == "" && len(s.Seatings) == 0 && len(s.Programmes) > 0
}

// material reads and compares music and speech.
func (s *Session) material(pair *review.Pair, progress func(string)) error {
	var last []review.Channel // read for the last piece; its sides share recordings
	read := func(f File) review.Channel {
		i := slices.IndexFunc(last, func(c review.Channel) bool { return c.Recording.Name == f.name() })
		if i < 0 {
			progress("reading " + f.name())
			last, i = append(last, f.part(s.read(f.File, 0))), len(last)
		}
		c := last[i]
		c.Number = f.Channel
		return c
	}
	heard := map[string]bool{}
	for _, p := range s.Programmes {
		last = nil
		for _, one := range p.bySide() {
			m := review.Material{Name: one.Name, Kind: one.Kind, Side: one.Side, Seating: one.Seating,
				Direct:  read(one.Direct),
				Through: read(one.Through)}
			if rate := max(m.Direct.Recording.SampleRate, m.Through.Recording.SampleRate); m.Direct.Err == nil &&
				m.Through.Err == nil {
				for _, c := range []*review.Channel{&m.Direct, &m.Through} {
					i := slices.IndexFunc(last, func(l review.Channel) bool { return l.Recording == c.Recording })
					number := c.Number
					last[i] = s.atRate(*c, rate, c == &m.Through)
					*c = last[i]
					c.Number = number
				}
			}
			if of := fmt.Sprintf("%q %s", one.Name, one.Side); !s.alone() || !heard[of] {
				m.Excerpt, heard[of] = one.excerpt(), true // only of the first seating
			}
			if err := pair.Play(m); err != nil {
				return err
			}
		}
	}
	return nil
}

// bySide splits a piece into one for each side that it names.
func (p Programme) bySide() (all []Programme) {
	for side, through := range map[string]File{"left": p.Left, "right": p.Right} {
		if through.File != "" {
			one := p
			one.Side, one.Through = side, through
			all = append(all, one)
		}
	}
	if len(all) == 0 {
		return []Programme{p}
	}
	slices.SortFunc(all, func(a, b Programme) int { return cmp.Compare(a.Side, b.Side) })
	return all
}

// name returns the name of the file with the part that is used.
func (f File) name() string {
	if f.From == 0 && f.To == 0 {
		return f.File
	}
	return fmt.Sprintf("%s from %g s", f.File, f.From)
}

// part returns the part of a recording that the file names.
func (f File) part(c review.Channel) review.Channel {
	if f.From == 0 && f.To == 0 {
		return c
	}
	whole := *c.Recording
	out := whole
	out.Name, out.Channels = f.name(), nil
	c.Recording = &out
	if c.Err != nil {
		return c
	}
	from, to := int(f.From*float64(whole.SampleRate)), whole.Len()
	if f.To != 0 {
		to = min(to, int(f.To*float64(whole.SampleRate)))
	}
	if from >= to {
		c.Err = fmt.Errorf("it lasts %.1f s, but from = %g; name a part inside it", whole.Duration(), f.From)
		return c
	}
	for _, x := range whole.Channels {
		out.Channels = append(out.Channels, x[from:to])
	}
	return c
}

// checkPart returns an error if from and to contradict each other or are not allowed here.
func (f File) checkPart(place string, ofMaterial bool) error {
	switch {
	case f.From == 0 && f.To == 0:
		return nil
	case !ofMaterial:
		return fmt.Errorf("%s has from or to, which are only for music and speech; name plays of the "+
			"stimulus with play = 1 and so on", place)
	case f.From < 0 || f.To < 0 || f.To != 0 && f.To <= f.From:
		return fmt.Errorf("%s has from = %g and to = %g; the end must come after the beginning, and neither "+
			"may be below zero",
			place, f.From, f.To)
	}
	return nil
}
