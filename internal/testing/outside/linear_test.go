package outside

import (
	"math"
	"math/cmplx"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
)

// far is the level in dB below the loudest above which a level counts: below are sidelobes of the
// rest.
const far = 50

// linear compares the response with the truth: the left side's from the known position of the
// sweep, with its phase and delay, and the right side's as found by a reviewer.
func (m *measurement) linear(r *capture.Recording) {
	t, ir := m.transfer(r.Channels[0])
	m.spectrum(t, m.taken(r).Transfer())
	if !m.chain.filters() {
		d, err := ir.Delay()
		require.NoError(m, err)
		m.note("delay", "samples", 0.01, math.Abs(d*float64(m.chain.rate)-m.chain.delay())) // what the maximum of a sampled peak resolves
		level := t.Magnitude().MeanOver(response.Band{Low: 100, High: 10000})
		m.note("gain", "dB", 0.001, math.Abs(level-decibel(cmplx.Abs(m.chain.response(1000))))) // regularisation costs 0.0001 dB
	}
	report := fitness.Inspect(located(r, m.bench.stimulus), fitness.Config{})
	// The recordings of the chains have no faults.
	unfit := 0.0
	if report.Err() != nil {
		unfit = 1
	}
	m.note("wrongly called unfit", "recordings", 0, unfit, " ", report.Findings)
}

// spectrum compares magnitude and phase at every bin. The limits are the documented accuracy; the
// measured errors are far smaller.
func (m *measurement) spectrum(left, right *response.Transfer) {
	truth := make([]complex128, len(left.Bins))
	top := 0.0
	for k := range truth {
		truth[k] = m.chain.response(left.Frequency(k))
		top = max(top, cmplx.Abs(truth[k]))
	}
	var middle, ends, phase float64
	for k, h := range truth {
		f := left.Frequency(k)
		if !left.Valid.Contains(f) || cmplx.Abs(h) < top*amplitude(-far) {
			continue
		}
		e := left.Bins[k] / h
		off := max(math.Abs(decibel(cmplx.Abs(e))), math.Abs(decibel(cmplx.Abs(right.Bins[k]/h))))
		if f < 25 || f > 18000 {
			ends = max(ends, off)
			continue
		}
		middle = max(middle, off)
		phase = max(phase, math.Abs(cmplx.Phase(e))*180/math.Pi)
	}
	m.note("magnitude, 25 Hz–18 kHz", "dB", 0.02, middle)
	m.note("magnitude, at the ends", "dB", 0.1, ends)
	m.note("phase, 25 Hz–18 kHz", "degrees", 0.2, phase)
}

// Through these filters the sweep matches a mark more strongly than itself. Such a recording was
// once called unfit.
func TestSweepThatMatchesAMark(t *testing.T) {
	long.Skip(t)
	programs.Need(t, "ffmpeg")
	c := &chain{rate: 96000, level: -30}
	c.link("ffmpeg", filter(biquad.LowPass, 7874.96, 1.01798, 0, c.rate))
	c.link("ffmpeg", filter(biquad.LowShelf, 65.8634, 0.963008, -6.7118, c.rate))
	c.link("ffmpeg", filter(biquad.Peaking, 392.056, 1.85964, 9.49538, c.rate))
	c.link("ffmpeg", filter(biquad.Peaking, 65.3399, 0.8097, -3.96089, c.rate))
	b := benchAt(t, c.rate, c.level)
	in := filepath.Join(t.TempDir(), "stimulus.wav")
	write(t, in, c.rate, b.channels...)
	recording, _ := c.process(t, in, filepath.Join(t.TempDir(), "recorded.wav"), 2, b.stimulus.Duration())
	report := fitness.Inspect(located(recording, b.stimulus), fitness.Config{})
	require.NoError(t, report.Err())
}
