package outside

import (
	"example.com/earnest/internal/testing/long"
	"flag"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

var (
	chains = flag.Int("chains", few(3), "how many random chains are measured")
	seed   = flag.Uint64("seed", 1, "of the random chains and recordings")
	keep   = flag.String("keep", "", "folder in which to leave the files of every chain")
)

// few returns n, or 1 under the race detector: CI runs many without it.
func few(n int) int {
	if race.Enabled {
		return 1
	}
	return n
}

// Random chains of effects of sox and ffmpeg, measured as by a reviewer; each quantity has a limit
// for its error.
func TestChains(t *testing.T) {
	long.Skip(t)
	programs.Need(t, "sox")
	programs.Need(t, "ffmpeg")
	t.Logf("seed %d", *seed)
	table := newTable(t)
	t.Run("chain", func(t *testing.T) {
		for i := range *chains {
			t.Run(fmt.Sprint(i), func(t *testing.T) {
				t.Parallel()
				m := &measurement{T: t, chain: draw(*seed, i), table: table}
				m.measure()
			})
		}
	})
	table.check()
}

// measurement is a chain being measured.
type measurement struct {
	*testing.T
	chain    *chain
	table    *table
	bench    *bench
	folder   string
	commands []command
}

func (m *measurement) note(name, unit string, limit, e float64, more ...any) {
	if q := m.table.quantity(name, unit, limit); !q.add(e, fmt.Sprint(m.chain, fmt.Sprint(more...))) {
		var lines []string
		for _, c := range m.commands {
			lines = append(lines, c.String())
		}
		m.Errorf("%s: off by %.4g %s, at most %g; %v %s\n%s", name, e, unit, limit, m.chain, fmt.Sprint(more...), strings.Join(lines, "\n"))
	}
}

func (m *measurement) measure() {
	m.folder = folder(m, fmt.Sprintf("chain-%d-%d", m.chain.seed, m.chain.number))
	m.bench = benchAt(m, m.chain.rate, m.chain.level)
	in := filepath.Join(m.folder, "stimulus.wav")
	write(m, in, m.chain.rate, m.bench.channels...)
	recording, commands := m.chain.process(m, in, filepath.Join(m.folder, "recorded.wav"), 2, m.bench.stimulus.Duration())
	m.commands = commands
	switch kindOf(m.chain.number) {
	case linear:
		m.linear(recording)
		m.material()
	case noisy:
		m.noisy(recording)
	case clipped:
		m.harmonics(recording)
	}
}

// transfer returns the transfer function from the left side's sweep, with time zero at the first
// sample played.
func (m *measurement) transfer(x []float64) (*response.Transfer, *response.Impulse) {
	ir, err := m.bench.deconvolver.Impulse(m.bench.played(x, sweep.Left))
	require.NoError(m, err)
	window, err := ir.Window(0, 0)
	require.NoError(m, err)
	return window.Transfer(), ir
}

// taken finds the right side's sweep in the recording, as a review does, and returns the windowed
// response.
func (m *measurement) taken(r *capture.Recording) *response.Impulse {
	take, err := located(r, m.bench.stimulus).Take(2, sweep.Right)
	require.NoError(m, err)
	mean, _ := take.Average()
	parts, err := m.bench.deconvolver.Separate(mean)
	require.NoError(m, err)
	window, err := parts.Linear.Window(0, 0)
	require.NoError(m, err)
	return window
}

func decibel(x float64) float64 { return 20 * math.Log10(x) }

func amplitude(level float64) float64 { return math.Pow(10, level/20) }
