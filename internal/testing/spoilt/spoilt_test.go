package spoilt

import (
	"flag"
	"fmt"
	"math"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

var (
	sessionsOf = flag.Int("sessions", 0, "sessions, full-size ones; 0 means a few short ones")
	faultsOf   = flag.Int("each", 5, "how many ways each session is spoilt in")
	first      = flag.Int("first", 0, "number of the first session")
	seed       = flag.Uint64("seed", 1, "of what is drawn")
	only       = flag.String("fault", "", "faults whose name this regular expression matches, alone")
	list       = flag.Bool("everything", false, "print every session")
)

// wrong is the largest acceptable error of a response in dB, at a third of an octave.
const wrong = 0.5

// harmless is the error in dB below which a fault is no reason to refuse a session.
const harmless = 0.1

// noisy is the signal-to-noise ratio in dB, peak over rms, below which noise moves the response of
// a short sweep by 0.1 dB: a warning of it is right, and not counted.
const noisy = 80

// mostUnnamed is the largest share of wrong recordings without any finding.
const mostUnnamed = 0.2

// Sessions with one spoilt recording, and sound sessions.
func TestSpoiltRecordings(t *testing.T) {
	few := *sessionsOf == 0
	if few {
		long.Skip(t)
	}
	sessions, each := *sessionsOf, *faultsOf
	if few {
		sessions, each = 3, len(faults())/3
	}
	var chosen []fault
	for _, f := range faults() {
		_, err := exec.LookPath("ffmpeg")
		if regexp.MustCompile(*only).MatchString(f.name) && (err == nil || !slices.Contains([]string{"AAC", "Opus", "MP3", "Vorbis", "AC-3", "Windows Media", "sub-band coder", "adaptive differences"}, f.name)) {
			chosen = append(chosen, f)
		}
	}
	table := &table{}
	t.Run("session", func(t *testing.T) {
		for i := *first; i < *first+sessions; i++ {
			t.Run(fmt.Sprint(i), func(t *testing.T) {
				t.Parallel()
				s := newSession(t, *seed<<32+uint64(i), few)
				table.add(s.sound())
				for k := range each {
					table.add(s.try(chosen[(i*each+k)%len(chosen)]))
				}
			})
		}
	})
	t.Logf("seed %d\n%v", *seed, table)
	_, wrong, unnamed, _, _ := table.share(func(f fault) bool { return f.traceless == "" })
	if each > 0 {
		assert.NotZero(t, wrong)
	}
	assert.LessOrEqual(t, float64(unnamed), mostUnnamed*float64(wrong), "faulty sessions without a finding, of %d", wrong)
	assert.Empty(t, table.alarms(), "faultless sessions with a finding")
}

// verdict is the review's result for a session.
type verdict struct {
	session  string
	fault    fault
	severity string
	off      float64 // dB, against the same session unspoilt; NaN without a result
	said     []response.Finding
	err      error
}

// named returns the first finding, the gravest one.
func (v verdict) named() response.FindingKind {
	said := slices.Clone(v.said)
	slices.SortStableFunc(said, func(a, b response.Finding) int { return int(b.Severity) - int(a.Severity) })
	switch {
	case len(said) > 0:
		return said[0].Kind
	case v.err != nil:
		return "refused"
	}
	return "nothing"
}

func (v verdict) wrong() bool { return v.fault.name != "" && !(v.off <= wrong) }

// refused reports whether a session is refused though its response is right.
func (v verdict) refused() bool {
	return v.off <= harmless && (v.err != nil || slices.ContainsFunc(v.said,
		func(f response.Finding) bool { return f.Severity >= response.Unfit }))
}

func (v verdict) right() bool { return slices.Contains(v.fault.names, v.named()) }

func (v verdict) String() string {
	if v.fault.name == "" {
		v.fault.name = "sound"
	}
	line := fmt.Sprintf("%s %s: off by %.2f dB, %v: %v", v.fault.name, v.severity, v.off, v.named(), v.session)
	for _, f := range v.said {
		line += "\n    " + f.String()
	}
	if v.err != nil {
		line += "\n    " + strings.ReplaceAll(v.err.Error(), "\n", "\n    ")
	}
	return line
}

// sound reviews a session as it was recorded.
func (s *session) sound() (v verdict) {
	s.through = s.record(false, stages{})
	s.bench = s.prepare(s.stimulus, s.record(true, stages{}))
	s.plain, v = s.review(s.bench, s.through)
	if *list {
		s.Log(v)
	}
	return v
}

// try spoils a session that was reviewed sound, and compares it with itself.
func (s *session) try(f fault) verdict {
	severity, spoil := f.draw(s)
	direct, through, stated := s.bench, s.through, s.stimulus
	if spoil.through.some() {
		through = s.record(false, spoil.through)
	}
	if spoil.stated != nil {
		stated = spoil.stated
	}
	switch {
	case spoil.exchanged:
		direct, through = s.prepare(stated, s.through), s.record(true, stages{})
	case spoil.direct.some() || spoil.stated != nil:
		direct = s.prepare(stated, s.record(true, spoil.direct))
	}
	spoilt, v := s.review(direct, through)
	v.fault, v.severity, v.off = f, severity, math.NaN()
	for side, p := range s.plain {
		if q, ok := spoilt[side]; ok {
			v.off = statistic.Largest(v.off, worstThird(p, q))
		}
	}
	if *list {
		s.Log(v)
	}
	return v
}

// prepared returns a bench with its direct recording, or the findings about that.
type prepared struct {
	*review.Bench
	said []response.Finding
	err  error
}

func (s *session) prepare(st *sweep.Stimulus, direct files) (p prepared) {
	if p.Bench, p.err = review.New(review.Config{Stimulus: st, Rig: "simulated", UseUnfit: true}); p.err == nil {
		p.said, p.err = p.Bench.Direct(direct.channels())
	}
	return p
}

// review measures a session, fit or not.
func (s *session) review(bench prepared, through files) (map[sweep.Side]response.Curve, verdict) {
	v := verdict{session: s.String(), err: bench.err}
	said := bench.said
	var results *review.Results
	if v.err == nil {
		pair := bench.Pair(review.About{Name: s.pair.Name})
		var found []response.Finding
		found, v.err = pair.Seat(review.Seating{Channels: through.channels()})
		said = slices.Concat(said, found)
		if v.err == nil {
			if results, v.err = pair.Measure(); v.err == nil {
				said = results.Findings
			}
		}
	}
	for _, f := range said {
		if f.Severity >= response.Warning && !(f.Kind == fitness.LowLevel && s.snr < noisy) {
			v.said = append(v.said, f)
		}
	}
	out := map[sweep.Side]response.Curve{}
	if results != nil {
		for i, side := range []*review.Side{results.Left, results.Right} {
			if side != nil {
				out[sweep.Left+sweep.Side(i)] = side.Response()
			}
		}
	}
	return out, v
}

// channels returns the two sides.
func (f files) channels() review.Channels {
	if len(f) == 1 {
		return review.Both(f[0])
	}
	return review.Channels{Left: review.Channel{Recording: f[0]}, Right: review.Channel{Recording: f[1]}}
}

// worstThird returns the largest difference in dB of the mean levels of third octaves from 25 Hz to
// 16 kHz that both know.
func worstThird(a, b response.Curve) float64 {
	worst := math.NaN()
	for n := -16; n <= 12; n++ {
		centre := 1000 * math.Pow(10, float64(n)/10)
		var sum, count float64
		for i, f := range a.Frequency {
			if f > centre*math.Pow(10, -0.05) && f < centre*math.Pow(10, 0.05) && i < len(b.Level) && !math.IsNaN(a.Level[i]-b.Level[i]) {
				sum += a.Level[i] - b.Level[i]
				count++
			}
		}
		if count >= review.PerOctave/6 {
			worst = statistic.Largest(worst, math.Abs(sum/count))
		}
	}
	return worst
}

// table is the confusion table.
type table struct {
	lock     sync.Mutex
	verdicts []verdict
}

func (t *table) add(v verdict) {
	t.lock.Lock()
	defer t.lock.Unlock()
	t.verdicts = append(t.verdicts, v)
}

// alarms returns the sound sessions with a finding.
func (t *table) alarms() (all []string) {
	for _, v := range t.verdicts {
		if v.fault.name == "" && v.named() != "nothing" {
			all = append(all, v.String())
		}
	}
	return all
}

// share counts the wrong sessions of some faults, those without any finding, and those with the
// right name.
func (t *table) share(of func(fault) bool) (all, wrong, unnamed, right int, named map[response.FindingKind]int) {
	named = map[response.FindingKind]int{}
	for _, v := range t.verdicts {
		if v.fault.name == "" || !of(v.fault) {
			continue
		}
		all++
		if v.wrong() {
			wrong++
			named[v.named()]++
			if v.named() == "nothing" {
				unnamed++
			}
			if v.right() {
				right++
			}
		}
	}
	return all, wrong, unnamed, right, named
}

// harmless counts the sessions of some faults whose response is right, and those of them that are
// refused.
func (t *table) harmless(of func(fault) bool) (all, refused int) {
	for _, v := range t.verdicts {
		if v.fault.name == "" || !of(v.fault) || !(v.off <= harmless) {
			continue
		}
		all++
		if v.refused() {
			refused++
		}
	}
	return all, refused
}

func (t *table) String() string {
	var out strings.Builder
	row := func(name string, of func(fault) bool) {
		all, wrong, unnamed, right, named := t.share(of)
		if all == 0 {
			return
		}
		harmless, refused := t.harmless(of)
		fmt.Fprintf(&out, "%-22s %5d %5d %7d %5d %8d %7d  ", name, all, wrong, unnamed, right, harmless, refused)
		var kinds []string
		for k, n := range named {
			kinds = append(kinds, fmt.Sprintf("%s %d", k, n))
		}
		slices.Sort(kinds)
		fmt.Fprintln(&out, strings.Join(kinds, ", "))
	}
	fmt.Fprintf(&out, "%-22s %5s %5s %7s %5s %8s %7s  %s\n", "fault", "drawn", "wrong", "unnamed", "right", "harmless", "refused",
		"first finding of the faulty sessions")
	for _, f := range faults() {
		row(f.name, func(g fault) bool { return g.name == f.name })
	}
	row("all that leave a trace", func(f fault) bool { return f.traceless == "" })
	sound := 0
	for _, v := range t.verdicts {
		if v.fault.name == "" {
			sound++
		}
	}
	_, wrong, unnamed, right, _ := t.share(func(f fault) bool { return f.traceless == "" })
	fmt.Fprintf(&out, "of %d wrong ones that leave a trace %.1f %% unnamed, %.0f %% by their name; %d of %d sound ones questioned\n",
		wrong, 100*float64(unnamed)/float64(max(1, wrong)), 100*float64(right)/float64(max(1, wrong)), len(t.alarms()), sound)
	for _, v := range t.verdicts {
		if v.wrong() && v.named() == "nothing" && v.fault.traceless == "" {
			fmt.Fprintln(&out, v)
		}
	}
	return out.String()
}
