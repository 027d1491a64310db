package bench

import (
	"context"
	"fmt"
	"math"
	"sync"
	"time"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// kit holds the stimulus and its deconvolver.
type kit struct {
	stimulus    *sweep.Stimulus
	channels    [][]float64
	deconvolver *response.Deconvolver
}

func newKit(p played) (*kit, error) {
	s, err := sweep.New(sweep.Config{Duration: duration.Of(p.duration), SampleRate: sampleRate, Level: p.level})
	if err != nil {
		return nil, err
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: silence, Gap: gap})
	if err != nil {
		return nil, err
	}
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Longest: placement.TakeDuration(st), Orders: Orders})
	if err != nil {
		return nil, err
	}
	k := &kit{stimulus: st, deconvolver: d, channels: st.Channels()}
	// Only one cup is measured.
	for _, s := range st.Sweeps(sweep.Right) {
		clear(k.channels[rig.Right][s.Start : s.Start+s.Len])
	}
	return k, nil
}

// record makes all recordings concurrently and separates them. direct returns the direct recording,
// kept or new. The error is that of the context, which is checked before each recording.
func (k *kit) record(ctx context.Context, c Conditions, direct func() (part, error)) (*session, error) {
	r, h := simulated(c), pair(c)
	s := &session{kit: k, through: make([]part, int(c.Seatings))}
	var wait sync.WaitGroup
	for i := range s.through {
		wait.Go(func() {
			if ctx.Err() != nil {
				return
			}
			x := r.Single(h, rig.Left, i, k.channels)
			if ctx.Err() != nil {
				return
			}
			s.through[i] = k.takeApart(fmt.Sprintf("seating %d", i+1), x, c.Clock == 1)
			if i == 0 {
				s.clipping = clipping(k, x)
			}
		})
	}
	var err error
	wait.Go(func() { s.direct, err = direct() })
	wait.Go(func() { s.silent = k.hush(r, h) })
	wait.Wait()
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, err
	}
	if s.through[0].err == nil {
		wait.Go(func() {
			p := s.through[0]
			s.harmonics, s.harmonicsErr = distortion.Harmonics(p.parts, distortion.Config{Silence: p.take.Silence})
		})
		if s.impulse, err = k.deconvolver.Impulse(s.through[0].sweep); err != nil {
			panic(err) // cannot happen: it was just separated
		}
		wait.Wait()
	}
	return s, nil
}

// recordDirect patches the interface into itself.
func (k *kit) recordDirect(c Conditions) part {
	return k.takeApart("direct", simulated(c).Direct(k.channels)[:1], c.Clock == 1)
}

// noDrift is the drift in parts per million below which a correction is not worthwhile: a tenth of
// a microsecond per second.
const noDrift = 0.1

// takeApart finds the sweep in a recording and separates its responses.
func (k *kit) takeApart(name string, channels [][]float64, correct bool) part {
	rec := recording(name, channels)
	var p part
	placed, _ := placement.Locate(rec, k.stimulus) // Clock and Take report what is not found
	p.clock, p.clockErr = placed.Clock(1, sweep.Left)
	if correct && p.clockErr == nil && math.Abs(p.clock.Drift) > max(noDrift, 2*p.clock.Uncertainty) {
		placed = placed.CorrectDrift(p.clock)
	}
	if p.take, p.err = placed.Take(1, sweep.Left); p.err != nil {
		// The sweep was not found. Its place in the recording is still worth seeing.
		at := k.stimulus.Sweeps(sweep.Left)[0].Start
		p.sweep = placed.Recording.Channels[0][max(0, at-lead) : at+k.stimulus.Sweep().Len()+lead]
		return p
	}
	p.sweep = p.take.Sweeps[0]
	p.parts, p.err = k.deconvolver.Separate(p.sweep)
	return p
}

// hush records silence of the length of a sweep and deconvolves it, to show the noise in a
// response.
func (k *kit) hush(r rig.Rig, h rig.Headphones) *response.Impulse {
	n := int(placement.TakeDuration(k.stimulus).Seconds() * sampleRate)
	nothing := [][]float64{make([]float64, n), make([]float64, n)}
	x := r.Single(h, rig.Left, 0, nothing)[0][:n]
	impulse, err := k.deconvolver.Impulse(x)
	if err != nil {
		panic(err) // cannot happen: the length is right and the interface has noise
	}
	return impulse
}

// Orders is the highest harmonic that is measured.
const Orders = 5

// The stimulus has short silences to give a quick answer.
const (
	silence = 300 * time.Millisecond
	gap     = 400 * time.Millisecond
)

type played struct{ duration, level float64 }

// session holds everything recorded under one set of conditions, deconvolved and separated.
type session struct {
	kit      *kit
	direct   part
	through  []part            // one for each seating
	silent   *response.Impulse // a recording of silence, deconvolved like the others
	clipping string            // clipping by the recorder, in words

	// Of the first seating: the deconvolved recording with its harmonics, and the harmonics alone.
	impulse      *response.Impulse
	harmonics    *distortion.HarmonicSet
	harmonicsErr error
}

// part is one recording of the sweep with its separated responses.
type part struct {
	take     *placement.Take
	sweep    []float64 // the recording of the sweep, leadIn s before it to the end of the gap
	parts    *response.Deconvolved
	clock    capture.Clock
	clockErr error
	err      error // why there are no parts
}

func recording(name string, channels [][]float64) *capture.Recording {
	return &capture.Recording{Name: name, SampleRate: sampleRate, Channels: channels,
		Format: capture.Format{Bits: 64, Float: true}}
}

// clipping returns the inspection's finding about samples at full scale; "" if there is none.
func clipping(k *kit, channels [][]float64) string {
	loud := false
	for _, v := range channels[0] {
		loud = loud || v >= 1 || v <= -1
	}
	if !loud {
		return ""
	}
	// clipping is also found without the sweep
	placed, _ := placement.Locate(recording("recording", channels), k.stimulus)
	report := fitness.Inspect(placed, fitness.Config{Sides: []sweep.Side{sweep.Left}})
	for _, f := range report.Findings {
		if f.Kind == fitness.Clipping {
			return f.What
		}
	}
	return ""
}

// lead is the number of samples before the sweep in a take.
const lead = sampleRate / 20
