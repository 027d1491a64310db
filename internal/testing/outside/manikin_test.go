package outside

import (
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

var everyDirection = flag.Bool("manikin", false, "all directions of the manikin's ears, not one in 36")

const (
	earTaps = 512
	earRate = 44100
	// The response and the sweep fit into 2 s, on bins of half a hertz at any sample rate. It is a
	// whole number of seconds, so that the bins of a response at 44.1 kHz are those of a recording
	// at 48 kHz.
	earSeconds = 2
)

// ears are the measured responses: testdata/manikin/LICENSE.
type ears struct {
	directions [][]string // azimuth and elevation in degrees
	channels   [][]float64
}

func readEars(t *testing.T) ears {
	r, err := capture.Read("../../../testdata/manikin/responses.flac")
	require.NoError(t, err)
	require.Equal(t, earRate, r.SampleRate)
	f, err := os.Open("../../../testdata/manikin/positions.csv")
	require.NoError(t, err)
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Len(t, lines[1:], 710)
	require.Equal(t, 710*earTaps, r.Len())
	return ears{lines[1:], r.Channels}
}

func (e ears) response(direction, ear int) []float64 {
	return e.channels[ear][direction*earTaps:][:earTaps]
}

// earBench plays a sweep at one sample rate through responses.
//
// The truth is the Fourier sum over the 512 samples,
//
//	H(f) = Σ h[n] exp(−j2πfn/44100),  |f| < 22050 Hz,
//
// and nothing above: the band-limited signal with these samples at 44.1 kHz. At 48 kHz that is the
// response resampled exactly.
type earBench struct {
	deconvolver *response.Deconvolver
	source      *fft.Plan // of responses
	plan        *fft.Plan // of recordings
	played      []complex128
}

func newEarBench(t *testing.T, sampleRate int) *earBench {
	s, err := sweep.New(sweep.Config{SampleRate: sampleRate, Duration: time.Second, Level: -6})
	require.NoError(t, err)
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Longest: earSeconds * time.Second})
	require.NoError(t, err)
	b := &earBench{deconvolver: d, source: fft.NewPlan(earSeconds * earRate), plan: fft.NewPlan(earSeconds * sampleRate)}
	b.played = b.plan.Forward(nil, s.Samples())
	return b
}

// truth returns H at the bins of a recording.
func (b *earBench) truth(h []float64) []complex128 {
	out := make([]complex128, b.plan.Bins())
	copy(out, b.source.Forward(nil, h)[:b.source.Bins()-1])
	return out
}

// through returns the sweep convolved with the response whose truth is given.
func (b *earBench) through(truth []complex128) []float64 {
	y := make([]complex128, len(truth))
	for k, h := range truth {
		y[k] = h * b.played[k]
	}
	return b.plan.Inverse(nil, y)
}

// error returns the energy of the error of the recovered response over the sweep's band, relative
// to that of the response, in dB.
func (b *earBench) error(t *testing.T, h []float64) float64 {
	truth := b.truth(h)
	ir, err := b.deconvolver.Impulse(b.through(truth))
	if !assert.NoError(t, err) {
		return math.NaN()
	}
	window, err := ir.Window(0, 0)
	if !assert.NoError(t, err) {
		return math.NaN()
	}
	found := window.TransferAbout(0, b.plan.Len())
	var off, all float64
	for k, h := range truth {
		if !found.Valid.Contains(found.Frequency(k)) {
			continue
		}
		d := found.Bins[k] - h
		off += real(d)*real(d) + imag(d)*imag(d)
		all += real(h)*real(h) + imag(h)*imag(h)
	}
	return 10 * math.Log10(off/all)
}

// Each response is a device: a sweep of 1 s is convolved with it and the response is recovered, at
// the sample rate of the measurement and at another one.
func TestManikin(t *testing.T) {
	long.Skip(t)
	e := readEars(t)
	step := 36
	if *everyDirection {
		step = 1
	}
	table := newTable(t)
	for _, sampleRate := range []int{earRate, 48000} {
		b := newEarBench(t, sampleRate)
		// Regularisation is 10⁻⁶ of the sweep's power; the part that the window cuts off at 20 Hz
		// is as large.
		q := table.quantity(fmt.Sprintf("error energy at %g kHz", float64(sampleRate)/1000), "dB", -100)
		var wait sync.WaitGroup
		for worker := range workers {
			wait.Go(func() {
				for i := step * worker; i < len(e.directions); i += step * workers {
					for ear, side := range []string{"left", "right"} {
						q.add(b.error(t, e.response(i, ear)), fmt.Sprintf("azimuth %s°, elevation %s°, %s ear", e.directions[i][0], e.directions[i][1], side))
					}
				}
			})
		}
		wait.Wait()
	}
	table.check()
}
