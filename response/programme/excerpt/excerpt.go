package excerpt

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
	"example.com/earnest/response/programme/loudness"
)

// Names of the two versions that [Cut] makes.
const (
	Direct  = "direct"
	Through = "through the headphones"
)

const (
	defaultLength = 10 * time.Second
	shortest      = 3 * time.Second  // the short-term loudness needs as much
	longest       = 20 * time.Second // long enough to compare, and short enough to quote
	fade          = 20 * time.Millisecond
	mostTruePeak  = -1     // dBTP, the ceiling of EBU R 128
	filterSeconds = 1.0    // length of the filter, which resolves 1 Hz
	edgeOctaves   = 1. / 6 // over which the filter ends beyond the known band
)

// ErrExcerpt is matched by the errors of this package.
var ErrExcerpt = errors.New("excerpt")

// Config says what to cut. The zero value takes the 10 s with the most third octaves.
type Config struct {
	// Length is from 3 to 20 s. 0 means 10 s, or the whole shared stretch if that is shorter.
	Length time.Duration
	// At is where the excerpt begins in the direct recording. Nil means where the most third
	// octaves carry energy.
	At *time.Duration
}

// stretch returns the first sample of the excerpt in the direct recording and the one after its
// last.
func (c Config) stretch(direct, through programme.Channel, a *programme.Alignment) (from, to int, err error) {
	if direct.SampleRate != through.SampleRate {
		return 0, 0, fmt.Errorf("%w: %s has %d Hz and %s %d Hz; record both at one rate",
			ErrExcerpt, direct.Name, direct.SampleRate, through.Name, through.SampleRate)
	}
	fs := float64(direct.SampleRate)
	first, last := int(math.Ceil(a.From*fs)), min(int(a.To*fs), len(direct.Samples))
	length := c.Length
	if length == 0 {
		length = min(defaultLength, time.Duration(float64(last-first)/fs*float64(time.Second)))
	}
	if length < shortest || length > longest {
		return 0, 0, fmt.Errorf("%w: %s: %.1f s; an excerpt takes from %.0f to %.0f s that both recordings have",
			ErrExcerpt, direct.Name, length.Seconds(), shortest.Seconds(), longest.Seconds())
	}
	n := int(length.Seconds() * fs)
	switch {
	case c.At != nil:
		from = int(c.At.Seconds() * fs)
	case last-first >= n:
		from = first + mostTelling(direct.Samples[first:last], direct.SampleRate, n)
	}
	if from < first || from+n > last {
		return 0, 0, fmt.Errorf("%w: %s: the stretch from %.1f to %.1f s is not in both recordings, "+
			"which share %.1f to %.1f s", ErrExcerpt, direct.Name,
			float64(from)/fs, float64(from+n)/fs, a.From, a.To)
	}
	return from, from + n, nil
}

// Version is one way in which the excerpt sounds.
type Version struct {
	Name    string
	Samples []float64 // full scale 1
	// Gain is the gain in dB that was applied to the recording.
	Gain float64
}

// Excerpt is the same stretch of several versions of some material.
type Excerpt struct {
	// From is where the excerpt begins in the direct recording, in seconds.
	From float64
	// SampleRate in Hz.
	SampleRate int

	versions []Version
	before   []float64 // of the direct recording before the excerpt, for filters to settle
}

// Cut takes the excerpt from the direct recording and from the one through the headphones. It reads
// the latter at the places that the alignment gives, by a sinc under a Kaiser window (0.001 dB up
// to 0.92 of half the sample rate), and inverts it if its polarity is inverted.
//
// The errors match [ErrExcerpt]: a length outside 3 to 20 s, a stretch that the recordings do not
// share, or unequal sample rates.
func Cut(direct, through programme.Channel, a *programme.Alignment, c Config) (*Excerpt, error) {
	from, to, err := c.stretch(direct, through, a)
	if err != nil {
		return nil, err
	}
	sign := 1.0
	if a.Inverted {
		sign = -1
	}
	aligned := make([]float64, to-from)
	table, delay, step := interpolate.NewTable(48, 1024, 10), a.Delay*float64(direct.SampleRate), 1+a.Clock.Drift*1e-6
	pieces := 8
	parallel.Do(pieces, func(p int) {
		for i := len(aligned) * p / pieces; i < len(aligned)*(p+1)/pieces; i++ {
			aligned[i] = sign * table.Linear(through.Samples, delay+float64(from+i)*step)
		}
	})
	return &Excerpt{
		From:       float64(from) / float64(direct.SampleRate),
		SampleRate: direct.SampleRate,
		versions: []Version{{Name: Direct, Samples: slices.Clone(direct.Samples[from:to])},
			{Name: Through, Samples: aligned}},
		before: slices.Clone(direct.Samples[max(0, from-int(filterSeconds*float64(direct.SampleRate))):from]),
	}, nil
}

// Filter returns the excerpt with one more version: the direct recording through a response in dB,
// with the minimum phase of its magnitude. Levels between known ones are interpolated against the
// logarithm of frequency. Beyond the known band nothing is played: over the last sixth of an octave
// at each end of it the filter falls to zero. The error matches [ErrExcerpt] if nothing of the
// response is known.
func (e *Excerpt) Filter(name string, curve response.Curve) (*Excerpt, error) {
	n := len(e.versions[0].Samples)
	filtered, err := filter(slices.Concat(e.before, e.versions[0].Samples), e.SampleRate, curve)
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrExcerpt, name, err)
	}
	more := *e
	more.versions = append(slices.Clone(e.versions),
		Version{Name: name, Samples: slices.Clone(filtered[len(filtered)-n:])})
	return &more, nil
}

// Equalise returns the versions at one loudness (ITU-R BS.1770-5): that of the direct recording, or
// less if the true peak of any version would exceed −1 dBTP. Each begins and ends with a fade of 20
// ms. The error matches [ErrExcerpt] if a version is too quiet to have a loudness.
func (e *Excerpt) Equalise() ([]Version, error) {
	common := math.Inf(1)
	loud := make([]float64, len(e.versions))
	for i, v := range e.versions {
		measured, err := loudness.Measure([][]float64{v.Samples}, e.SampleRate)
		if err != nil {
			return nil, fmt.Errorf("%w: %s: %w", ErrExcerpt, v.Name, err)
		}
		if math.IsNaN(measured.Integrated) {
			return nil, fmt.Errorf("%w: %s is below -70 LUFS, and cannot be made as loud as another; choose a louder stretch",
				ErrExcerpt, v.Name)
		}
		loud[i] = measured.Integrated
		if i == 0 {
			common = loud[0]
		}
		common = min(common, loud[i]+mostTruePeak-measured.TruePeak)
	}
	out := make([]Version, len(e.versions))
	for i, v := range e.versions {
		out[i] = Version{Name: v.Name, Gain: common - loud[i], Samples: slices.Clone(v.Samples)}
		gain, ends := decibel.Amplitude(out[i].Gain), int(fade.Seconds()*float64(e.SampleRate))
		for k := range out[i].Samples {
			rise := float64(min(k, len(v.Samples)-1-k)) + 0.5
			out[i].Samples[k] *= gain * taper.Rise(rise/float64(ends))
		}
	}
	return out, nil
}
