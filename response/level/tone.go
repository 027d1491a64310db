package level

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// The faults of the recording of a calibrator, for errors.Is.
var (
	ErrNoTone       = errors.New("no calibrator tone")
	ErrUnsteadyTone = errors.New("unsteady calibrator tone")
	ErrClippedTone  = errors.New("clipped calibrator tone")
)

// CalibratorTone is the tone of a sound calibrator in a recording.
type CalibratorTone struct {
	// Frequency is in Hz, as recorded.
	Frequency float64
	// Level is that of the tone alone in dBFS rms; a full-scale sine is at −3.01 dB. Its standard
	// uncertainty contains the scatter of the mean, and the range of the level as a rectangular
	// distribution (JCGM 100:2008, 4.2.3 and 4.3.7), but not the uncertainty of the calibrator
	// itself.
	Level response.Figure
	// Start and End are those of the steady tone, in seconds.
	Start, End float64
	// Range is the difference between the highest and the lowest level over half a second, in dB.
	Range float64
	// SNR is the level of the tone above everything but the tone and its harmonics, in dB, over the
	// whole band of the recording.
	SNR float64
	// Distortion is the rms of harmonics 2 to 10 relative to the fundamental; 0.01 is 1 %.
	Distortion float64
	// Findings are remarks on a tone that can be used but should be looked at again.
	Findings []response.Finding
}

const (
	toneBlockTime      = 0.5  // s
	toneTolerance      = 0.02 // of the frequency of a calibrator
	toneLeastTime      = 1.5  // s of steady tone
	toneLeastSNR       = 15   // dB; the noise then moves the level of a block by less than 0.05 dB
	toneMostRange      = 0.5  // dB; more is a leak at the coupler or a failing battery
	toneMostDistortion = 0.15 // far more than any class allows: the level then says little
	toneLobe           = 8    // bins on each side of a peak that hold all but 1e-6 of its power under a Hann window
	offsetSkirt        = 3    // bins that the offset of the input reaches
)

// Tone finds the steady tone of the calibrator in the samples of a channel, full scale being 1,
// between the moments at which the calibrator was pushed onto the microphone and taken off. The
// recorded frequency may differ by 2 % from c.Frequency.
//
// Errors: ErrInput for a sample rate or a frequency that no recorder or calibrator has, and for a
// sample that is not finite; ErrNoTone, which says what the recording contains instead;
// ErrUnsteadyTone if the level changes by more than 0.5 dB; ErrClippedTone, also for more than 15 %
// of harmonics.
func (c Calibrator) Tone(samples []float64, sampleRate int) (*CalibratorTone, error) {
	if err := checkRate(sampleRate); err != nil {
		return nil, err
	}
	if least, most := 50.0, float64(sampleRate)/8; !(c.Frequency >= least && c.Frequency <= most) {
		return nil, fmt.Errorf("level: frequency of the calibrator %w: %v Hz is not within %g and %g Hz; "+
			"it is written on it, 1000 or 250 Hz as a rule",
			ErrInput, c.Frequency, least, most)
	}
	if err := checkFinite("recording of the calibrator", samples, sampleRate); err != nil {
		return nil, err
	}
	s := toneSearch{segments: newSegments(sampleRate, toneBlockTime), frequency: c.Frequency}
	s.run(samples)
	first, end := s.longestRun()
	if first == end {
		return nil, fmt.Errorf("level: %w: %s; push the calibrator on, set it to %g Hz and record for 10 s",
			ErrNoTone, s.describe(), c.Frequency)
	}
	t := s.summary(first, end)
	switch {
	case t.End-t.Start < toneLeastTime:
		return nil, fmt.Errorf("level: %w: %g Hz sounds for %.1f s only, from %.1f s; record it for 10 s",
			ErrNoTone, c.Frequency, t.End-t.Start, t.Start)
	case t.SNR < toneLeastSNR:
		return nil, fmt.Errorf("level: %w: %g Hz stands only %.0f dB above the rest; "+
			"turn off what else sounds, or raise the input gain and record again",
			ErrNoTone, c.Frequency, t.SNR)
	}
	if n := clipped(samples[int(t.Start*s.rate):int(t.End*s.rate)]); n > 0 {
		return nil, fmt.Errorf("level: %w: %d samples at full scale from %.1f s to %.1f s; "+
			"lower the input gain, and record this and the headphones again",
			ErrClippedTone, n, t.Start, t.End)
	}
	if t.Distortion > toneMostDistortion {
		return nil, fmt.Errorf("level: %w: %.1f %% of harmonics from %.1f s to %.1f s: the input or the microphone is "+
			"overloaded, or this is another source; lower the input gain, and record this and the headphones again",
			ErrClippedTone, 100*t.Distortion, t.Start, t.End)
	}
	if t.Range > toneMostRange {
		return nil, fmt.Errorf("level: %w: it moves by %.1f dB from %.1f s to %.1f s; "+
			"seat the microphone in the coupler, change the battery, and record again",
			ErrUnsteadyTone, t.Range, t.Start, t.End)
	}
	t.remark()
	return t, nil
}

// remark adds findings about a tone that can be used. The limits are those of class 2, from memory
// of IEC 60942:2003.
//
// If harmonics are above the limit, something overloads. Of a cubic x − k x³, the fundamental loses
// the part 3k/4 where the third harmonic has k/4, so the tone may be up to 20 log10(1 + 3d) higher
// than it reads at a distortion d. That is a rectangular distribution (JCGM 100:2008, 4.3.7).
func (t *CalibratorTone) remark() {
	const mostRange, mostDistortion, goodSNR = 0.2, 0.04, 30
	if t.Range > mostRange {
		t.Findings = append(t.Findings, remark(Wandering,
			fmt.Sprintf("the level moves by %.2f dB; a steady calibrator stays within %.1f dB", t.Range, mostRange), ""))
	}
	if t.Distortion > mostDistortion {
		t.Findings = append(t.Findings, remark(Harmonics,
			fmt.Sprintf("%.1f %% of harmonics: the input or the microphone is overloaded, or this is another source",
				100*t.Distortion), ""))
		t.Level.Uncertainty = math.Hypot(t.Level.Uncertainty, decibel.OfAmplitude(1+3*t.Distortion)/math.Sqrt(3))
	}
	if t.SNR < goodSNR {
		t.Findings = append(t.Findings, remark(Noisy,
			fmt.Sprintf("the tone stands %.0f dB above the rest of the recording; %d dB is usual", t.SNR, goodSNR), ""))
	}
}

// toneSearch looks for a tone in each block of a recording.
type toneSearch struct {
	*segments
	frequency float64
	blocks    []toneBlock
	sum       []float64 // power by bin, of all blocks
	loudest   float64   // mean square of the loudest block
}

func (s *toneSearch) run(x []float64) {
	spectrum, power := make([]complex128, s.plan.Bins()), make([]float64, s.plan.Bins())
	s.sum = make([]float64, s.plan.Bins())
	for at := range s.starts(len(x)) {
		s.density(power, s.spectrum(spectrum, x[at:at+s.length]))
		clear(power[:offsetSkirt+1])
		total := 0.0
		for k := range power {
			power[k] *= s.spacing()
			s.sum[k] += power[k]
			total += power[k]
		}
		s.loudest = max(s.loudest, total)
		s.blocks = append(s.blocks, s.read(power, total))
	}
}

// read separates the tone and its harmonics from the rest of a power spectrum.
func (s *toneSearch) read(power []float64, total float64) toneBlock {
	bin := s.spacing()
	// The range includes lines beyond the tolerance whose skirt reaches inside.
	low := int((1-toneTolerance)*s.frequency/bin) - toneLobe - 1
	high := int((1+toneTolerance)*s.frequency/bin) + toneLobe + 2
	peak := low
	for k := low; k <= high; k++ {
		if power[k] > power[peak] {
			peak = k
		}
	}
	b := toneBlock{frequency: bin * peakBin(power, peak), tone: lobe(power, float64(peak))}
	if math.Abs(b.frequency/s.frequency-1) > toneTolerance {
		b.tone = 0
	}
	for n := 2.0; n <= 10; n++ {
		b.harmonics += lobe(power, n*b.frequency/bin)
	}
	b.rest = max(0, total-b.tone-b.harmonics)
	return b
}

// longestRun returns the longest run of blocks that are mostly the tone, without blocks at its ends
// that contain the moment of switching.
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
	const switching, most = 0.5, 2 // dB from the middle of the run; number of blocks that a switch reaches
	middle := s.blocks[(first+end)/2].tone
	deviates := func(i int) bool { return math.Abs(decibel.OfPower(s.blocks[i].tone/middle)) > switching }
	for range most {
		if end-first > 2 && deviates(first) {
			first++
		}
		if end-first > 2 && deviates(end-1) {
			end--
		}
	}
	return first, end
}

// summary describes the tone in the blocks first ≤ i < end.
func (s *toneSearch) summary(first, end int) *CalibratorTone {
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
	// Blocks that overlap by half under a Hann window scatter almost independently (correlation of
	// power 1/36; Welch 1967). One block alone shows no scatter: 0/0 is NaN.
	scatter := decibel.PerNeper / 2 * math.Sqrt(square/(n-1)/n) / mean.tone
	spread := 10 * math.Log10(high/low)
	return &CalibratorTone{
		Start:     float64(first*(s.length/2)) / s.rate,
		End:       float64((end-1)*(s.length/2)+s.length) / s.rate,
		Frequency: mean.frequency,
		Level: response.Figure{Value: decibel.OfPower(mean.tone),
			Uncertainty: math.Hypot(scatter, spread/2/math.Sqrt(3)), Unit: RecordedLevel},
		Range:      spread,
		SNR:        10 * math.Log10(mean.tone/mean.rest), // +Inf without noise
		Distortion: math.Sqrt(mean.harmonics / mean.tone),
	}
}

// describe returns a description of a recording without the tone.
func (s *toneSearch) describe() string {
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
	if share := lobe(s.sum, float64(max(peak, toneLobe))) / floats.Sum(s.sum); share > 0.5 {
		f := s.spacing() * peakBin(s.sum, peak)
		return fmt.Sprintf("there is a tone at %.1f Hz, %+.1f %% away from %g Hz%s",
			f, 100*(f/s.frequency-1), s.frequency, s.asAtAnotherRate(f))
	}
	return fmt.Sprintf("%g Hz is never stronger than all the rest", s.frequency)
}

// asAtAnotherRate returns the words for a tone that the calibrator would give in a file whose
// header states another rate than the recorder had; nothing if it is not at such a frequency.
func (s *toneSearch) asAtAnotherRate(f float64) string {
	for _, rate := range []float64{44100, 48000, 88200, 96000} {
		if recorded := s.rate * s.frequency / f; math.Abs(recorded/rate-1) < 0.003 {
			return fmt.Sprintf(", as if it had been recorded at %g Hz and not at the %g Hz that the file states",
				rate, s.rate)
		}
	}
	return ""
}

// toneBlock holds the frequency in Hz and the mean squares of a block.
type toneBlock struct {
	frequency, tone, harmonics, rest float64
}

// lobe returns the power of a line at a bin.
func lobe(power []float64, at float64) float64 {
	sum, middle := 0.0, int(math.Round(at))
	for k := middle - toneLobe; k <= middle+toneLobe && k < len(power); k++ {
		sum += power[k]
	}
	return sum
}

// peakBin returns the position in bins of a line whose highest bin is k. Under a Hann window the
// amplitudes a > b of its two highest bins give its distance from the higher, (2b − a)/(a + b)
// (Grandke, IEEE Trans. IM 32(2), 1983; from memory).
func peakBin(power []float64, k int) float64 {
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
