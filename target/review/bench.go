package review

import (
	"cmp"
	"errors"
	"fmt"
	"math/cmplx"
	"slices"
	"sync"
	"time"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
	"example.com/earnest/target"
)

// How responses are read: smoothed over 1/Smoothing octave, at PerOctave points to an octave.
const (
	Smoothing = 12
	PerOctave = 48
)

const (
	// orders is the highest harmonic that is looked for.
	orders = 8
	// leastSNR is the lowest signal-to-noise ratio in dB at which a response counts as known. At 10
	// dB, noise moves the level by 0.4 dB.
	leastSNR = 10
	// beforeWithoutLaw is how much the window keeps before the peak if the stimulus is not an
	// exponential sweep. The n-th harmonic at f Hz of a linear sweep of k Hz per second leads by f
	// (1 − 1/n)/k: at 200 Hz and 5 kHz per second the second harmonic leads by 20 ms.
	beforeWithoutLaw = 20 * time.Millisecond
)

// Config describes the stimulus and the rig.
type Config struct {
	// Stimulus that was played; nil if only music and speech were played.
	Stimulus *sweep.Stimulus
	// Rig in words. Only curves from the same rig are compared.
	Rig string
	// MaxFrequency is the highest frequency in Hz at which the microphone's response is known; 0
	// means that the stimulus sets the limit.
	MaxFrequency float64
	// Microphone is the microphone's error, positive where it reads too high; nil means that it is
	// taken as flat. With a Calibrator, the error is taken relative to that at the calibrator's
	// frequency. An uncertainty in the file becomes the component "microphone".
	Microphone *level.Calibration
	// MicrophoneRight is the error of the right side's microphone; nil means that one microphone
	// recorded both sides, or that Microphone holds for both.
	MicrophoneRight *level.Calibration
	// Stated holds the components of uncertainty that the recordings do not show.
	// Results.NotIncluded lists the usual components that are missing here.
	Stated []Stated
	// Field is the level in dB at the rig's ear relative to the level that a microphone would read
	// in the field for which exposure limits are stated, such as a table for the diffuse field of
	// the ear simulator (ISO 11904-2). It is subtracted from levels of material in dB(A). If it is
	// nil, those levels are at the ear of this rig.
	Field *response.Curve
	// Uncertainty is the standard uncertainty in dB of microphone and positioning that the scatter
	// of the seatings does not show. It is one component, "rig", common to everything on the rig,
	// so it cancels in left less right and between pairs.
	Uncertainty float64
	// SubtractInterface subtracts the interface's harmonics from those of the headphones, as
	// complex numbers. Without it they set the floor.
	SubtractInterface bool
	// UseUnfit also measures recordings that are not fit to use.
	UseUnfit bool
	// Calibrator is the sound calibrator whose tone was recorded on the microphone, at the gain of
	// the recordings through the headphones, and CalibratorTone that recording. If Calibrator is
	// nil, nothing is known in dB SPL.
	Calibrator     *level.Calibrator
	CalibratorTone Channel
	// Like is a bench that has its direct recording; nil means that there is none. Where this bench
	// has the same stimulus and is given the same direct recording, it takes over what was measured
	// of it.
	Like *Bench
}

// band returns the band over which a response can be known.
func (c Config) band() response.Band {
	if c.Stimulus == nil {
		return target.Audible
	}
	s := c.Stimulus.Signal()
	return response.Band{Low: s.Start(), High: s.Stop()}
}

// Bench is a rig with its direct recording, ready to measure pairs. After Direct it does not
// change, and may be shared.
type Bench struct {
	config      Config
	frequency   []float64 // Hz, at which responses are read
	deconvolver *response.Deconvolver
	microphone  *level.Calibration // nil when it is taken as flat
	sensitivity *level.Sensitivity // nil without a calibrator

	microphoneRight *level.Calibration // nil when it is the same
	stated          []Stated
	notes           []string // about the configuration and the drift
	// standard uncertainty in dB, with its sign; nil without a second direct recording
	drift    map[sweep.Side][]float64
	identity string // of the direct recording

	calibratorFindings []response.Finding

	direct *recordings
	parts  map[sweep.Side]*parts
	given  Channels           // what parts are of
	found  []response.Finding // in it
	// calibrated is how many of the doubts of direct, the first, are about the calibrator.
	calibrated int

	levels       sync.Mutex
	deconvolvers map[float64]*response.Deconvolver // of the sweep at other levels, by level

	shares sync.Mutex
	errors map[sweep.Side]*sharedErrors

	bins     sync.Mutex
	inverses map[*level.Calibration]*response.Transfer // 1 over each microphone, at the bins of the responses
}

// New prepares a bench. The errors are about the configuration, and about a microphone whose
// calibration does not reach the calibrator's frequency.
func New(c Config) (*Bench, error) {
	if !(c.MaxFrequency >= 0) {
		return nil, fmt.Errorf("review: a highest frequency of %v Hz; it cannot be below zero", c.MaxFrequency)
	}
	if low := c.band().Low; c.MaxFrequency > 0 && c.MaxFrequency <= low {
		return nil, fmt.Errorf("review: a highest frequency of %v Hz; the stimulus begins at %v Hz: give the frequency to "+
			"which the microphone's response is known, or 0", c.MaxFrequency, low)
	}
	if c.Field != nil {
		if _, err := response.NewCurve(c.Field.Frequency, c.Field.Level); err != nil {
			return nil, fmt.Errorf("review: the response in the field: %w", err)
		}
	}
	b := &Bench{config: c, frequency: grid(c.band()), microphone: c.Microphone, microphoneRight: c.MicrophoneRight,
		direct: newRecordings(c.Stimulus, &fitness.Set{}), deconvolvers: map[float64]*response.Deconvolver{},
		inverses: map[*level.Calibration]*response.Transfer{}, errors: map[sweep.Side]*sharedErrors{}}
	var err error
	if b.stated, b.notes, err = c.checked(); err != nil {
		return nil, err
	}
	for _, m := range []**level.Calibration{&b.microphone, &b.microphoneRight} {
		if *m == nil || c.Calibrator == nil {
			continue
		}
		// The calibrator sets the level at its own frequency, so the response there would be taken off
		// twice.
		relative := **m
		if relative.Response, err = relative.Response.NormaliseAt(c.Calibrator.Frequency); err != nil {
			return nil, fmt.Errorf("calibration of the microphone: %w", err)
		}
		*m = &relative
	}
	if c.Stimulus == nil {
		b.config.Like = nil
		b.identity = "material"
		b.calibrate() // it adds its findings to the doubts
	}
	return b, nil
}

// Direct takes the recording of the interface patched into itself, a channel for each side, and
// returns the findings about it. Call it before the first Pair. After an error it may be called
// again with another recording. It also reads the calibrator's tone, if there is one. If the tone
// cannot be used, a finding says so and nothing is known in dB SPL.
//
// An error that wraps fitness.ErrUnfit says why the recording is not fit to use. Config.UseUnfit
// suppresses that error.
func (b *Bench) Direct(c Channels) ([]response.Finding, error) {
	if b.config.Stimulus == nil {
		return nil, errNoStimulus
	}
	if err := errors.Join(c.Left.Err, c.Right.Err); err != nil && !b.config.UseUnfit {
		return nil, fmt.Errorf("the direct recording: %w", cmp.Or(c.Left.Err, c.Right.Err))
	}
	if c.Left.Recording == nil || c.Right.Recording == nil {
		return nil, errors.New("review: the direct recording needs a channel for each side; " +
			"name one channel twice if there is only one")
	}
	// Drop what an earlier, refused recording left.
	b.direct, b.parts = newRecordings(b.config.Stimulus, &fitness.Set{}), nil
	calibrated := b.calibrate()
	b.calibrated = len(b.direct.doubts)
	if b.takeOver(c) {
		return append(calibrated, b.found...), nil
	}
	uses, found := b.direct.uses(c, 0, "direct")
	found = append(found, b.direct.inspect(uses, true)...)
	findings := append(calibrated, found...)
	var err error
	if b.deconvolver, err = response.NewDeconvolver(b.config.Stimulus.Signal(), response.DeconvolverConfig{
		Longest: placement.TakeDuration(b.config.Stimulus), Orders: orders,
	}); err != nil {
		return findings, err
	}
	measured := map[sweep.Side]*parts{}
	for _, u := range uses {
		if err := cmp.Or(u.cutShort(), b.direct.unfit(u)); err != nil && (u.cut != nil || !b.config.UseUnfit) {
			return findings, fmt.Errorf("the direct recording: %w", err)
		}
		b.direct.known(&u)
		p, err := b.direct.onPlayersClock(u)
		if err != nil {
			return findings, err
		}
		if measured[u.side], err = b.separate(p, u, nil); err != nil {
			return findings, err
		}
	}
	doubts, err := b.checkDirect(uses, measured)
	if err != nil {
		return findings, err
	}
	doubts = append(doubts, checkLevel(uses[0].recording.Name, measured)...)
	b.parts, b.direct.doubts, b.drift = measured, append(b.direct.doubts, doubts...), nil
	b.identity = b.fingerprint()
	b.direct.forgetParts()
	b.given, b.found, b.config.Like = c, slices.Concat(found, doubts), nil
	return append(findings, doubts...), nil
}

// takeOver takes what Config.Like has measured of the same direct recording, if it has.
func (b *Bench) takeOver(c Channels) bool {
	from := b.config.Like
	if from == nil || len(from.parts) == 0 || from.drift != nil || c.Left.Err != nil || c.Right.Err != nil ||
		from.config.Stimulus != b.config.Stimulus || from.config.MaxFrequency != b.config.MaxFrequency ||
		from.config.UseUnfit != b.config.UseUnfit || from.given != c {
		return false
	}
	doubts := append(b.direct.doubts, from.direct.doubts[from.calibrated:]...)
	b.direct, b.parts, b.drift, b.identity = from.direct.clone(), from.parts, nil, from.identity
	b.direct.doubts = doubts
	b.deconvolver, b.given, b.found, b.config.Like = from.deconvolver, from.given, from.found, nil
	return true
}

// directLevel returns the level of the interface at 1 kHz, the mean of the sides, in dB.
func (b *Bench) directLevel() float64 { return levelAt1k(b.parts) }

// fingerprint identifies this direct recording.
func (b *Bench) fingerprint() string {
	var parts []float64
	for _, f := range b.frequency {
		h := b.parts[sweep.Left].transfer.At(f)
		parts = append(parts, real(h), imag(h))
	}
	return statistic.Fingerprint(parts)
}

// separate averages the sweeps of one side and separates them. The microphone is nil for a
// recording made without one.
func (b *Bench) separate(placed *placement.Placement, u use, microphone *level.Calibration) (*parts, error) {
	take, err := placed.Take(u.channel, u.side)
	if err != nil {
		return nil, err
	}
	if u.gated {
		take.Silence = nil
	}
	mean, rejected := take.Average()
	first := b.config.Stimulus.Sweeps(u.side)[0].Start
	p := &parts{fromRate: resampledFrom(u.recording), rejected: rejected, sweepAt: take.Start +
		float64(first)/float64(take.SampleRate)}
	separated, err := b.deconvolver.Separate(mean)
	if err == nil {
		err = b.analyse(p, separated, take, len(take.Sweeps)-len(rejected), u, microphone)
	}
	if err != nil {
		return nil, fmt.Errorf("%s, channel %d: %w", u.recording.Name, u.channel, err)
	}
	if u.parts != nil {
		p.further = b.ask(u, swept{mean: mean, averages: len(take.Sweeps) - len(rejected), separated: separated,
			harmonics: p.harmonics, gain: b.loudness(take.Sweeps[0]) - b.config.Stimulus.Level(), silence: take.Silence}, microphone)
	}
	return p, nil
}

func (b *Bench) analyse(p *parts, separated *response.Deconvolved, take *placement.Take, averages int, u use,
	microphone *level.Calibration) error {
	var before time.Duration // 0 means the usual length
	if b.config.Stimulus.Signal().Law() == nil {
		before = beforeWithoutLaw
	}
	window, err := separated.Linear.Window(before, 0)
	if err != nil {
		return err
	}
	p.noFloor = take.Silence == nil
	if p.noFloor {
		p.transfer = window.Transfer()
	} else {
		noise, err := response.NewNoise(take.Silence, take.SampleRate)
		if err != nil {
			return err
		}
		p.noise, noise = noise, noise.Averaged(averages)
		if p.floor, err = window.Floor(noise, b.frequency); err != nil {
			return err
		}
		p.transfer = window.InNoise(noise, u.noise()).Transfer()
	}
	t := p.transfer
	plain := &response.Transfer{Bins: t.Bins, SampleRate: t.SampleRate, Len: t.Len, Valid: t.Valid}
	if p.level, err = plain.Smoothed(b.frequency, Smoothing); err != nil {
		return err
	}
	if !p.noFloor {
		p.aboveNoise = p.level.MaskBelow(p.floor, leastSNR).Level
	}
	if separated.Harmonics == nil { // this signal does not show harmonics
		p.harmonics, p.unexplained = &distortion.HarmonicSet{Rig: distortion.RigUnknown}, separated.Unexplained
		return nil
	}
	c := distortion.Config{Silence: take.Silence, Averages: averages, MaxFrequency: b.config.MaxFrequency}
	if microphone != nil {
		c.Correction = microphone.Correction()
	}
	p.harmonics, err = distortion.Harmonics(separated, c)
	return err
}

// parts is one side of a recording, separated into its linear response and its harmonics.
type parts struct {
	transfer  *response.Transfer
	harmonics *distortion.HarmonicSet
	floor     response.Curve // of the noise, read like the transfer function; no points if not known
	level     response.Curve // of transfer, smoothed, with the noise
	// aboveNoise is that level in dB, NaN where noise hides it; nil if the noise is not known.
	aboveNoise []float64
	rejected   []string // sweeps that were left out of the average, each in a sentence
	further    *Further // nil if the stimulus asks only for the response
	sweepAt    float64  // where in the recording the first sweep begins, s

	fromRate    int             // Hz, the lower rate of a recording that was resampled, or 0
	noise       *response.Noise // of one sweep; nil if not known
	noFloor     bool            // the noise is not known
	unexplained float64         // share of the power that the stimulus does not explain; 0 for a sweep
}

var errNoStimulus = errors.New(
	"review: the bench has no stimulus; give the one that was played, or music and speech alone, with Play")

// grid returns PerOctave points to an octave and both ends of the band, so that a claim about 20 Hz
// is checked at 20 Hz.
func grid(b response.Band) []float64 {
	f := response.LogGrid(b.Low, b.High, PerOctave)
	if b.Low < f[0]*(1-1e-6) {
		f = append([]float64{b.Low}, f...)
	}
	if b.High > f[len(f)-1]*(1+1e-6) {
		f = append(f, b.High)
	}
	return f
}

func levelAt1k(sides map[sweep.Side]*parts) float64 {
	var sum float64
	for _, p := range sides {
		sum += decibel.OfAmplitude(cmplx.Abs(p.transfer.At(1000))) / float64(len(sides))
	}
	return sum
}
