package review

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
)

// content holds the parts of a stimulus that were recognised in both channels of a direct
// recording.
type content struct {
	sweeps   []float64 // s, at which each passes 1 kHz
	marks    []float64 // s, at which each begins
	constant float64   // s per e-fold of the sweeps; NaN if they differ or there are none
	stop     float64   // Hz, the highest frequency found of a sweep
	placed   bool      // both marks were found at their places in a channel
}

// speed returns the factor by which the whole stimulus is faster in the recording: sweeps and the
// time between them are shorter by it, and the marks too. It is 0 if the speed is normal or not
// known.
func (c content) speed(st *sweep.Stimulus) float64 {
	segments := append(st.Sweeps(sweep.Left), st.Sweeps(sweep.Right)...)
	if len(c.sweeps) != len(segments) || !(c.constant > 0) {
		return 0
	}
	s := st.Sweep()
	speed := s.TimeConstant() / c.constant
	apart := float64(segments[len(segments)-1].Start-segments[0].Start) / float64(s.SampleRate())
	between := (c.sweeps[len(c.sweeps)-1] - c.sweeps[0]) * speed
	if math.Abs(speed-1) < leastSpeed || math.Abs(between/apart-1) > leastSpeed/4 ||
		c.stop < 0.45*float64(s.SampleRate()) && math.Abs(c.stop/s.Stop()/speed-1) > 0.03 {
		return 0
	}
	return speed
}

// differences names the settings in which a stimulus differs from the recording; nil if none do, or
// if too little was recognised.
//
// With the timing marks, the gap G and the ends of the sweep of time constant L follow from the
// times from the opening mark to 1 kHz of the first sweep, from there to the next, and from 1 kHz
// of the last to the closing mark:
//
//	mark + G + L ln(1000/start),  L ln(stop/start) + G,  L ln(stop/1000) + G.
func (c content) differences(st *sweep.Stimulus, lasts float64) (all []string) {
	s := st.Sweep()
	if len(c.sweeps) < 2 || len(c.sweeps)%2 != 0 || !(c.constant > 0) {
		return nil
	}
	say := func(setting, stated, recorded string) {
		all = append(all, fmt.Sprintf("%s is %s as stated but %s in the recording", setting, stated, recorded))
	}
	fs := float64(s.SampleRate())
	segments := st.Sweeps(sweep.Left)
	repeats := len(c.sweeps) / 2
	if repeats != len(segments) {
		say("repeats", fmt.Sprint(len(segments)), fmt.Sprint(repeats))
	}
	marks := st.Find(sweep.Mark)
	first, last := c.sweeps[0], c.sweeps[len(c.sweeps)-1]
	beside := gapOf(st) + float64(len(s.Mark()))/fs // length of a mark and its silence, s
	switch {
	case len(marks) == 0 && len(c.marks) > 0:
		say("unmarked", "true", "false (there are timing marks)")
	case len(marks) > 0 && len(c.marks) == 0 && !c.placed &&
		(first-s.TimeAt(1000) >= beside || lasts >= last+s.Duration()-s.TimeAt(1000)+beside):
		say("unmarked", "false", "true (there are no timing marks)")
	}
	start, stop, gap := s.Start(), s.Stop(), gapOf(st)
	period := c.sweeps[1] - first
	if n := len(c.marks); n == 2 && c.marks[0] < first && c.marks[1] > last {
		lead, tail := first-c.marks[0]-float64(len(s.Mark()))/fs, c.marks[1]-last
		stop = 1000 * math.Exp((period-lead)/c.constant)
		gap = tail - c.constant*math.Log(stop/1000)
		start = 1000 / math.Exp((lead-gap)/c.constant)
		// near half the rate the recorder's filter hides the end
	} else if c.stop < 0.45*fs && math.Abs(c.stop/stop-1) > 0.03 {
		stop = c.stop
	}
	// The recorder's clock and the interface's delay contribute less than a tenth of these limits.
	if math.Abs(start/s.Start()-1) > 0.03 {
		say("start", response.FormatFrequency(s.Start()), response.FormatFrequency(math.Round(start)))
	}
	if math.Abs(stop/s.Stop()-1) > 0.01 {
		say("stop", response.FormatFrequency(s.Stop()), response.FormatFrequency(10*math.Round(stop/10)))
	}
	if math.Abs(gap-gapOf(st)) > 0.005 {
		say("gap", fmt.Sprintf("%.4g s", gapOf(st)), fmt.Sprintf("%.3f s", gap))
	}
	if lasts := c.constant * math.Log(stop/start); math.Abs(c.constant/s.TimeConstant()-1) > 1e-3 &&
		math.Abs(lasts/s.Duration()-1) > 0.01 {
		say("seconds, of a sweep,", fmt.Sprintf("%.3f", s.Duration()), fmt.Sprintf("%.3f", lasts))
	}
	return all
}

// checkSettings compares the stated stimulus with the content of the direct recording. It is used
// if something is wrong with that recording, or if timing marks are not found or not stated. Its
// findings then name the cause; nil if the settings agree or too little was recognised.
func (r *recordings) checkSettings(rec *capture.Recording) []response.Finding {
	p := r.placed[rec]
	st := r.stimulus
	if st.Sweep() == nil {
		return nil
	}
	marked := len(st.Find(sweep.Mark)) > 0
	missing := slices.ContainsFunc(p.Channels, func(c placement.Place) bool { return !inPlace(c, st) })
	if slices.ContainsFunc(r.findings[rec], func(f response.Finding) bool {
		return f.Kind == fitness.DroppedSamples && f.Figures["missing"].Known() || f.Figures["recorded at"].Known()
	}) {
		return nil // a lost or repeated block shifts everything after it, and another speed everything
	}
	doubted := slices.ContainsFunc(r.findings[rec], func(f response.Finding) bool { return f.Severity > response.Note })
	const longest = 600 // s, longest recording that is examined
	if !doubted && marked && !missing || rec.SampleRate != st.Sweep().SampleRate() || rec.Duration() > longest {
		return nil
	}
	content := holds(rec, st)
	if speed := content.speed(st); speed != 0 {
		f := doubt(rec.Name, fitness.WrongRate, response.Unfit)
		f.What = fmt.Sprintf("holds the stimulus at %.4f times its speed", speed)
		f.Remedy = "set player and recorder to the same sample rate and to normal speed, and record again"
		f.Figures = map[string]response.Figure{"speed": {Value: speed, Unit: "1"}}
		return []response.Finding{f}
	}
	// A mark that noise or an echo hides from recognition may still be in its place.
	content.placed = slices.ContainsFunc(p.Channels, func(c placement.Place) bool {
		return !math.IsNaN(c.Marks[0] + c.Marks[1])
	})
	differs := content.differences(st, rec.Duration())
	if differs == nil {
		return nil
	}
	f := doubt(rec.Name, WrongSetting, response.Unfit)
	f.What = "does not hold the stated stimulus: " + strings.Join(differs, "; ")
	f.Remedy = "state the settings that were printed when the stimulus was made"
	return []response.Finding{f}
}

// inPlace reports whether both marks are at their places relative to the sweep within 5 ms.
// Locating is accurate to a few milliseconds.
func inPlace(c placement.Place, st *sweep.Stimulus) bool {
	if c.Side == 0 {
		return false
	}
	near := 0.005 * float64(st.Sweep().SampleRate())
	for i, m := range st.Find(sweep.Mark) {
		if off := c.Sweep - c.Marks[i] - float64(st.Sweeps(c.Side)[0].Start-m.Start); !(math.Abs(off) < near) {
			return false
		}
	}
	return true
}

// leastSpeed is the least difference of a speed from the normal one that is told from an error of
// recognition, and from clocks.
const leastSpeed = 2e-3

// holds recognises sweeps and marks by their frequency laws.
func holds(rec *capture.Recording, st *sweep.Stimulus) (c content) {
	fs := float64(rec.SampleRate)
	high := min(sweep.MarkHigh, fs/4)
	mark := float64(len(st.Sweep().Mark())) / fs / math.Log(high/sweep.MarkLow)
	once := func(all []float64, at float64) []float64 { // both channels hold it at the same time
		if slices.ContainsFunc(all, func(t float64) bool { return math.Abs(t-at) < 0.05 }) {
			return all
		}
		return append(all, at)
	}
	for _, one := range recognise.Find(rec.Channels, rec.SampleRate) {
		if one.Kind != recognise.ExponentialSweep {
			continue
		}
		at := func(f float64) float64 { return float64(one.From)/fs + one.TimeConstant*math.Log(f/one.Start) }
		switch l := one.TimeConstant; {
		case math.Abs(l+mark) < 0.02*mark:
			c.marks = once(c.marks, at(high))
		case l > 0:
			if len(c.sweeps) > 0 && math.Abs(l-c.constant) > 1e-3*l {
				l = math.NaN()
			}
			c.sweeps, c.constant, c.stop = once(c.sweeps, at(1000)), l, max(c.stop, one.Stop)
		}
	}
	slices.Sort(c.sweeps)
	slices.Sort(c.marks)
	return c
}

// gapOf returns the length of the silence after each sweep in seconds.
func gapOf(st *sweep.Stimulus) float64 {
	after := st.Sweeps(sweep.Left)[0]
	for _, gap := range st.Find(sweep.Silence) {
		if gap.Start == after.Start+after.Len {
			return float64(gap.Len) / float64(st.Sweep().SampleRate())
		}
	}
	return 0
}

// checkLevel notes a direct recording that is louder or softer than the stimulus: because of the
// gains, or because the stimulus was not played at the stated level.
func checkLevel(name string, sides map[sweep.Side]*parts) []response.Finding {
	const least = 1 // dB
	gain := levelAt1k(sides)
	if !(math.Abs(gain) > least) {
		return nil
	}
	f := doubt(name, WrongSetting, response.Note)
	f.What = fmt.Sprintf("is at %+.1f dB re the stated level of the stimulus: either this is the gain of "+
		"the interface, or another level was played and sensitivities per volt are wrong by as much", gain)
	f.Remedy = "compare the stated level with the one printed when the stimulus was made"
	f.Figures = map[string]response.Figure{"gain": {Value: gain, Unit: "dB"}}
	return []response.Finding{f}
}
