package outside

import (
	"example.com/earnest/internal/testing/long"
	"flag"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/programme"
	"example.com/earnest/sweep"
)

var bad = flag.Int("bad", few(4), "how many spoilt recordings of sweep and material are read")

const badRate = 48000

// verdict is the library's result for a spoilt recording.
type verdict struct {
	what     string
	blind    string
	off      float64 // largest error of a result in dB; NaN if there is none
	said     []string
	commands []command
}

// silent reports that the library gave no finding.
func (v verdict) silent() bool { return len(v.said) == 0 }

func (v verdict) String() string {
	said := "nothing"
	if !v.silent() {
		said = v.said[0]
		if len(v.said) > 1 {
			said += fmt.Sprintf(" (and %d more)", len(v.said)-1)
		}
	}
	return fmt.Sprintf("off by %.2f dB: %s\n    said: %s", v.off, v.what, said)
}

// wrong is the largest error in dB of a result that the library may leave without a remark: it does
// not count a change of a response by less than 0.1 dB as a fault, and several of them add up.
const wrong = 0.3

// Faulty recordings, read as a reviewer's are. If the library gives no finding, the result has to
// be right.
func TestBadRecordings(t *testing.T) {
	long.Skip(t)
	programs.Need(t, "sox")
	programs.Need(t, "ffmpeg")
	var lock sync.Mutex
	var all []verdict
	t.Run("recording", func(t *testing.T) {
		for i := range *bad {
			t.Run(fmt.Sprint(i), func(t *testing.T) {
				t.Parallel()
				vs := newBadTrial(t, *seed, i).read()
				lock.Lock()
				defer lock.Unlock()
				all = append(all, vs...)
			})
		}
	})
	slices.SortStableFunc(all, func(a, b verdict) int { return int(math.Copysign(1, number(b.off)-number(a.off))) })
	answered, silent := 0, 0
	var report strings.Builder
	worst := func(title string, keep func(verdict) bool) {
		fmt.Fprintf(&report, "%s\n", title)
		n := 0
		for _, v := range all {
			if keep(v) && n < 5 {
				n++
				fmt.Fprintf(&report, "  %d. %v\n", n, v)
			}
		}
	}
	for _, v := range all {
		if !math.IsNaN(v.off) {
			answered++
		}
		if v.silent() {
			silent++
			if v.blind == "" && number(v.off) > wrong {
				var lines []string
				for _, c := range v.commands {
					lines = append(lines, c.String())
				}
				t.Errorf("%v\n%s", v, strings.Join(lines, "\n"))
			}
		}
	}
	worst("furthest from the truth, with or without a finding:", func(v verdict) bool { return true })
	worst("furthest from the truth without a finding:", func(v verdict) bool { return v.silent() && v.blind == "" })
	worst("what one recording cannot show:", func(v verdict) bool { return v.silent() && v.blind != "" })
	t.Logf("seed %d: %d readings, %d of them with a result, %d without a finding\n%s", *seed, len(all), answered, silent, report.String())
}

// number returns x, or less than all numbers for NaN.
func number(x float64) float64 {
	if math.IsNaN(x) {
		return math.Inf(-1)
	}
	return x
}

// badTrial is one spoilt recording of the stimulus and one of the material, with the same kind of
// fault.
type badTrial struct {
	testing.TB
	random *rand.Rand
	name   string
	fault  fault
	chain  *chain
	folder string
	bench  *bench
}

func newBadTrial(t testing.TB, seed uint64, i int) *badTrial {
	b := &badTrial{TB: t, random: rand.New(rand.NewPCG(seed, 1<<40+uint64(i))), fault: faults[i%len(faults)], name: fmt.Sprintf("recording %d of seed %d", i, seed)}
	b.folder = folder(t, fmt.Sprintf("bad-%d-%d", seed, i))
	b.chain = &chain{rate: badRate, level: -20}
	b.chain.link("sox", filter(biquad.HighPass, between(b.random, 10, 30), 0.7, 0, badRate))
	b.chain.link("sox", filter(biquad.Peaking, logBetween(b.random, 100, 10000), between(b.random, 0.5, 2), between(b.random, -6, 6), badRate))
	b.chain.link("sox", filter(biquad.HighShelf, 8000, 0.7, between(b.random, -4, 4), badRate))
	b.bench = benchAt(t, badRate, b.chain.level)
	return b
}

// read spoils and reads both.
func (b *badTrial) read() []verdict {
	var vs []verdict
	speech := materials[b.random.IntN(2)].at(b, badRate)
	scaled := make([]float64, badRate/2, len(speech)+badRate)
	for _, v := range speech {
		scaled = append(scaled, amplitude(-20-materialLevel)*v)
	}
	scaled = append(scaled, make([]float64, badRate/2)...)
	sweeps, sounds := b.bench.channels, [][]float64{scaled, scaled}

	if path, v := b.spoil("stimulus", sweeps, sounds); true {
		b.sweep(path, &v)
		vs = append(vs, v)
	}
	path, v := b.spoil("material", sounds, sweeps)
	b.programme(path, scaled, &v)
	return append(vs, v)
}

// spoil records a signal through the chain with a little noise, and spoils it.
func (b *badTrial) spoil(what string, channels, other [][]float64) (string, verdict) {
	path := func(name string) string { return filepath.Join(b.folder, what+name) }
	write(b, path(".wav"), badRate, channels...)
	write(b, path("-other.wav"), badRate, other...)
	commands := b.chain.commands(path(".wav"), path("-clean.wav"), 2, 0)
	run(b, commands)
	clean, err := capture.Read(path("-clean.wav"))
	require.NoError(b, err)
	for k, x := range clean.Channels {
		clean.Channels[k] = hiss(b.random, x)
	}
	write(b, path("-clean.wav"), badRate, clean.Channels...)
	s := spoilt{Rand: b.random, in: path("-clean.wav"), out: path("-spoilt.wav"), rate: badRate, seconds: float64(len(channels[0])) / badRate, other: path("-other.wav")}
	spoiling, severity := b.fault.commands(s)
	for _, c := range spoiling {
		said, err := exec.Command(c[0], c[1:]...).CombinedOutput() // its warnings of clipping are intended
		require.NoError(b, err, "%v\n%s", c, said)
	}
	v := verdict{what: fmt.Sprintf("%s, %s, %s: %s", b.name, what, b.fault.name, severity), off: math.NaN(), commands: append(commands, spoiling...)}
	return s.out, v
}

func (v *verdict) say(err error) bool {
	if err != nil {
		v.said = append(v.said, err.Error())
	}
	return err != nil
}

// sweep reads a recording of the stimulus.
func (b *badTrial) sweep(path string, v *verdict) {
	v.blind = b.fault.blind
	r, err := capture.Read(path)
	if v.say(err) && r == nil {
		return
	}
	placed := located(r, b.bench.stimulus)
	report := fitness.Inspect(placed, fitness.Config{SampleRate: badRate})
	v.warn(report)
	if clock, err := placed.Clock(1, sweep.Left); !v.say(err) {
		placed = placed.CorrectDrift(clock)
	}
	for k, side := range []sweep.Side{sweep.Left, sweep.Right} {
		take, err := placed.Take(k+1, side)
		if v.say(err) {
			continue
		}
		mean, _ := take.Average()
		parts, err := b.bench.deconvolver.Separate(mean)
		if v.say(err) {
			continue
		}
		window, err := parts.Linear.Window(0, 0)
		if v.say(err) {
			continue
		}
		grid := response.LogGrid(20, 20000, 12)
		curve, err := window.Transfer().Smoothed(grid, 6)
		require.NoError(b, err)
		if off := b.off(grid, curve.Within(report.Channels[k].Valid).Level, func(f float64) float64 { return b.truth(f) }); !math.IsNaN(off) {
			v.off = max(number(v.off), off)
		}
	}
}

// truth returns the mean power over a sixth of an octave, in dB.
func (b *badTrial) truth(f float64) float64 {
	const points = 15
	sum := 0.0
	for i := range points {
		h := cmplx.Abs(b.chain.response(f * math.Exp2((float64(i)/(points-1)-0.5)/6)))
		sum += h * h / points
	}
	return 10 * math.Log10(sum)
}

// off returns the largest difference in dB after subtraction of the median: the level of a
// recording is not part of the response.
func (b *badTrial) off(grid, level []float64, truth func(f float64) float64) float64 {
	var d []float64
	for i, f := range grid {
		if !math.IsNaN(level[i]) && f >= 25 && f <= 18000 {
			d = append(d, level[i]-truth(f))
		}
	}
	if len(d) == 0 {
		return math.NaN()
	}
	slices.Sort(d)
	middle := d[len(d)/2]
	return max(middle-d[0], d[len(d)-1]-middle)
}

// warn notes the findings that are more than a note.
func (v *verdict) warn(report *fitness.Report) {
	for _, f := range report.Findings {
		if f.Severity >= response.Warning {
			v.said = append(v.said, f.String())
		}
	}
}

// programme reads a recording of the material.
func (b *badTrial) programme(path string, played []float64, v *verdict) {
	r, err := capture.Read(path)
	if v.say(err) && r == nil {
		return
	}
	v.warn(fitness.Inspect(located(r, nil), fitness.Config{}))
	through, err := programme.ChannelOf(r, 1)
	if v.say(err) {
		return
	}
	direct := hiss(b.random, played)
	c, err := programme.Compare(programme.Channel{Name: "direct", Samples: direct, SampleRate: badRate}, through, programme.Config{})
	if v.say(err) {
		return
	}
	for _, f := range c.Findings {
		if f.Kind != programme.Material && f.Kind != programme.Narrow && f.Kind != programme.Short { // these are true for every recording of this material
			v.said = append(v.said, f.What)
		}
	}
	if r := c.ResidualLevel; r > -20 {
		v.said = append(v.said, fmt.Sprintf("residual %.0f dB", r))
	}
	truth := (&measurement{chain: b.chain}).raised(played)
	var grid, level []float64
	for _, band := range c.Bands(3) {
		if band.Known && band.Low > 25 && band.High < 18000 {
			d := band.Difference - truth(band.Low, band.High)
			if half := band.HalfWidth95; !math.IsNaN(half) {
				d -= max(-half, min(half, d)) // a difference inside its interval is no error
			}
			grid, level = append(grid, band.Centre), append(level, d)
		}
	}
	v.off = b.off(grid, level, func(float64) float64 { return 0 })
}
