package session

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"runtime"
	"sync"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// Grid and smoothing of the responses in a Measurement: 1/12 octave, at 1/48.
const (
	Smoothing = 12
	perOctave = 48
	// orders is the highest harmonic that is looked for.
	orders = 8
	// leastSNR is the signal-to-noise ratio in dB below which a response is not
	// known: noise then moves it by 0.4 dB.
	leastSNR = 10
)

// bench is the rig, ready to measure.
type bench struct {
	session     *Session
	stimulus    *sweep.Stimulus
	recordings  *recordings
	deconvolver *response.Deconvolver
	grid        []float64
	calibration *level.Calibration // of the microphone; nil when there is none
	direct      map[sweep.Kind]*parts
}

// parts is one side of a recording, taken apart.
type parts struct {
	transfer  *response.Transfer
	harmonics *distortion.HarmonicSet
	floor     response.Curve // of the noise, like transfer; no points when not known
	spoilt    []capture.Spoilt
}

func (s *Session) newBench(st *sweep.Stimulus, progress func(string)) (*bench, error) {
	r, s, err := s.record(st, progress)
	if err != nil {
		return nil, err
	}
	b := &bench{session: s, stimulus: st, recordings: r, direct: map[sweep.Kind]*parts{},
		grid: grid(st.Sweep())}
	if b.calibration, err = s.calibration(); err != nil {
		return nil, err
	}
	if b.calibration != nil {
		for _, f := range b.calibration.Findings {
			r.notes = append(r.notes, s.Rig.Microphone+": "+f+".")
		}
	}
	if b.deconvolver, err = response.NewDeconvolver(st.Sweep(), response.DeconvolverConfig{Longest: capture.TakeDuration(st), Orders: orders}); err != nil {
		return nil, err
	}
	if r.unfit[r.files[r.direct].Name] && !s.UseUnfit {
		return nil, fmt.Errorf("the direct recording: %w", unfitError(r.findings))
	}
	progress("direct recording " + s.Direct.File)
	for _, u := range r.uses {
		if u.seating == directUse {
			if b.direct[u.side], err = b.separate(u); err != nil {
				return nil, err
			}
		}
	}
	return b, nil
}

// calibration reads that of the microphone; nil when the session names none.
func (s *Session) calibration() (*level.Calibration, error) {
	if s.Rig.Microphone == "" {
		return nil, nil
	}
	c, err := level.ReadCalibrationFile(s.path(s.Rig.Microphone))
	if err == nil && s.Calibrator.File != "" {
		// The calibrator has set the level at its frequency already.
		c, err = c.RelativeTo(or(s.Calibrator.Frequency, 1000))
	}
	if err != nil {
		return nil, fmt.Errorf("[rig] microphone %s: %w", s.Rig.Microphone, err)
	}
	return &c, nil
}

// grid is perOctave points to an octave, and the two ends of the sweep: what is
// claimed of 20 Hz is to be held against 20 Hz.
func grid(s *sweep.Sweep) []float64 {
	f := response.LogGrid(s.Start(), s.Stop(), perOctave)
	if s.Start() < f[0]*(1-1e-6) {
		f = append([]float64{s.Start()}, f...)
	}
	if s.Stop() > f[len(f)-1]*(1+1e-6) {
		f = append(f, s.Stop())
	}
	return f
}

// directLevel is the level of the interface at 1 kHz, mean of the sides, in dB.
func (b *bench) directLevel() float64 {
	var sum float64
	for _, p := range b.direct {
		sum += 20 * math.Log10(cmplx.Abs(p.transfer.At(1000))) / float64(len(b.direct))
	}
	return sum
}

// unfitError joins what makes recordings unfit.
func unfitError(findings []capture.Finding) error {
	errs := []error{capture.ErrUnfit}
	for _, f := range findings {
		if f.Severity == capture.Unfit {
			errs = append(errs, errors.New(f.String()))
		}
	}
	return errors.Join(errs...)
}

// separate takes one side of a recording apart.
func (b *bench) separate(u use) (*parts, error) {
	rec := b.recordings.files[u.file]
	take, err := rec.Take(b.stimulus, u.channel, u.side)
	if err != nil {
		return nil, err
	}
	mean, spoilt := take.Average()
	p, err := b.takeApart(mean, take, len(take.Sweeps)-len(spoilt))
	if err != nil {
		return nil, fmt.Errorf("%s, channel %d: %w", rec.Name, u.channel, err)
	}
	p.spoilt = spoilt
	return p, nil
}

func (b *bench) takeApart(mean []float64, take *capture.Take, averages int) (*parts, error) {
	separated, err := b.deconvolver.Separate(mean)
	if err != nil {
		return nil, err
	}
	window, err := separated.Linear.Window(0, 0)
	if err != nil {
		return nil, err
	}
	p := &parts{transfer: window.Transfer()}
	if take.Silence != nil {
		noise, err := response.NewNoise(take.Silence, take.SampleRate)
		if err != nil {
			return nil, err
		}
		before, after := response.DefaultWindow(b.stimulus.Sweep())
		p.floor = noise.Averaged(averages).Curve(b.stimulus.Sweep(), b.grid, before, after)
	}
	p.harmonics, err = distortion.Harmonics(separated, distortion.Config{
		Silence: take.Silence, Averages: averages, Ceiling: b.session.Rig.Ceiling,
	})
	return p, err
}

// reading measures one side in one seating: the headphones alone.
func (b *bench) reading(u use) (*Reading, error) {
	p, err := b.separate(u)
	if err != nil {
		return nil, err
	}
	direct := b.direct[u.side]
	h, err := p.transfer.Over(direct.transfer)
	if err != nil {
		return nil, err
	}
	h.Rig = b.session.Rig.Name
	if ceiling := b.session.Rig.Ceiling; ceiling > 0 {
		h.Valid = h.Valid.Intersect(response.Band{Low: 0, High: ceiling})
	}
	curve, err := b.curve(h, p, direct)
	if err != nil {
		return nil, err
	}
	rigShare := p.harmonics.WithRig
	if b.session.Rig.Subtract {
		rigShare = p.harmonics.Subtract
	}
	harmonics, err := rigShare(direct.harmonics, distortion.BeforeDevice)
	if err != nil {
		return nil, err
	}
	// Without a peak that stands out the delay stays in: the picture of the impulse
	// response takes harm, and the phase is not known.
	delay, err := h.Impulse().Delay()
	noPeak := errors.Is(err, response.ErrNoPeak)
	if err != nil && !noPeak {
		return nil, err
	}
	r := &Reading{Name: b.session.Seatings[u.seating].name(u.seating), Response: curve, Transfer: h.Delayed(-delay), Harmonics: harmonics}
	if r.Phase, err = b.phase(r, noPeak); err != nil {
		return nil, err
	}
	for _, spoilt := range p.spoilt {
		r.Notes = append(r.Notes, fmt.Sprintf("%s: %v", u.file, spoilt))
	}
	return r, nil
}

// curve smooths the response, takes the microphone's off it, and leaves out
// what noise hides, in either recording.
func (b *bench) curve(h *response.Transfer, through, direct *parts) (response.Curve, error) {
	curve, err := h.Smoothed(b.grid, Smoothing)
	if err != nil {
		return curve, err
	}
	for _, p := range []*parts{through, direct} {
		if len(p.floor.Frequency) == 0 {
			continue
		}
		raw, err := p.transfer.Smoothed(b.grid, Smoothing)
		if err != nil {
			return curve, err
		}
		hidden := raw.Above(p.floor, leastSNR)
		for i, v := range hidden.Level {
			if v != v {
				curve.Level[i] = v
			}
		}
	}
	if b.calibration == nil {
		return curve, nil
	}
	return b.calibration.Correct(curve)
}

// phase is that of the response, where its level is known, and not known where
// the delay is not.
func (b *bench) phase(r *Reading, noDelay bool) ([]float64, error) {
	h := r.Transfer
	if b.calibration != nil {
		h = b.calibration.CorrectTransfer(h)
	}
	phase, err := h.SmoothedPhase(r.Response.Frequency, Smoothing)
	for i := range phase {
		if noDelay || math.IsNaN(r.Response.Level[i]) {
			phase[i] = math.NaN()
		}
	}
	return phase, err
}

// side measures one side in every seating that has it and is fit to use; nil
// when none has.
func (b *bench) side(side sweep.Kind, progress func(string)) (*Side, error) {
	out := &Side{Name: "left"}
	if side == sweep.Right {
		out.Name = "right"
	}
	var uses []use
	for _, u := range b.recordings.uses {
		if u.seating == directUse || u.side != side {
			continue
		}
		if b.recordings.unfit[b.recordings.files[u.file].Name] && !b.session.UseUnfit {
			out.LeftOut = append(out.LeftOut, b.session.Seatings[u.seating].name(u.seating))
			continue
		}
		uses = append(uses, u)
	}
	if len(uses) == 0 {
		if len(out.LeftOut) > 0 {
			return nil, fmt.Errorf("the %s side: %w", out.Name, unfitError(b.recordings.findings))
		}
		return nil, nil
	}
	progress(fmt.Sprintf("%s side, %s", out.Name, seatings(len(uses))))
	return out, b.measure(out, uses)
}

func seatings(n int) string {
	if n == 1 {
		return "1 seating"
	}
	return fmt.Sprintf("%d seatings", n)
}

// measure takes the readings of a side, as many at once as there are
// processors, and averages them.
func (b *bench) measure(out *Side, uses []use) error {
	out.Seatings = make([]*Reading, len(uses))
	errs := make([]error, len(uses))
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, u := range uses {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			out.Seatings[i], errs[i] = b.reading(u)
		})
	}
	wait.Wait()
	if err := errors.Join(errs...); err != nil {
		return err
	}
	average, err := response.AverageOf(out.curves())
	if err != nil {
		return err
	}
	out.Average = average
	phases := make([][]float64, len(out.Seatings))
	for i, r := range out.Seatings {
		phases[i] = r.Phase
	}
	out.Phase = response.MeanPhase(phases...)
	out.common = b.session.Rig.Uncertainty
	out.response = average.Level.WithCommonUncertainty(out.common)
	return nil
}
