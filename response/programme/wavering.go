package programme

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/response"
)

const (
	// surely is the number of standard uncertainties from which a change counts: with 200 pieces in
	// 30 bands, 1 recording in 60 has one by chance.
	surely = 5.0
	// leastChange is the least change in dB that is named, and gravely the least that gives a
	// warning.
	leastChange, gravely = 0.5, 1.0
	// mostNamed is the greatest number of changes that are named.
	mostNamed = 3
)

// parts are the parts of the band whose changes are followed.
var parts = []struct {
	name string
	band response.Band
}{
	{"bass", response.Band{Low: 40, High: 250}},
	{"middle", response.Band{Low: 250, High: 4000}},
	{"treble", response.Band{Low: 4000, High: 16000}},
}

// course is the gain of a band over the pieces, in dB. Noise in the direct recording may have
// lowered it by up to noise.
type course struct {
	name                      string
	level, uncertainty, noise []float64
}

// change returns the change in a piece that noise in the direct recording does not explain.
func (c course) change(p int) float64 {
	if v := c.level[p]; v < 0 {
		return min(0, v+c.noise[p])
	}
	return c.level[p]
}

// stray is a run of pieces in which a band changes by more than chance.
type stray struct {
	course   course
	from, to int // pieces
	most     float64
	sure     float64 // largest change in standard uncertainties
}

// widen adds the neighbouring pieces that change in the same direction.
func (r *stray) widen() {
	same := func(p int) bool {
		return p >= 0 && p < len(r.course.level) && r.course.level[p]*r.most > 0 &&
			math.Abs(r.course.change(p)) > max(leastChange/2, 3*r.course.uncertainty[p])
	}
	for same(r.from - 1) {
		r.from--
	}
	for same(r.to) {
		r.to++
	}
	for p := r.from; p < r.to; p++ {
		if v := r.course.level[p]; math.Abs(v) > math.Abs(r.most) {
			r.most = v
		}
	}
}

func (r *stray) finding(s *Spectrogram, recording string) response.Finding {
	from, to := s.From+float64(r.from)*s.Step, s.From+float64(r.to)*s.Step
	f := response.Finding{Recording: recording, Kind: Wavering, Severity: response.Note, Time: from, Duration: to - from,
		Figures: map[string]response.Figure{"change": {Value: r.most, Unit: "dB"}},
		What: fmt.Sprintf("The difference wavers: "+
			"from %.1f to %.1f s %s comes through up to %.1f dB %s than in the median second. A pair that is steady does not "+
			"do that: the fit, a cable, or a device that adapts.",
			from, to, r.course.name, math.Abs(r.most), map[bool]string{true: "stronger", false: "weaker"}[r.most > 0])}
	if math.Abs(r.most) >= gravely {
		f.Severity = response.Warning
	}
	if s.Step > aboutPiece*1.5 {
		f.What = strings.Replace(f.What, "second", fmt.Sprintf("piece of %.0f s", s.Step), 1)
	}
	return f
}

// change follows the gain in third octaves, sets the changes of the parts, and names the bands that
// waver: the surest changes, no two at one time. The pieces that are named are left out of the
// steady filter that is the reference for the rest.
func (s *Spectrogram) change(t *resolution, recording string) {
	all := t.groups
	wavers := make([]bool, len(all))
	for range mostNamed + 1 {
		t.groups = nil
		for p, g := range all {
			if !wavers[p] {
				t.groups = append(t.groups, g)
			}
		}
		if 2*len(t.groups) < len(all) {
			t.groups = all
		}
		t.sumUp()
		t.groups = all
		best := s.surest(s.follow(t), wavers)
		if best.sure == 0 || len(s.Findings) == mostNamed {
			return
		}
		best.widen()
		for p := best.from; p < best.to; p++ {
			wavers[p] = true
		}
		s.Findings = append(s.Findings, best.finding(s, recording))
	}
}

// follow sets the changes of the parts, and returns those of the third octaves too.
func (s *Spectrogram) follow(t *resolution) (all []course) {
	s.Changes = nil
	for _, part := range parts {
		within := part.band.Intersect(response.Band{High: s.Bands[len(s.Bands)-1].High})
		var thirds []course
		for _, b := range bandsWithin(3, within) {
			one := t.series(b)
			one.name = "the third octave at " + response.FormatFrequency(b.Nominal)
			thirds = append(thirds, one)
		}
		c := meanOf(part.name, thirds, len(t.groups))
		half := make([]float64, len(c.level))
		for i, u := range c.uncertainty {
			half[i] = normal95 * u
		}
		s.Changes = append(s.Changes, Change{Name: part.name, Band: part.band, Level: c.level, HalfWidth95: half})
		all = append(append(all, c), thirds...)
	}
	return all
}

// surest returns the surest change outside the pieces that are named already.
func (s *Spectrogram) surest(all []course, named []bool) (best stray) {
	for _, c := range all {
		for p := range c.level {
			v := c.change(p)
			sure := math.Abs(v) / c.uncertainty[p]
			if sure > max(surely, best.sure) && math.Abs(v) >= leastChange && !named[p] {
				best = stray{c, p, p + 1, c.level[p], sure}
			}
		}
	}
	return best
}

// meanOf returns the mean of bands by piece, each weighted by its inverse variance. If the bands
// differ by more than their uncertainties, the uncertainty of the mean is multiplied by Birge's
// ratio.
func meanOf(name string, bands []course, pieces int) course {
	out := course{name: "the " + name, level: make([]float64, pieces), uncertainty: make([]float64, pieces),
		noise: make([]float64, pieces)}
	for p := range pieces {
		var weight, sum, square, count, noise float64
		for _, b := range bands {
			if v, w := b.level[p], 1/(b.uncertainty[p]*b.uncertainty[p]); w > 0 {
				weight, sum, square, count = weight+w, sum+w*v, square+w*v*v, count+1
				noise += w * b.noise[p]
			}
		}
		out.level[p], out.uncertainty[p] = math.NaN(), math.NaN()
		if weight > 0 {
			mean := sum / weight
			birge := max(1, (square-sum*mean)/max(1, count-1))
			out.level[p], out.uncertainty[p], out.noise[p] = mean, math.Sqrt(birge/weight), noise/weight
		}
	}
	return out
}
