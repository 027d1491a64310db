package response

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/hugepage"
	"example.com/earnest/internal/taper"
	"example.com/earnest/sweep"
)

// Errors of recordings. ErrTooLong is for a recording longer than the deconvolver was made for,
// ErrTooShort for one that cannot hold the sweep, ErrSilent for one whose samples are all equal,
// ErrNotFinite for one with a sample that is not a number, and ErrCutOff for one that begins or
// ends in the middle of the sweep.
var (
	ErrTooLong   = errors.New("recording is longer than the deconvolver was made for")
	ErrTooShort  = errors.New("recording is shorter than the sweep")
	ErrSilent    = errors.New("recording is silent")
	ErrNotFinite = errors.New("recording has a sample that is not a number")
	ErrCutOff    = errors.New("recording does not hold the whole sweep")
)

// regularisation is the power, relative to the sweep's own, that limits the division by the sweep's
// spectrum. It biases the level by 0.00001 dB in the band, by 0.0001 dB at the very ends of the
// default sweep, and by 0.005 dB at those of a sweep of 1 s from 1 kHz. Outside the band, where the
// sweep has no power, it keeps the noise from being divided by zero (Kirkeby & Nelson, J. Audio
// Eng. Soc. 47(7/8), 1999).
const regularisation = 1e-6

// skirt is the width in Hz above the sweep's stop frequency over which the inverse falls to zero,
// as a raised cosine. Without it, for a sweep to 20 kHz at 48 kHz and white noise at −40 dB, the
// division amplifies the noise above 20 kHz to 30 dB more than that in the band. Below the start
// frequency there is too little room for noise, and a steep end would ring for longer than any
// window lasts.
const skirt = 200.0

// Deconvolver turns recordings of one sweep, or of another signal, into impulse responses. The
// signal's spectrum and its inverses are computed once. A Deconvolver may be shared.
type Deconvolver struct {
	signal   sweep.Signal
	samples  int          // of the signal
	sweep    *sweep.Sweep // its law; nil if harmonics are not known
	by       *divisor     // the divisor of the linear response
	length   int          // the longest recording, samples
	lead     int          // samples kept before time zero, for the harmonics
	orders   int
	plan     *fft.Plan
	spare    *sync.Pool   // of workspaces
	plans    *fft.Cache   // for parts of the impulse responses
	gain     float64      // of the signal re that of the spectra: 1 unless only the level of the sweep differs
	played   []complex128 // the sweep as played, without the gain
	divide   []complex128 // regularised inverse of played
	analytic []complex128 // inverse of the sweep without ends; nil without a law
}

// longestRecording bounds the recordings of a Deconvolver, so that no configuration asks for an
// absurd transform.
const longestRecording = time.Hour

// NewDeconvolver prepares the deconvolution of recordings of a signal, such as a sweep. For a
// signal that does not follow the law of an exponential sweep, the harmonics are not known, and the
// gain of a bin is that of the signal about it.
func NewDeconvolver(s sweep.Signal, c DeconvolverConfig) (*Deconvolver, error) {
	fs, samples, law := float64(s.SampleRate()), s.Samples(), s.Law()
	lasts := float64(len(samples)) / fs
	if c.Longest == 0 {
		c.Longest = duration.Of(lasts + 2)
	}
	if c.Orders == 0 {
		c.Orders = 5
	}
	if c.Orders < 1 || c.Orders > 100 {
		return nil, fmt.Errorf("response: room for %d harmonics; choose 1 to 100", c.Orders)
	}
	if c.Longest > longestRecording {
		return nil, fmt.Errorf("response: room for recordings of %v; at most %v", c.Longest, longestRecording)
	}
	length := int(math.Ceil(c.Longest.Seconds() * fs))
	if length < len(samples) {
		return nil, fmt.Errorf("response: %w: recordings of %v cannot hold a sweep of %.3g s", ErrTooShort,
			c.Longest, lasts)
	}
	lead := int(leadOfNoise * fs)
	if law != nil { // the window of the last order reaches half-way to the order after it
		lead = int(math.Ceil(law.HarmonicAdvance(c.Orders+1) * fs))
	}
	d := &Deconvolver{
		signal: s, samples: len(samples), sweep: law, length: length, lead: lead, orders: c.Orders, gain: 1,
	}
	// The transform is circular. It has to hold the longest recording, and the harmonics before the
	// longest linear response.
	if n := fft.FastLen(max(length, lead+length-len(samples))); c.Like != nil && c.Like.plan.Len() == n {
		d.plan, d.plans, d.spare = c.Like.plan, c.Like.plans, c.Like.spare
	} else {
		d.plan, d.plans, d.spare = fft.NewPlan(n), &fft.Cache{}, &sync.Pool{}
	}
	if d.sharesSpectra(c.Like, samples) {
		return d, nil
	}
	// The two inverses are independent of each other.
	var wait sync.WaitGroup
	if law != nil {
		wait.Go(func() { d.analytic = law.InverseSpectrum(nil, d.plan.Len()) })
	}
	d.played = d.plan.Forward(nil, samples)
	band := Band{s.Start(), s.Stop()}
	if s == sweep.Signal(law) {
		d.divide = d.regularisedInverse()
		d.by = d.divisorOfSweep(band)
	} else {
		d.divide, d.by = d.invert(band)
	}
	wait.Wait()
	return d, nil
}

// sharesSpectra takes over the spectra if like was made for the same sweep at another level, and
// reports whether it was.
func (d *Deconvolver) sharesSpectra(like *Deconvolver, samples []float64) bool {
	if like == nil || like.plan != d.plan || like.sweep == nil || d.signal != sweep.Signal(d.sweep) ||
		like.signal != sweep.Signal(like.sweep) || like.samples != d.samples || like.sweep.Start() != d.sweep.Start() ||
		like.sweep.Stop() != d.sweep.Stop() || like.sweep.TimeConstant() != d.sweep.TimeConstant() {
		return false
	}
	gain := d.sweep.Amplitude() / like.sweep.Amplitude()
	for i, v := range like.signal.Samples() {
		if math.Abs(samples[i]-gain*v) > 1e-13*d.sweep.Amplitude() { // other fades, or another phase
			return false
		}
	}
	d.gain = gain * like.gain
	d.played, d.divide, d.analytic = like.played, like.divide, like.analytic
	d.by = &divisor{func(f float64) float64 { return gain * like.by.level(f) }, like.by.band}
	return true
}

// regularisedInverse returns W conj(S) / (|S|² + ε). Inside the band ε falls with the sweep's own
// power; outside it is constant. W is the skirt above the band.
func (d *Deconvolver) regularisedInverse() []complex128 {
	inverse := hugepage.Make[complex128](len(d.played))
	fs := float64(d.sweep.SampleRate())
	start, stop := d.sweep.Start(), d.sweep.Stop()
	first := d.sweep.SpectrumLevel(start)
	for k, s := range d.played {
		f := d.plan.Frequency(k, fs)
		if f >= stop+skirt {
			break // the skirt has closed
		}
		// The power of the spectrum falls as 1/f.
		epsilon := regularisation * first * first * start / min(max(f, start), stop)
		scale := taper.Rise(1-(f-stop)/skirt) / (fft.Power(s) + epsilon)
		inverse[k] = complex(scale*real(s), -scale*imag(s))
	}
	return inverse
}

// Impulse returns the linear impulse response between the sweep as played and the recording, which
// holds one sweep, starting anywhere. Time zero is the recording's first sample: the position of
// the response for a recording without delay. The harmonics come before it, smeared at the ends of
// the band: see Separate.
//
// The recording has full scale 1 and the sweep's sample rate. Errors: ErrTooLong, ErrTooShort,
// ErrSilent and ErrNotFinite. Impulse.Delay and Separate return an error if the recording does not
// hold the sweep.
func (d *Deconvolver) Impulse(recording []float64) (*Impulse, error) {
	w := d.workspace()
	defer d.spare.Put(w)
	return d.linear(w, recording)
}

// linear leaves the spectra of the recording and of its linear response in the workspace.
func (d *Deconvolver) linear(w *workspace, recording []float64) (*Impulse, error) {
	if err := d.transform(w, recording); err != nil {
		return nil, err
	}
	scale := 1 / d.gain
	for k, v := range w.spectrum {
		w.product[k] = complex(scale*real(v), scale*imag(v)) * d.divide[k]
	}
	return d.impulse(w.product), nil
}

// Separate separates a recording of one sweep into its linear response and its harmonics. The
// linear part, from shortly before its peak on, is convolved with the sweep and subtracted from the
// recording before the harmonics are read, since its own ringing reaches the places of the
// harmonics.
//
// The errors are those of Impulse, ErrNoPeak for a recording that does not hold the sweep, and
// ErrCutOff for one that misses more than 10 ms of it at either end: the response would be wrong
// there, not unknown.
func (d *Deconvolver) Separate(recording []float64) (*Deconvolved, error) {
	w := d.workspace()
	defer d.spare.Put(w)
	linear, err := d.linear(w, recording)
	if err != nil {
		return nil, err
	}
	peak, err := linear.peak()
	if err != nil {
		return nil, err
	}
	if err := d.covers(peak, len(recording), w.product); err != nil {
		return nil, err
	}
	// The linear response lasts no longer than the part of the recording after the sweep. After
	// that come harmonics of higher orders, wrapped round.
	gated := linear.gate(w.samples, peak-d.guard(), min(len(linear.Samples), peak+len(recording)-d.samples))
	d.plan.Forward(w.product, gated)
	// Both the gated response and the padded recording begin lead samples late, so the sweep needs
	// no shift.
	out := &Deconvolved{Linear: linear, Sweep: d.sweep, Orders: d.orders}
	var left, all float64
	first, last := d.bins()
	scale := 1 / d.gain
	for k, s := range d.played {
		rest := w.spectrum[k] - complex(d.gain*real(s), d.gain*imag(s))*w.product[k]
		if k >= first && k <= last {
			left += fft.Power(rest)
			all += fft.Power(w.spectrum[k])
		}
		if d.sweep != nil {
			w.product[k] = complex(scale*real(rest), scale*imag(rest)) * d.analytic[k]
		}
	}
	out.Unexplained = left / all
	if d.sweep != nil {
		out.Harmonics = d.impulse(w.product)
		out.Harmonics.by = &divisor{d.sweep.SpectrumLevel, d.by.band}
	}
	return out, nil
}

// covers returns an error unless a recording of recorded samples began before the sweep and ended
// after it. The linear response peaks at index peak and has the spectrum linear.
func (d *Deconvolver) covers(peak, recorded int, linear []complex128) error {
	fs := float64(d.signal.SampleRate())
	const slack = 0.01 // seconds
	begins := peak - d.lead
	early, late := float64(-begins)/fs, float64(begins+d.samples-recorded)/fs
	if late > slack && d.sweep != nil {
		// The transform is circular, so the sweep may have begun before the recording. The missing
		// part shows it: the beginning of the sweep is the low frequencies.
		before, all := float64(d.plan.Len()-begins)/fs, d.sweep.Duration()
		low := d.power(linear, d.sweep.Start(), d.sweep.FrequencyAt(min(before, all)))
		high := d.power(linear, d.sweep.FrequencyAt(all-min(late, all)), d.sweep.Stop())
		if before <= slack || low < high {
			early, late = before, 0
		}
	}
	switch {
	case early > slack:
		return fmt.Errorf("response: %w: the sweep begins %.3f s before the recording does; start the recorder first",
			ErrCutOff, early)
	case late > slack:
		return fmt.Errorf("response: %w: the recording ends %.3f s before the sweep does; let the recorder run on",
			ErrCutOff, late)
	}
	return nil
}

// power returns the mean power of a spectrum over a band in Hz, with the same weight for every
// octave.
func (d *Deconvolver) power(spectrum []complex128, low, high float64) float64 {
	var sum, weight float64
	bin := float64(d.signal.SampleRate()) / float64(d.plan.Len())
	for k := int(math.Ceil(low / bin)); k <= int(high/bin); k++ {
		v := spectrum[k]
		sum += fft.Power(v) / float64(k)
		weight += 1 / float64(k)
	}
	return sum / weight
}

// bins returns the first and the last bin of the band.
func (d *Deconvolver) bins() (first, last int) {
	bin := float64(d.signal.SampleRate()) / float64(d.plan.Len())
	return int(math.Ceil(d.signal.Start() / bin)), int(d.signal.Stop() / bin)
}

// guard returns the number of samples before its peak at which the linear response begins: less
// than half-way to the second harmonic.
func (d *Deconvolver) guard() int {
	if d.sweep == nil {
		return int(guardOfNoise * float64(d.signal.SampleRate()))
	}
	return int(clearOfSecond * d.sweep.HarmonicAdvance(2) * float64(d.sweep.SampleRate()))
}

func (d *Deconvolver) workspace() *workspace {
	if w, ok := d.spare.Get().(*workspace); ok {
		return w
	}
	return &workspace{hugepage.Make[float64](d.plan.Len()), hugepage.Make[complex128](d.plan.Bins()),
		hugepage.Make[complex128](d.plan.Bins())}
}

// transform sets the workspace's spectrum to that of the recording, with room for the harmonics
// before it.
func (d *Deconvolver) transform(w *workspace, recording []float64) error {
	fs := float64(d.signal.SampleRate())
	if len(recording) > d.length {
		return fmt.Errorf("response: %w: %.3f s, made for %.3f s",
			ErrTooLong, float64(len(recording))/fs, float64(d.length)/fs)
	}
	if len(recording) < d.samples {
		return fmt.Errorf("response: %w: %.3f s of recording, %.3f s of sweep; record the whole sweep and its decay",
			ErrTooShort, float64(len(recording))/fs, float64(d.samples)/fs)
	}
	if !slices.ContainsFunc(recording, func(v float64) bool { return v != recording[0] }) {
		return fmt.Errorf("response: %w: every sample has the same value; check that the input was connected and armed",
			ErrSilent)
	}
	copied := copy(w.samples[d.lead:], recording)
	round := copy(w.samples, recording[copied:])
	clear(w.samples[round:d.lead])
	d.plan.Forward(w.spectrum, w.samples[:d.lead+copied])
	// The first bin is the sum of all samples, which is not finite if any sample is not.
	if sum := real(w.spectrum[0]); sum-sum != 0 {
		i := slices.IndexFunc(recording, func(v float64) bool { return v-v != 0 })
		if i < 0 {
			return fmt.Errorf("response: %w: the sum of the samples is too large; export them with full scale 1",
				ErrNotFinite)
		}
		return fmt.Errorf("response: %w: %v at %.3f s; export the recording again", ErrNotFinite, recording[i],
			float64(i)/fs)
	}
	return nil
}

func (d *Deconvolver) impulse(spectrum []complex128) *Impulse {
	return &Impulse{
		Samples:    d.plan.Inverse(nil, spectrum),
		SampleRate: d.signal.SampleRate(),
		Zero:       d.lead,
		Valid:      d.by.band,
		plans:      d.plans,
		sweep:      d.sweep,
		by:         d.by,
	}
}

// DeconvolverConfig sizes a Deconvolver.
type DeconvolverConfig struct {
	// Longest is the length of the longest recording; 0 means the sweep and 2 s.
	Longest time.Duration
	// Orders is the highest harmonic for which there is room before the linear response; 0 means 5.
	Orders int
	// Like is another Deconvolver, whose transform and working memory are shared if they have the
	// right size. Its spectra are shared too if it is that of the same sweep at another level. It
	// may be nil.
	Like *Deconvolver
}

// Deconvolved is a recording of a sweep, separated into its linear response and its harmonics.
type Deconvolved struct {
	// Linear is the linear response, by division by the spectrum as played.
	Linear *Impulse
	// Harmonics is the recording without its linear part, deconvolved by the sweep's analytic
	// inverse: the response of order n comes L ln n seconds before the linear one. It is nil for a
	// signal that does not follow the law of an exponential sweep.
	Harmonics *Impulse
	// Sweep is the sweep played, or the law of the signal; nil if it follows none.
	Sweep *sweep.Sweep
	// Unexplained is the share of the recording's power in the band, 0 to 1, that is not the played
	// signal through the linear response: noise, harmonics, and all of another signal.
	Unexplained float64
	// Orders is the highest harmonic for which there is room.
	Orders int
}

// workspace is the memory that one deconvolution borrows.
type workspace struct {
	samples           []float64
	spectrum, product []complex128
}
