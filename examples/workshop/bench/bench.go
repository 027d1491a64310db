package bench

import (
	"context"
	"errors"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/workshop/kept"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
	"example.com/earnest/sweep"
	"example.com/earnest/target"
)

// Bench makes measurements. It keeps the last few sweeps and recordings, so that a change of the
// analysis needs no new recording. It may be shared.
type Bench struct {
	kits     kept.Things[played, *kit]
	directs  kept.Things[patched, part]
	sessions kept.Things[Conditions, *session]
}

// New returns a Bench that has measured nothing.
func New() *Bench {
	b := new(Bench)
	b.kits.Most, b.directs.Most, b.sessions.Most = 4, 4, 4
	return b
}

// Grid is the grid on which responses are compared, 96 points per octave.
var Grid = response.LogGrid(audible.Low, audible.High, 96)

var audible = response.Band{Low: 20, High: 20000}

// Measure plays, records and analyses with the given settings. It returns a *RangeError, or the
// error of the context, which it checks before each part of the work. A measurement that fails
// gives a Result with a Problem.
func (b *Bench) Measure(ctx context.Context, s Settings) (*Result, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p := played{s.Duration, s.Level}
	k, err := b.kits.Get(ctx, p, func(context.Context) (*kit, error) { return newKit(p) })
	if err != nil {
		return nil, err
	}
	recorded, err := b.sessions.Get(ctx, s.Conditions, func(ctx context.Context) (*session, error) {
		return k.record(ctx, s.Conditions, func() (part, error) {
			return b.directs.Get(ctx, patched{p, s.Drift, s.Clock},
				func(context.Context) (part, error) { return k.recordDirect(s.Conditions), nil })
		})
	})
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, err
	}
	r := &Result{Settings: s, Sweep: k.stimulus.Sweep(), Lead: float64(lead) / sampleRate, session: recorded,
		Recording: recorded.through[0].sweep}
	r.Problem = r.analyse()
	return r, nil
}

// patched holds the settings on which a direct recording depends.
type patched struct {
	played
	drift, clock float64
}

// Result holds the results of a measurement beside the truth.
type Result struct {
	Settings Settings
	Sweep    *sweep.Sweep
	// Recording is the sweep recorded through the headphones in the first seating, full scale 1. It
	// begins Lead seconds before the sweep was played.
	Recording []float64
	Lead      float64
	// Problem says why there is no response; the fields below are then empty.
	Problem error
	// Impulse is the deconvolved recording including the harmonics, and Peak the time of its linear
	// peak in seconds.
	Impulse *response.Impulse
	Peak    float64
	// Response is the mean over the seatings, Seatings holds each of them, and Average the mean
	// with its uncertainty.
	Response response.Curve
	Seatings []response.Curve
	Average  *response.Average
	// Floor is the response that noise alone would show in one seating, by third octave.
	Floor response.Curve
	// Truth is the result of a perfect measurement at this level, and Error the deviation of
	// Response from it, including level.
	Truth response.Curve
	Error target.Deviation
	// SNR is the level of the response re Floor, octave by octave.
	SNR []OctaveSNR
	// SmoothingError is the deviation of the smoothed truth from the truth.
	SmoothingError target.Deviation
	// Harmonics of the pair; nil, with HarmonicsErr, if the sweep is too short. TrueHarmonics, by
	// order from the second, are in dB re the fundamental at the frequencies of
	// Harmonics.Fundamental.
	Harmonics     *distortion.HarmonicSet
	HarmonicsErr  error
	TrueHarmonics [][]float64
	session       *session
}

// analyse turns the recordings into curves.
func (r *Result) analyse() error {
	s := r.session
	for _, p := range slices.Concat(s.through, []part{s.direct}) {
		if p.err != nil {
			return p.err
		}
	}
	r.Impulse, r.Harmonics, r.HarmonicsErr = s.impulse, s.harmonics, s.harmonicsErr
	var err error
	if r.Peak, err = s.through[0].parts.Linear.Delay(); err != nil {
		return err
	}
	direct, err := r.transfer(s.direct.parts.Linear)
	if err != nil {
		return err
	}
	for _, p := range s.through {
		h, err := r.transfer(p.parts.Linear)
		if err != nil {
			return err
		}
		curve, err := r.curve(h, direct, r.Settings.Smoothing)
		if err != nil {
			return err
		}
		r.Seatings = append(r.Seatings, curve)
	}
	if r.Average, err = response.AverageOf(r.Seatings); err != nil {
		return err
	}
	r.Response = r.Average.Level
	before, after := r.Window()
	noise := s.silent.WindowAt(r.Peak, before, after).Transfer()
	if r.Floor, err = r.curve(noise, direct, 3); err != nil {
		return err
	}
	r.findTruth()
	if r.Harmonics != nil {
		r.TrueHarmonics = trueHarmonics(r.Settings.Conditions, r.Harmonics)
	}
	r.SNR = r.octaveSNR()
	if r.SmoothingError, err = r.against(r.smoothTruth()); err != nil {
		return err
	}
	r.Error, err = r.against(r.Response)
	return err
}

// transfer returns the windowed transfer function of a linear response.
func (r *Result) transfer(linear *response.Impulse) (*response.Transfer, error) {
	w, err := linear.Window(r.Window())
	if err != nil {
		return nil, err
	}
	return w.Transfer(), nil
}

// curve returns a level on Grid, divided by the direct recording if that is set.
func (r *Result) curve(h, direct *response.Transfer, fraction float64) (response.Curve, error) {
	if r.Settings.Direct == 1 {
		var err error
		if h, err = h.Divide(direct); err != nil {
			return response.Curve{}, err
		}
	}
	c, err := smoothed(h, fraction)
	return c.Within(audible), err
}

// smoothTruth returns the truth with the chosen smoothing, to show the error of smoothing alone.
func (r *Result) smoothTruth() response.Curve {
	var plan *smoothing.Plan
	var err error
	switch r.Settings.Smoothing {
	case 0:
		return r.Truth
	case Hearing:
		plan, err = smoothing.NewERB(Grid, nil, 1)
	default:
		plan, err = smoothing.NewOctave(Grid, nil, r.Settings.Smoothing)
	}
	if err != nil {
		panic(err) // cannot happen: the grid is fixed and the fraction was checked
	}
	power := make([]float64, len(r.Truth.Level))
	for i, v := range r.Truth.Level {
		power[i] = decibel.Power(v)
	}
	smooth := r.Truth.Offset(0)
	for i, p := range plan.Mean(nil, power) {
		smooth.Level[i] = decibel.OfPower(p)
	}
	return smooth
}

func smoothed(h *response.Transfer, fraction float64) (response.Curve, error) {
	if h.Valid.Intersect(audible).Octaves() < 0.1 {
		return response.Curve{}, errors.New(
			"bench: the windows are too short to give a response; lengthen the one after the peak")
	}
	switch fraction {
	case 0:
		return h.Magnitude().Resample(Grid), nil
	case Hearing:
		return h.SmoothedERB(Grid, 1)
	}
	return h.Smoothed(Grid, fraction)
}
