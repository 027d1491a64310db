package programme

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// Spectrogram holds both recordings over time and frequency, and how the filter between them
// changes.
type Spectrogram struct {
	// Time is the middle of each column in seconds of the direct recording.
	Time []float64
	// Bands are the rows, of a twelfth of an octave.
	Bands []smoothing.Band
	// Direct and Through are the levels in dBFS rms by row and column, NaN for digital silence. The
	// level of a row narrower than two bins is the density of these bins times the width of the
	// row.
	Direct, Through [][]float64
	// From is where the first piece of Changes begins, and Step the length of each, in seconds.
	From, Step float64
	// Changes are the changes of the level in the bass, the middle and the treble.
	Changes []Change
	// Findings name the bands whose level wavers, with the time, and a gain that follows the level.
	Findings []response.Finding
}

const (
	rowsPerOctave = 12
	lowestRow     = 40   // Hz
	rowSeconds    = 0.17 // length of the segments, about
	aboutPiece    = 1.0  // s
	mostPieces    = 200
	mostColumns   = 300
	mostUnsure    = 1.0 // dB; a change with a larger uncertainty is not known
	// tooSoft is the level in dB of a piece re the median piece below which its change is not known
	// at frequencies of mains hum: a hum in both recordings is coherent, and may be all it holds.
	tooSoft = -30
)

// NewSpectrogram compares both recordings piece by piece. A piece lasts about a second, or longer
// where there would be more than 200. The alignment has to be that of these recordings.
//
// Over the bins k of a band, a piece of time passes g times as much as the steady filter H, which
// is that of all pieces together:
//
//	g = Σ Re(H*_k Sxy_k) / Σ |H_k|² Sxx_k
//
// A steady filter has 0 dB in every piece, whatever is played. Pieces that waver are left out of H,
// as long as they are fewer than half. The standard uncertainty follows from the part of the piece
// that g H does not explain, r = Syy − g² Σ |H|² Sxx, over N independent real values: u(g)/g = √(r
// / (N g² Σ |H|² Sxx)).
func NewSpectrogram(direct, through Channel, a *Alignment) *Spectrogram {
	fs := float64(direct.SampleRate)
	shared := a.to - a.from
	n := 1 << int(math.Round(math.Log2(rowSeconds*fs)))
	t := &resolution{factor: 1, rate: fs, n: n, hop: n / 4, top: fs / 2}
	pieces := max(1, int(math.Round(a.shared()/aboutPiece)))
	if pieces > mostPieces {
		pieces, t.hop = mostPieces, n
	}
	length := shared / pieces
	g := &gram{resolution: t, direct: direct.Samples, through: through.Samples, alignment: a, length: length,
		interpolator: interpolatorFor(interpolateTop)}
	g.columns = max(1, min(mostColumns/pieces, g.length/t.hop))
	top := min(defaultHigh, interpolateTop*fs/2)
	out := &Spectrogram{Bands: bandsWithin(rowsPerOctave, response.Band{Low: lowestRow, High: top}), From: a.From,
		Step: float64(g.length) / fs}
	for i := range pieces * g.columns {
		out.Time = append(out.Time, a.From+(float64(i)+0.5)*out.Step/float64(g.columns))
	}
	for range out.Bands {
		out.Direct, out.Through = append(out.Direct, make([]float64, len(out.Time))),
			append(out.Through, make([]float64, len(out.Time)))
	}
	t.groups = make([]*sums, pieces)
	parallel.With(pieces, func() func(int) {
		w := &gramWorker{gram: g, transformer: newTransformer(n), one: newSums(n), out: out}
		return w.piece
	})
	out.change(t, through.Name)
	out.detectLevelControl(through.Name)
	return out
}

// Change states how much more of the material comes through in each piece of time than in the
// median of all pieces, over a band.
type Change struct {
	Name string
	Band response.Band
	// Level is in dB, and HalfWidth95 is half of its 95 % interval. Both are NaN in a piece with
	// too little energy in the band, or no more than noise.
	Level, HalfWidth95 []float64
}

// gram holds what all pieces have in common.
type gram struct {
	*resolution
	direct, through []float64
	alignment       *Alignment
	interpolator    *interpolate.Table
	length, columns int // samples in a piece, and columns
}

// gramWorker has the memory of one goroutine.
type gramWorker struct {
	*gram
	transformer *transformer
	one         *sums // of one segment
	y           []float64
	out         *Spectrogram
}

// piece sums up the segments whose middle lies in a piece, and sets its columns.
func (w *gramWorker) piece(p int) {
	a, n := w.alignment, w.n
	w.groups[p] = newSums(n)
	from := a.from + p*w.length
	first, last := max(a.from, from-n/2), min(a.to, from+w.length+n/2)
	w.y = grown(w.y, max(0, last-first))
	gain := 1.0
	if a.Inverted {
		gain = -1
	}
	read(w.y, w.through, w.interpolator, a.place(float64(first)), a.step(), gain)
	x := w.direct[first:last]
	counts := make([]int, w.columns)
	for at := 0; at+n <= len(x); at += w.hop {
		*w.one = sums{xx: zeroed(w.one.xx), yy: zeroed(w.one.yy), dd: zeroed(w.one.dd), xy: zeroed(w.one.xy),
			xd: zeroed(w.one.xd)}
		w.transformer.add(w.one, x[at:at+n], w.y[at:at+n])
		w.groups[p].merge(w.one)
		column := min(max(0, (first+at+n/2-from)*w.columns/w.length), w.columns-1)
		counts[column]++
		w.paint(p*w.columns + column)
	}
	for c, count := range counts {
		for row := range w.out.Bands {
			for _, side := range [2][][]float64{w.out.Direct, w.out.Through} {
				v := &side[row][p*w.columns+c]
				*v = decibel.OfPower(*v / float64(count))
			}
		}
	}
}

// paint adds the powers of one segment to a column.
func (w *gramWorker) paint(column int) {
	spacing := w.rate / float64(w.n)
	scale := 2 / (w.rate * 3 / 8 * float64(w.n))
	for row, band := range w.out.Bands {
		low, high := band.Low, band.High
		if high-low < 2*spacing {
			low, high = band.Centre-spacing, band.Centre+spacing
		}
		b := w.between(low, high)
		var x, y, weight float64
		for i, v := range b.weight {
			x, y, weight = x+v*w.one.xx[b.first+i], y+v*w.one.yy[b.first+i], weight+v
		}
		width := scale * (band.High - band.Low) / weight
		w.out.Direct[row][column] += x * width
		w.out.Through[row][column] += y * width
	}
}

// gain returns the level in dB by which a piece passes more than the steady filter in a band, and
// its standard uncertainty. Both are NaN if the uncertainty exceeds mostUnsure. It also returns by
// how much in dB noise in the direct recording may have lowered the level: if what is not explained
// is such noise, the level is that of H2, 1/γ² times as large.
func (t *resolution) gain(piece *sums, band smoothing.Band) (level, uncertainty, noise float64) {
	b := t.between(band.Low, band.High)
	var filtered, common, power, weight float64
	for i, w := range b.weight {
		k := b.first + i
		x := t.total.xx[k]
		if x == 0 {
			continue
		}
		h := t.corrected(t.total, k) / complex(x, 0)
		m := t.slopes[k] * piece.xd[k]
		cross := t.corrected(piece, k)
		weight += w
		filtered += w * fft.Power(h) * piece.xx[k]
		common += w * (real(h)*real(cross) + imag(h)*imag(cross))
		power += w * (piece.yy[k] - 2*(real(h)*real(m)+imag(h)*imag(m)) - fft.Power(t.slopes[k])*piece.dd[k])
	}
	g := common / filtered
	if !(g > 0) {
		return math.NaN(), math.NaN(), 0
	}
	explained := g * common
	values := 2 * effectiveAverages(piece.count, t.n, t.hop) * max(1, weight/2)
	const least = 1e-6 // of the power: windows leak as much, −60 dB
	u := math.Sqrt(max(power-explained, least*explained)/explained/values) / neper
	if !(u <= mostUnsure) {
		return math.NaN(), math.NaN(), 0
	}
	return decibel.OfAmplitude(g), u, max(0, decibel.OfAmplitude(power/explained))
}

// series returns a band's gain by piece, less its median, and the standard uncertainties.
func (t *resolution) series(band smoothing.Band) (out course) {
	var known []float64
	powers := make([]float64, len(t.groups))
	b := t.between(band.Low, band.High)
	for p, piece := range t.groups {
		for i, w := range b.weight {
			powers[p] += w * piece.xx[b.first+i] / float64(max(1, piece.count))
		}
	}
	least := decibel.Power(tooSoft) * statistic.Median(powers)
	for p, piece := range t.groups {
		v, u, noise := t.gain(piece, band)
		if powers[p] < least && band.Low < 60*humHighest {
			v, u, noise = math.NaN(), math.NaN(), 0
		}
		out.level, out.uncertainty, out.noise = append(out.level, v), append(out.uncertainty, u), append(out.noise, noise)
		if !math.IsNaN(v) {
			known = append(known, v)
		}
	}
	if len(known) == 0 {
		return out
	}
	middle := statistic.Median(known)
	for i := range out.level {
		out.level[i] -= middle
	}
	return out
}

func zeroed[T float64 | complex128](x []T) []T {
	clear(x)
	return x
}
