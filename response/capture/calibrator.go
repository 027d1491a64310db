package capture

import (
	"errors"
	"fmt"
	"math"

	"github.com/mjibson/go-dsp/window"

	"example.com/earnest/internal/fft"
)

// What can be wrong with the recording of a calibrator, for errors.Is.
var (
	ErrNoTone       = errors.New("no calibrator tone")
	ErrUnsteadyTone = errors.New("unsteady calibrator tone")
	ErrClippedTone  = errors.New("clipped calibrator tone")
)

// CalibratorTone is the tone of a sound calibrator, found in a recording.
type CalibratorTone struct {
	// Frequency in Hz, as recorded.
	Frequency float64
	// Level in dBFS rms: 20 log10 of the rms of the tone alone, full scale being 1, so that a full-scale sine is at −3.01 dB.
	Level float64
	// Uncertainty is the standard uncertainty (k = 1) of Level in dB: the scatter of the mean, and the range over which the level moved as a
	// rectangular distribution (JCGM 100:2008, 4.2.3 and 4.3.7). That of the calibrator itself is not in it.
	Uncertainty float64
	// Start and End of the steady tone, in seconds.
	Start, End float64
	// Range is how far the level moved in dB, highest less lowest half-second.
	Range float64
	// SNR is the tone above everything that is neither it nor its harmonics, in dB, over the whole band of the recording.
	SNR float64
	// Distortion is the rms of harmonics 2 to 10 relative to the fundamental; 0.01 is 1 %.
	Distortion float64
	// Findings are remarks on a tone that can be used but is worth a second look.
	Findings []string
}

const (
	toneTolerance = 0.02 // of the frequency of a calibrator
	toneLeastTime = 1.5  // s of steady tone
	toneLeastSNR  = 15   // dB; the noise then moves a half-second reading by less than 0.05 dB
	toneMostRange = 0.5  // dB; more is a leak at the coupler or a failing battery
	toneLobe      = 8    // bins on either side of a peak under a Hann window, with all of its power but 1e-6
	offsetSkirt   = 3    // bins that the offset of the input reaches
)

// CalibratorTone finds the steady tone of a calibrator near frequency, in Hz, in a channel of the recording, wherever the calibrator was pushed on
// and taken off. The recorded frequency may be off by 2 %.
//
// Errors: ErrChannel; ErrNoTone, which says what is there instead; ErrUnsteadyTone when the level moves by more than 0.5 dB;
// ErrClippedTone. A frequency below 50 Hz or above an eighth of the sample rate panics: there is no such calibrator.
func (r *Recording) CalibratorTone(channel int, frequency float64) (*CalibratorTone, error) {
	if !(frequency >= 50 && frequency <= float64(r.SampleRate)/8) {
		panic("capture: no calibrator has such a frequency")
	}
	x, err := r.Channel(channel)
	if err != nil {
		return nil, err
	}
	fault := func(kind error, format string, a ...any) error {
		return fmt.Errorf("capture: %s: channel %d: %w: %s", r.Name, channel, kind, fmt.Sprintf(format, a...))
	}
	s := toneSearch{rate: float64(r.SampleRate), frequency: frequency, length: fft.FastLen(r.SampleRate / 2)}
	if len(x) >= s.length { // or a header that lies about the rate would size the memory
		s.run(x)
	}
	first, end := s.longestRun()
	if first == end {
		return nil, fault(ErrNoTone, "%s; push the calibrator on, set it to %g Hz and record for 10 s", s.instead(), frequency)
	}
	t := s.summary(first, end)
	switch {
	case t.End-t.Start < toneLeastTime:
		return nil, fault(ErrNoTone, "%g Hz sounds for %.1f s only, from %.1f s; record it for 10 s", frequency, t.End-t.Start, t.Start)
	case t.SNR < toneLeastSNR:
		return nil, fault(ErrNoTone, "%g Hz stands only %.0f dB above the rest; turn off what else sounds, or raise the input gain and record again", frequency, t.SNR)
	}
	if n := s.clipped(x[int(t.Start*s.rate):int(t.End*s.rate)]); n > 0 {
		return nil, fault(ErrClippedTone, "%d samples at full scale from %.1f s to %.1f s; lower the input gain and record again, and what it is for too", n, t.Start, t.End)
	}
	if t.Range > toneMostRange {
		return nil, fault(ErrUnsteadyTone, "it moves by %.1f dB from %.1f s to %.1f s; seat the microphone in the coupler, change the battery, and record again", t.Range, t.Start, t.End)
	}
	t.remark(frequency)
	return t, nil
}

// remark writes down what may be wrong with a tone that can be used. The limits are those of class 2, from memory of IEC 60942:2003.
func (t *CalibratorTone) remark(frequency float64) {
	const mostRange, mostDistortion, goodSNR = 0.2, 0.04, 30
	if t.Range > mostRange {
		t.Findings = append(t.Findings, fmt.Sprintf("the level moves by %.2f dB; a steady calibrator stays within %.1f dB", t.Range, mostRange))
	}
	if t.Distortion > mostDistortion {
		t.Findings = append(t.Findings, fmt.Sprintf("%.1f %% of harmonics: the input or the microphone is overloaded, or this is another source", 100*t.Distortion))
	}
	if t.SNR < goodSNR {
		t.Findings = append(t.Findings, fmt.Sprintf("the tone stands %.0f dB above the rest of the recording; %d dB is usual", t.SNR, goodSNR))
	}
}

// clipped counts samples at full scale that stand next to another one.
func (s *toneSearch) clipped(x []float64) int {
	const full = 1 - 1.0/(1<<14) // two steps of 16 bits below full scale
	n := 0
	for i := 1; i < len(x); i++ {
		if math.Abs(x[i]) >= full && math.Abs(x[i-1]) >= full {
			n++
		}
	}
	return n
}

// toneSearch takes a recording apart into half-second blocks that overlap by half.
type toneSearch struct {
	rate, frequency float64
	length          int
	blocks          []toneBlock
	sum             []float64 // power by bin, of all blocks
	loudest         float64   // mean square of the loudest block
}

// toneBlock holds mean squares, full scale being 1.
type toneBlock struct {
	frequency, tone, harmonics, rest float64
}

func (s *toneSearch) run(x []float64) {
	plan, hann := fft.NewPlan(s.length), window.Hann(s.length)
	var energy float64
	for _, w := range hann {
		energy += w * w
	}
	scale := 2 / (energy * float64(s.length)) // |X|² to mean square, one-sided
	block, spectrum := make([]float64, s.length), make([]complex128, plan.Bins())
	power := make([]float64, plan.Bins())
	s.sum = make([]float64, plan.Bins())
	for at := 0; at+s.length <= len(x); at += s.length / 2 {
		for i, w := range hann {
			block[i] = w * x[at+i]
		}
		plan.Forward(spectrum, block)
		total := 0.0
		for k, v := range spectrum {
			power[k] = scale * (real(v)*real(v) + imag(v)*imag(v))
			if k <= offsetSkirt { // the offset of the input, and its skirt
				power[k] = 0
			}
			s.sum[k] += power[k]
			total += power[k]
		}
		s.loudest = max(s.loudest, total)
		s.blocks = append(s.blocks, s.read(power, total))
	}
}

// read takes the tone and its harmonics out of a power spectrum.
func (s *toneSearch) read(power []float64, total float64) toneBlock {
	bin := s.rate / float64(s.length)
	// Wide enough that a line beyond the tolerance, whose skirt comes inside, is seen for what it is.
	low, high := int((1-toneTolerance)*s.frequency/bin)-toneLobe-1, int((1+toneTolerance)*s.frequency/bin)+toneLobe+2
	peak := low
	for k := low; k <= high; k++ {
		if power[k] > power[peak] {
			peak = k
		}
	}
	b := toneBlock{frequency: bin * s.peakBin(power, peak), tone: s.lobe(power, float64(peak))}
	if math.Abs(b.frequency/s.frequency-1) > toneTolerance {
		b.tone = 0
	}
	for n := 2.0; n <= 10; n++ {
		b.harmonics += s.lobe(power, n*b.frequency/bin)
	}
	b.rest = max(0, total-b.tone-b.harmonics)
	return b
}

// lobe is the power of a line at a bin.
func (s *toneSearch) lobe(power []float64, at float64) float64 {
	sum, middle := 0.0, int(math.Round(at))
	for k := middle - toneLobe; k <= middle+toneLobe && k < len(power); k++ {
		sum += power[k]
	}
	return sum
}

// peakBin is where between bins a line stands that is highest in bin k. Under a Hann window the amplitudes of its two highest bins, a above b, give
// (2b − a)/(a + b) from the higher (Grandke, IEEE Trans. IM 32(2), 1983; from memory).
func (s *toneSearch) peakBin(power []float64, k int) float64 {
	side := 1
	if power[k-1] > power[k+1] {
		side = -1
	}
	a, b := math.Sqrt(power[k]), math.Sqrt(power[k+side])
	if a == 0 {
		return float64(k)
	}
	return float64(k) + float64(side)*(2*b-a)/(a+b)
}

// longestRun returns the longest run of blocks that are mostly the tone, without those at its ends that hold the moment of switching.
func (s *toneSearch) longestRun() (first, end int) {
	start := 0
	for i := 0; i <= len(s.blocks); i++ {
		if i < len(s.blocks) && s.blocks[i].tone > s.blocks[i].rest+s.blocks[i].harmonics {
			continue
		}
		if i-start > end-first {
			first, end = start, i
		}
		start = i + 1
	}
	if first == end {
		return first, end
	}
	const switching, most = 0.5, 2 // dB from the middle of the run; blocks that a switch reaches
	middle := s.blocks[(first+end)/2].tone
	strays := func(i int) bool { return math.Abs(10*math.Log10(s.blocks[i].tone/middle)) > switching }
	for range most {
		if end-first > 2 && strays(first) {
			first++
		}
		if end-first > 2 && strays(end-1) {
			end--
		}
	}
	return first, end
}

func (s *toneSearch) summary(first, end int) *CalibratorTone {
	t := &CalibratorTone{Start: float64(first*(s.length/2)) / s.rate, End: float64((end-1)*(s.length/2)+s.length) / s.rate}
	var mean toneBlock
	low, high := math.Inf(1), math.Inf(-1)
	n := float64(end - first)
	for _, b := range s.blocks[first:end] {
		mean.frequency += b.frequency / n
		mean.tone += b.tone / n
		mean.harmonics += b.harmonics / n
		mean.rest += b.rest / n
		low, high = min(low, b.tone), max(high, b.tone)
	}
	var square float64
	for _, b := range s.blocks[first:end] {
		square += (b.tone - mean.tone) * (b.tone - mean.tone)
	}
	t.Frequency, t.Level = mean.frequency, 10*math.Log10(mean.tone)
	t.Range = 10 * math.Log10(high/low)
	t.SNR = 10 * math.Log10(mean.tone/mean.rest)
	t.Distortion = math.Sqrt(mean.harmonics / mean.tone)
	scatter := math.NaN()
	if n > 1 {
		// Blocks that overlap by half under a Hann window scatter all but independently (correlation of power 1/36; Welch 1967).
		scatter = 10 / math.Ln10 * math.Sqrt(square/(n-1)/n) / mean.tone
	}
	t.Uncertainty = math.Hypot(scatter, t.Range/2/math.Sqrt(3))
	return t
}

// instead says what a recording without the tone holds.
func (s *toneSearch) instead() string {
	if len(s.blocks) == 0 {
		return fmt.Sprintf("the recording is shorter than %.1f s", float64(s.length)/s.rate)
	}
	const silence = 1e-9 // −90 dB rms
	if s.loudest < silence {
		return "the channel is silent"
	}
	peak := 1
	for k := 1; k < len(s.sum)-1; k++ {
		if s.sum[k] > s.sum[peak] {
			peak = k
		}
	}
	var total float64
	for _, p := range s.sum {
		total += p
	}
	if share := s.lobe(s.sum, float64(max(peak, toneLobe))) / total; share > 0.5 {
		f := s.rate / float64(s.length) * s.peakBin(s.sum, peak)
		return fmt.Sprintf("there is a tone at %.1f Hz, %+.1f %% away from %g Hz", f, 100*(f/s.frequency-1), s.frequency)
	}
	return fmt.Sprintf("nowhere is %g Hz stronger than all the rest", s.frequency)
}
