package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme"
)

// piece is a known recording of music or speech.
type piece struct {
	recording *capture.Recording
	role      Role
	with      string // the other recording of the same piece
}

// between is the relation of two aligned recordings by third octaves.
type between struct {
	ratio     []float64 // level of y re x in dB; NaN if a steady filter of x explains less than half
	coherence float64   // mean share of the power of y that a steady filter of x explains, 0 to 1
}

func newBetween(x, y []float64, delay float64, sampleRate int) (out between) {
	n := segment/2 + 1
	cross, xx, yy := make([]complex128, n), make([]float64, n), make([]float64, n)
	spectraOf(x, y, delay, sampleRate, func(a, b []complex128) {
		for k := range cross {
			cross[k] += b[k] * complex(real(a[k]), -imag(a[k]))
			xx[k], yy[k] = xx[k]+fft.Power(a[k]), yy[k]+fft.Power(b[k])
		}
	})
	var all, bins float64
	for _, f := range thirds(response.Band{Low: 1, High: 0.5 * float64(sampleRate)}) {
		var px, py, shared, count float64
		bin := func(f float64) int { return int(f / float64(sampleRate) * segment) }
		for k := bin(f / math.Pow(2, 1./6)); k < min(n, bin(f*math.Pow(2, 1./6))); k++ {
			px, py, count = px+xx[k], py+yy[k], count+1
			if xx[k] > 0 && yy[k] > 0 {
				shared += fft.Power(cross[k]) / xx[k] / yy[k]
			}
		}
		all, bins = all+shared, bins+count
		if out.ratio = append(out.ratio, decibel.OfPower(py/px)); !(shared > 0.5*count) {
			out.ratio[len(out.ratio)-1] = math.NaN()
		}
	}
	out.coherence = all / max(1, bins)
	return out
}

// Learn tells the sorter the settled role of a recording. It keeps music and speech to match other
// recordings with them.
func (s *Sorter) Learn(rec *capture.Recording, i Identity, is Candidate) {
	switch is.Role {
	case DirectSweep:
		if s.direct == nil {
			s.direct = i.bands
		}
	case ThroughSweep:
		if s.direct != nil && i.bands != nil {
			s.pair = minus(i.bands, s.direct)
		}
	case DirectPiece, ThroughPiece, LonePiece:
		s.pieces = slices.DeleteFunc(s.pieces, func(p piece) bool {
			return p.recording.Name == rec.Name && (is.To == 0 || p.with == is.With)
		})
		for k := range s.pieces {
			if p := &s.pieces[k]; p.recording.Name == is.With && p.role == LonePiece {
				p.with = rec.Name
				p.role = map[Role]Role{DirectPiece: ThroughPiece, ThroughPiece: DirectPiece}[is.Role]
			}
		}
		s.pieces = append(s.pieces, piece{rec, is.Role, is.With})
	}
}

// pieceOf finds the known piece of which rec is another recording; nil if there is none. It tries
// direct recordings first.
func (s *Sorter) pieceOf(rec *capture.Recording) []Candidate {
	order := slices.Clone(s.pieces)
	slices.SortStableFunc(order, func(a, b piece) int {
		rank := func(p piece) int { return slices.Index([]Role{DirectPiece, LonePiece, ThroughPiece}, p.role) }
		return cmp.Compare(rank(a), rank(b))
	})
	for _, p := range order {
		if p.recording.Name == rec.Name {
			continue
		}
		if found := s.both(p, rec); found != nil {
			return found
		}
	}
	return nil
}

// severalPieces identifies the known pieces that a recording through the headphones contains one
// after the other.
func (s *Sorter) severalPieces(rec *capture.Recording) (all []Identity) {
	const margin = 0.5 // s before and after a piece, for the decay of its sound
	for _, p := range s.pieces {
		if p.role == ThroughPiece || p.recording.Name == rec.Name {
			continue
		}
		delay, ok := placeOf(p.recording, rec)
		from, to := max(0, delay), min(rec.Duration(), delay+p.recording.Duration())
		within := func(i Identity) bool { // another recording of the same piece
			c := i.Candidates[0]
			return min(to, c.To)-max(from, c.From) > 4*margin
		}
		if !ok || to-from < 4*margin || slices.ContainsFunc(all, within) {
			continue
		}
		part := *rec
		part.Channels = make([][]float64, len(rec.Channels))
		for c, x := range rec.Channels {
			part.Channels[c] = x[int(from*float64(rec.SampleRate)):int(to*float64(rec.SampleRate))]
		}
		found := s.both(p, &part)
		for k := range found {
			found[k].From, found[k].To = max(0, from-margin), min(rec.Duration(), to+margin)
		}
		if found != nil {
			all = append(all, Identity{Candidates: found})
		}
	}
	slices.SortStableFunc(all, func(a, b Identity) int { return cmp.Compare(a.Candidates[0].From, b.Candidates[0].From) })
	for k := range all {
		all[k].Play = k + 1
	}
	return all
}

// both returns the possible roles of rec if it is another recording of a known piece, and nil if it
// is not.
func (s *Sorter) both(known piece, rec *capture.Recording) []Candidate {
	other := known.recording
	if rec.SampleRate != other.SampleRate {
		rec = rec.Resampled(other.SampleRate)
	}
	delay, ok, loudest := 0.0, false, loudestChannel(rec)
	var with int
	for c := range other.Channels { // also finds swapped sides
		a, _ := programme.ChannelOf(other, c+1)
		b, _ := programme.ChannelOf(rec, loudest)
		if delay, ok = programme.Find(a, b); ok {
			with = c + 1
			break
		}
	}
	if !ok {
		return nil
	}
	ratio := newBetween(other.Channels[with-1], rec.Channels[loudest-1], delay, rec.SampleRate).ratio
	same, alikeWhy := likeness(scatterOf(ratio), 0.4, 4, "those of the direct one")
	var direct float64
	why := ""
	switch {
	case known.with == rec.Name && known.role != LonePiece:
		if known.role == ThroughPiece {
			direct = 1
		}
		why = fmt.Sprintf("It holds the same music or speech as %s.", other.Name)
	case known.role == DirectPiece:
		direct, why = same, alikeWhy
	case known.role == ThroughPiece:
		direct, why = s.towards(ratio, other, rec)
	default:
		direct, why = s.towards(ratio, other, rec)
		direct = same/2 + (1-same)*direct
	}
	out := []Candidate{{Role: DirectPiece, With: other.Name, Chance: direct, Why: why}}
	out[0].Left, out[0].Right = 1, min(2, len(rec.Channels))
	for _, through := range s.sidesOfPiece(known, rec) {
		through.Role, through.With = ThroughPiece, other.Name
		through.Chance *= 1 - direct
		through.Why = cmp.Or(through.Why, why)
		out = append(out, through)
	}
	slices.SortStableFunc(out, func(a, b Candidate) int { return cmp.Compare(b.Chance, a.Chance) })
	return out
}

// sidesOfPiece returns the possible sides of a recording through headphones.
func (s *Sorter) sidesOfPiece(known piece, rec *capture.Recording) []Candidate {
	level := func(c int) float64 { return decibel.OfPower(statistic.MeanSquare(rec.Channels[c])) }
	if len(rec.Channels) >= 2 && math.Abs(level(0)-level(1)) < heardTogether && !alike(rec) {
		return []Candidate{{Left: 1, Right: 2, Chance: 1}}
	}
	heard := loudestChannel(rec)
	left := 0.5
	why := "The two sides of the direct recording are too similar to show the side."
	if other := known.recording; len(other.Channels) >= 2 && known.role != ThroughPiece && !alike(other) {
		x, _ := programme.ChannelOf(rec, heard)
		var explained [2]float64
		for c := range 2 {
			d, _ := programme.ChannelOf(other, c+1)
			delay, ok := programme.Find(d, x)
			if !ok {
				continue
			}
			explained[c] = newBetween(d.Samples, x.Samples, delay, rec.SampleRate).coherence
		}
		// ratio of the unexplained shares, in dB
		apart := decibel.OfPower((1-explained[1]+1e-4)/(1-explained[0]+1e-4)) / 2
		left = 1 / (1 + math.Pow(10, -apart))
		why = fmt.Sprintf("The two sides of the direct recording explain %.2f and %.2f of its "+
			"power.", explained[0], explained[1])
	}
	return []Candidate{{Left: heard, Chance: left, Why: why}, {Right: heard, Chance: 1 - left, Why: why}}
}

// towards returns the probability that b is the direct one of two recordings of a piece, given the
// ratio of b to a in dB. The recording through headphones has the known response added and the
// room's noise in its pauses.
func (s *Sorter) towards(ratio []float64, a, b *capture.Recording) (chance float64, why string) {
	odds := 0.0 // natural logarithm
	why = "Neither the pauses nor a known response shows which of the two is direct."
	if d := floorOf(a) - floorOf(b); math.Abs(d) > 6 {
		odds += d / 5
		why = fmt.Sprintf("Relative to the music or speech, its pauses are %.0f dB %s than those of %s.", math.Abs(d),
			map[bool]string{true: "quieter", false: "louder"}[d > 0], a.Name)
	}
	var of, by []float64
	for i := range min(len(s.pair), len(ratio)) {
		if !math.IsNaN(ratio[i] + s.pair[i]) {
			of, by = append(of, ratio[i]), append(by, s.pair[i])
		}
	}
	if len(of) > 7 {
		if r := stat.Correlation(of, by, nil); math.Abs(r) > 0.5 {
			odds -= 8 * r
			why = fmt.Sprintf("Of the two, the sweep's response points to it (correlation %.2f).", -r)
		}
	}
	return 1 / (1 + math.Exp(-odds)), why
}

// placeOf returns the time in seconds at which a piece begins in a recording.
func placeOf(piece, rec *capture.Recording) (delay float64, found bool) {
	if rec.SampleRate != piece.SampleRate {
		rec = rec.Resampled(piece.SampleRate)
	}
	b, _ := programme.ChannelOf(rec, loudestChannel(rec))
	for c := range piece.Channels {
		a, _ := programme.ChannelOf(piece, c+1)
		if delay, found = programme.Find(a, b); found {
			return delay, true
		}
	}
	return 0, false
}

// alike reports whether the two channels of a recording hold the same signal except for its level.
func alike(rec *capture.Recording) bool {
	a, b := rec.Channels[0], rec.Channels[1]
	dot, aa, bb := floats.Dot(a, b), floats.Dot(a, a), floats.Dot(b, b)
	return aa > 0 && bb > 0 && dot*dot/aa/bb > 0.99999
}

func loudestChannel(rec *capture.Recording) int {
	best := 0
	for c, x := range rec.Channels {
		if statistic.MeanSquare(x) > 2*statistic.MeanSquare(rec.Channels[best]) {
			best = c
		}
	}
	return best + 1
}

// floorOf returns the level of the softest twentieth of the frames of the loudest channel, in dB re
// its mean.
func floorOf(rec *capture.Recording) float64 {
	x := rec.Channels[loudestChannel(rec)-1]
	var powers []float64
	for frame := range slices.Chunk(x, max(1, rec.SampleRate/20)) {
		if p := statistic.MeanSquare(frame); p > 0 {
			powers = append(powers, p)
		}
	}
	if len(powers) < 20 {
		return math.NaN()
	}
	slices.Sort(powers)
	return decibel.OfPower(powers[len(powers)/20] / statistic.MeanSquare(x))
}

const segment = 8192 // samples per spectrum when two recordings of a piece are compared

// spectraOf passes the spectra of simultaneous segments of two recordings to each; y is delayed by
// delay seconds.
func spectraOf(x, y []float64, delay float64, sampleRate int, each func(x, y []complex128)) {
	d := int(math.Round(delay * float64(sampleRate)))
	plan, window := fft.NewPlan(segment), taper.Hann(segment)
	const most = 120
	from, to := max(0, -d), min(len(x), len(y)-d)-segment
	step := max(segment/2, (to-from)/most)
	cut := func(z []float64) []float64 { return floats.MulTo(make([]float64, segment), z[:segment], window) }
	for at := from; at <= to; at += step {
		each(plan.Forward(nil, cut(x[at:])), plan.Forward(nil, cut(y[at+d:])))
	}
}
