package review

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// Reading is one side in one seating: the headphones alone.
type Reading struct {
	// Name of the seating.
	Name string
	// Response of the headphones alone, smoothed over 1/Smoothing octave.
	Response response.Curve
	// Phase in radians at the frequencies of Response, the delay taken out and, where the
	// microphone's calibration has it, the microphone's phase.
	Phase []float64
	// Transfer is the same before smoothing and the microphone's calibration, the delay taken out; nil where
	// the response is from music and speech alone.
	Transfer *response.Transfer
	// Harmonics of the headphones, with the floor that noise and the interface set. It has neither
	// orders nor frequencies where what was played is no exponential sweep: then they are not known.
	Harmonics *distortion.HarmonicSet
	// Further is what the stimulus asks beyond the response; nil where it asks no more.
	Further *Further
	// Notes about the recording.
	Notes []string

	seating   int
	side      sweep.Side
	sweepAt   float64            // where in the recording its first sweep begins, s
	follows   []response.Finding // that it does not follow what was played, or is the direct recording
	noise     *response.Noise    // of the recording; nil where nothing tells it
	recording int                // its place among those of the pair, from 1; 0 where there is none
	// s, at which its sound comes re the direct recording's; what both recorders' starts differ by is in it
	arrival float64
	// soundLevel is that in dB SPL of a tone recorded at a level in dBFS; NaN without a calibrator.
	soundLevel func(recorded response.Figure, frequency float64) float64
	maxLevels  func() []MaxLevel // of its levels, computed once

	fromRate int      // Hz, the lowest rate that a recording was resampled from or to; 0 where none was
	pieces   []string // the recordings of music and speech that it is from
	polarity float64  // of these re the direct recordings, mean of ±1
}

// read measures one side in one seating.
func (b *Bench) read(r *recordings, u use) (*Reading, error) {
	placed, err := r.onPlayersClock(u)
	if err != nil {
		return nil, err
	}
	p, err := b.separate(placed, u, b.microphoneOf(u.side))
	if err != nil {
		return nil, err
	}
	direct := b.parts[u.side]
	exchanged, err := b.checkExchanged(u, p, direct)
	if err != nil {
		return nil, err
	}
	if exchanged != nil && !b.config.UseUnfit {
		return nil, fmt.Errorf("%w: %s; %s", fitness.ErrUnfit, exchanged[0].What, exchanged[0].Remedy)
	}
	h, err := p.transfer.Divide(direct.transfer)
	if err != nil {
		return nil, err
	}
	h.Rig = b.config.Rig
	if b.config.MaxFrequency > 0 {
		h.Valid = h.Valid.Intersect(response.Band{Low: 0, High: b.config.MaxFrequency})
	}
	curve, err := b.curve(h, p, direct, u.side)
	if err != nil {
		return nil, err
	}
	harmonics := p.harmonics
	if p.noFloor { // noise would be read as distortion
		harmonics = &distortion.HarmonicSet{Rig: distortion.RigUnknown}
	}
	if len(harmonics.Orders) > 0 {
		rigShare := harmonics.WithRig
		if b.config.SubtractInterface {
			rigShare = harmonics.Subtract
		}
		if harmonics, err = rigShare(direct.harmonics); err != nil {
			return nil, err
		}
	}
	// Without a peak that stands out the delay stays in: the picture of the impulse response takes
	// harm, and the phase is not known.
	delay, err := h.Impulse().Delay()
	noPeak := errors.Is(err, response.ErrNoPeak)
	if err != nil && !noPeak {
		return nil, err
	}
	fromRate := lowestRate(direct.fromRate, resampledFrom(u.recording))
	reading := &Reading{Name: u.name, Response: curve, Transfer: h.Delayed(-delay), Harmonics: harmonics,
		seating: u.seating, side: u.side, sweepAt: p.sweepAt,
		follows: append(exchanged, p.checkFollows(u.recording.Name, u.channel)...), fromRate: fromRate}
	reading.noise = p.noise
	if reading.recording, reading.arrival = 1+slices.Index(r.order, u.recording), delay+p.sweepAt-direct.sweepAt; noPeak {
		reading.arrival = math.NaN()
	}
	if reading.Phase, err = b.phase(reading, noPeak); err != nil {
		return nil, err
	}
	sound := &Bench{sensitivity: b.sensitivity, microphone: b.microphone, microphoneRight: b.microphoneRight}
	reading.soundLevel = func(recorded response.Figure, f float64) float64 { // which keeps no recording
		return sound.soundLevel(recorded, f, u.side)
	}
	reading.maxLevels = sync.OnceValue(reading.computeMaxLevels)
	if reading.Further = p.further; p.further != nil {
		p.further.against(direct.further, b, reading)
	}
	if p.noFloor {
		reading.Notes = append(reading.Notes,
			fmt.Sprintf("%s, %v side: distortion is not known, for no silence in the recording tells its noise.",
				u.recording.Name, u.side))
	}
	for _, rejected := range p.rejected {
		reading.Notes = append(reading.Notes, u.recording.Name+": "+rejected)
	}
	return reading, nil
}

// curve smooths the response, takes the microphone's off it, and leaves out what noise hides, in
// either recording.
func (b *Bench) curve(h *response.Transfer, through, direct *parts, side sweep.Side) (response.Curve, error) {
	curve, err := h.Smoothed(b.frequency, Smoothing)
	if err != nil {
		return curve, err
	}
	for _, p := range []*parts{through, direct} {
		for i, v := range p.aboveNoise {
			if math.IsNaN(v) {
				curve.Level[i] = v
			}
		}
	}
	return b.withoutMicrophone(curve, side)
}

// withoutMicrophone takes what the microphone of a side reads too high off a curve.
func (b *Bench) withoutMicrophone(c response.Curve, side sweep.Side) (response.Curve, error) {
	m := b.microphoneOf(side)
	if m == nil {
		return c, nil
	}
	exact := *m // what is unsure of it is a component, which components adds
	exact.Response.Uncertainty, exact.Response.Components = make([]float64, len(m.Response.Level)), nil
	return exact.Correct(c)
}

// phase is that of the response, where its level is known, and not known where the delay is not.
func (b *Bench) phase(r *Reading, noDelay bool) ([]float64, error) {
	h := r.Transfer
	if m := b.microphoneOf(r.side); m != nil {
		h = m.CorrectTransfer(h)
	}
	phase, err := h.SmoothedPhase(r.Response.Frequency, Smoothing)
	for i := range phase {
		if noDelay || math.IsNaN(r.Response.Level[i]) {
			phase[i] = math.NaN()
		}
	}
	return phase, err
}
