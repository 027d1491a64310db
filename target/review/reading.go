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
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// Reading holds the results of one side in one seating, for the headphones alone.
type Reading struct {
	// Name of the seating.
	Name string
	// Response of the headphones alone, smoothed over 1/Smoothing octave.
	Response response.Curve
	// Phase in radians at the frequencies of Response, without the delay and, if the microphone's
	// calibration has it, without the microphone's phase.
	Phase []float64
	// Transfer is the response before smoothing and before the microphone's error is subtracted,
	// without the delay; nil if the response comes from music and speech alone.
	Transfer *response.Transfer
	// Harmonics of the headphones, with the floor from noise and the interface. If the stimulus is
	// not an exponential sweep, they are not known and there are neither orders nor frequencies.
	Harmonics *distortion.HarmonicSet
	// Further holds the results of the stimulus's further parts; nil if it has none.
	Further *Further
	// Notes about the recording.
	Notes []string

	seating   int
	side      sweep.Side
	sweepAt   float64            // start of its first sweep in the recording, s
	follows   []response.Finding // it does not follow the stimulus, or is the direct recording
	noise     *response.Noise    // of the recording; nil if not known
	recording int                // its number among those of the pair, from 1; 0 if there is none
	// arrival of the sound in s re that in the direct recording; includes the difference of the
	// recorders' starts
	arrival float64
	// soundLevel returns the level in dB SPL of a tone recorded at a level in dBFS; NaN without a
	// calibrator.
	soundLevel func(recorded response.Figure, frequency float64) float64
	// absolute returns the budget of such a level from that of the response.
	absolute  func(relative response.Budget) response.Budget
	maxLevels func() []maxLevel // computed once

	fromRate int      // Hz, the lowest rate that a recording was resampled from or to; 0 if none was
	pieces   []string // the recordings of music and speech from which it comes
	polarity float64  // of these pieces re their direct recordings, mean of ±1
}

// newReading returns an empty reading of a side in a seating. It holds no reference to the
// recording.
func (b *Bench) newReading(u use) *Reading {
	r := &Reading{Name: u.name, seating: u.seating, side: u.side}
	side := u.side // u holds the recording
	sound := &Bench{sensitivity: b.sensitivity, microphone: b.microphone, microphoneRight: b.microphoneRight,
		stated: b.stated, identity: b.identity} // holds no reference to a recording
	r.soundLevel = func(recorded response.Figure, f float64) float64 { return sound.soundLevel(recorded, f, side) }
	r.absolute = func(relative response.Budget) response.Budget {
		return sound.absolute(relative, *sound.sensitivity) // there is one if a level in sound is known
	}
	r.maxLevels = sync.OnceValue(r.computeMaxLevels)
	return r
}

// copyOfReading returns a copy of what Seat has measured, for Measure to add to.
func (u use) copyOfReading() *Reading {
	r := *u.reading
	return &r
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
	exchanged := checkExchanged(u, p, direct)
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
	if p.noFloor { // otherwise noise would be read as distortion
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
	// Without a clear peak the delay is not removed. The plot of the impulse response is then
	// shifted, and the phase is not known.
	delay, err := h.Impulse().Delay()
	noPeak := errors.Is(err, response.ErrNoPeak)
	if err != nil && !noPeak {
		return nil, err
	}
	fromRate := lowestRate(direct.fromRate, resampledFrom(u.recording))
	reading := b.newReading(u)
	reading.Response, reading.Transfer, reading.Harmonics = curve, h.Delayed(-delay), harmonics
	reading.sweepAt, reading.fromRate, reading.noise = p.sweepAt, fromRate, p.noise
	reading.follows = append(exchanged, p.checkFollows(u.recording.Name, u.channel)...)
	if reading.recording, reading.arrival = 1+slices.Index(r.order, u.recording), delay+p.sweepAt-direct.sweepAt; noPeak {
		reading.arrival = math.NaN()
	}
	if reading.Phase, err = b.phase(reading, noPeak); err != nil {
		return nil, err
	}
	if reading.Further = p.further; p.further != nil {
		p.further.against(direct.further, b, reading)
	}
	if p.noFloor {
		reading.Notes = append(reading.Notes,
			fmt.Sprintf("%s, %v side: distortion is not known, since no silence in the recording shows its noise.",
				u.recording.Name, u.side))
	}
	for _, rejected := range p.rejected {
		reading.Notes = append(reading.Notes, u.recording.Name+": "+rejected)
	}
	return reading, nil
}

// curve smooths the response, subtracts the microphone's error, and leaves out what noise hides in
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

// withoutMicrophone subtracts the error of a side's microphone from a curve.
func (b *Bench) withoutMicrophone(c response.Curve, side sweep.Side) (response.Curve, error) {
	m := b.microphoneOf(side)
	if m == nil {
		return c, nil
	}
	exact := *m // its uncertainty is a component, which components adds
	exact.Response.Uncertainty, exact.Response.Components = make([]float64, len(m.Response.Level)), nil
	return exact.Correct(c)
}

// phase returns the phase of the response where its level is known. It is not known without the
// delay.
func (b *Bench) phase(r *Reading, noDelay bool) ([]float64, error) {
	h := r.Transfer
	if m := b.microphoneOf(r.side); m != nil {
		h = b.corrected(h, m)
	}
	phase, err := h.SmoothedPhase(r.Response.Frequency, Smoothing)
	for i := range phase {
		if noDelay || math.IsNaN(r.Response.Level[i]) {
			phase[i] = math.NaN()
		}
	}
	return phase, err
}

// corrected returns a transfer function divided by that of a microphone, which is interpolated at
// its bins once for all seatings.
func (b *Bench) corrected(h *response.Transfer, m *level.Calibration) *response.Transfer {
	b.bins.Lock()
	inverse := b.inverses[m]
	if inverse == nil || inverse.Len != h.Len || inverse.SampleRate != h.SampleRate {
		one := &response.Transfer{Bins: make([]complex128, len(h.Bins)), SampleRate: h.SampleRate, Len: h.Len,
			Valid: response.AllFrequencies}
		for k := range one.Bins {
			one.Bins[k] = 1
		}
		inverse = m.CorrectTransfer(one)
		b.inverses[m] = inverse
	}
	b.bins.Unlock()
	out := *h
	out.Valid, out.Bins = h.Valid.Intersect(inverse.Valid), make([]complex128, len(h.Bins))
	for k, v := range h.Bins {
		out.Bins[k] = v * inverse.Bins[k]
	}
	return &out
}
