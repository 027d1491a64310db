package review

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// mostLate is the longest time in seconds after the beginning of a sweep at which a recording may
// begin and still count as whole. Marks are found to a fraction of it.
const mostLate = 1e-3

// cutOff returns an error if a use's recording began after the first sweep of its side did,
// according to the timing marks of the further parts; nil if it did not, or if that is not known.
func (u use) cutOff(st *sweep.Stimulus) error {
	late := -u.parts.At(sweep.Part{Segment: st.Sweeps(u.side)[0]})
	if !(late > mostLate) {
		return nil
	}
	return fmt.Errorf("the sweep of the %v side had begun %.2f s before the recording did", u.side, late)
}

// cutShort returns cut as an error that wraps fitness.ErrUnfit, for a recording that is of no use
// without its sweeps.
func (u use) cutShort() error {
	if u.cut == nil {
		return nil
	}
	return fmt.Errorf("%w\n%s: %w; start the recorder before the player, and record the whole stimulus",
		fitness.ErrUnfit, u.recording.Name, u.cut)
}

// lacksSweep returns the finding that a side's sweep is cut off and that the response is left out,
// for a use that is measured.
func (u use) lacksSweep() response.Finding {
	f := doubt(u.recording.Name, PartMissing, response.Warning)
	f.Channel = u.channel
	var held []string
	for _, q := range u.reading.Further.Held {
		held = append(held, string(q))
	}
	f.What = fmt.Sprintf("%v, so %s has no part in the response of that side; ", u.cut, u.name)
	if len(held) == 0 {
		f.What += "it holds no further part"
	} else {
		f.What += fmt.Sprintf("its parts for %s are measured", strings.Join(held, ", "))
	}
	f.Remedy = "start the recorder before the player, and record this seating again if its response is to count"
	return f
}

// readFurther measures the further parts of a use whose sweeps are cut off. What the interface adds
// to them is not known before compare.
func (b *Bench) readFurther(u use) *Reading {
	r := b.newReading(u)
	r.Further = b.ask(u, swept{gain: b.gainBySweeps(u), silence: b.silenceBetween(u)}, b.microphoneOf(u.side))
	return r
}

// silenceBetween returns the second half of the longest silence that a recording holds before,
// between and after the further parts, or nil if that is shorter than 0.1 s.
func (b *Bench) silenceBetween(u use) (longest []float64) {
	st, edge := b.config.Stimulus, u.recording.SampleRate/20
	still := st.Find(sweep.Silence)
	ended := still[len(still)-1].Start
	for _, next := range append(st.Parts(), sweep.Part{Segment: sweep.Segment{Start: st.WholeLen()}}) {
		half := sweep.Segment{Kind: sweep.Silence, Start: (ended + next.Start) / 2}
		half.Len = next.Start - edge - half.Start
		x, err := u.parts.Cut(u.channel, sweep.Part{Segment: half}, 0, 0)
		if err == nil && len(x) > max(len(longest), 2*edge) {
			longest = x
		}
		ended = next.Start + next.Len
	}
	return longest
}

// compare adds the interface's own distortion to what readFurther measured in a seating. The pair's
// response to that distortion is taken from the other seatings of the side. The reading is a copy,
// since Measure may be called again with more seatings.
func (s *Side) compare(b *Bench, u use) {
	r := u.copyOfReading()
	r.maxLevels = sync.OnceValue(r.computeMaxLevels)
	r.Further = r.Further.clone()
	with := *r
	with.Response = s.Response()
	r.Further.against(b.parts[u.side].further, b, &with)
	s.FurtherOnly = append(s.FurtherOnly, r)
}

// withFurther returns the seatings with further results, in order, also those without a response.
func (s *Side) withFurther() []*Reading {
	all := slices.DeleteFunc(slices.Concat(s.Seatings, s.FurtherOnly), func(r *Reading) bool { return r.Further == nil })
	slices.SortStableFunc(all, func(a, b *Reading) int { return a.seating - b.seating })
	return all
}
