package placement

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// follower measures how far a recording follows the sweep, piece by piece.
type follower struct {
	sweep, mark []piece
	slack       int
}

const (
	pieceSeconds = 0.05
	fewestPieces = 16
	mostPieces   = 512
	// alike is the normalised cross-correlation above which a piece counts as present: a piece in
	// noise of its own level and band has 0.7, noise alone reaches 0.2.
	alike = 0.5
	// markAlike is the same for the mark, whose band the headphones may tilt.
	markAlike = 0.35
)

func newFollower(st *sweep.Stimulus) *follower {
	fs, x, plans := st.Signal().SampleRate(), st.Signal().Samples(), &fft.Cache{}
	f := &follower{slack: fs/200 + int(1.5*capture.MaxDrift*1e-6*float64(len(x)))}
	n := max(min(int(pieceSeconds*float64(fs)), len(x)/fewestPieces), len(x)/mostPieces)
	for at := 0; at+n <= len(x); at += n {
		f.sweep = append(f.sweep, f.piece(x, at, n, plans))
	}
	if len(st.Find(sweep.Mark)) > 0 {
		mark := st.Sweep().Mark()
		f.mark = []piece{f.piece(mark, 0, len(mark), plans)}
	}
	return f
}

func (f *follower) piece(x []float64, at, n int, plans *fft.Cache) piece {
	p := piece{at: at, len: n, plan: plans.Plan(fft.FastLen(n + 2*f.slack))}
	p.spectrum = p.plan.Forward(nil, x[at:at+n])
	for _, v := range x[at : at+n] {
		p.norm += v * v
	}
	return p
}

// isSweep reports whether a sweep begins at a sample of x: three of eight pieces are there. (A
// knock, a voice or another sweep also matches, weakly, but not with piece after piece.)
func (f *follower) isSweep(x []float64, at int) bool {
	const looked, enough = 8, 3
	n := 0
	for k := range looked {
		if f.sweep[(2*k+1)*len(f.sweep)/(2*looked)].alike(x, at, f.slack) > alike {
			n++
		}
	}
	return n >= enough
}

func (f *follower) isMark(x []float64, at int) bool {
	return f.mark[0].alike(x, at, f.slack) > markAlike
}

// reach returns the number of samples for which x follows the sweep that begins at a sample: to the
// end of the last two pieces that are there, if half of those before them are too, and 0 otherwise.
// (A voice matches a piece here and there.)
func (f *follower) reach(x []float64, at int) (to int) {
	before, count := false, 0
	for k, p := range f.sweep {
		there := p.alike(x, at, f.slack) > alike
		if there {
			count++
		}
		if there && before && 2*count > k {
			to = p.at + p.len
		}
		before = there
	}
	return to
}

// piece is a stretch of the sweep, or the mark, with its spectrum, ready for correlation.
type piece struct {
	at, len  int
	plan     *fft.Plan
	spectrum []complex128
	norm     float64
}

// alike returns the largest normalised cross-correlation of the piece with x, within slack of its
// place.
func (p *piece) alike(x []float64, at, slack int) float64 {
	part := search.Cut(x, at+p.at-slack, at+p.at+p.len+slack)
	mean, all := floats.Sum(part)/float64(len(part)), 0.0
	for i := range part {
		part[i] -= mean
		all += part[i] * part[i]
	}
	b := p.plan.Forward(nil, part)
	for k, v := range p.spectrum {
		b[k] *= complex(real(v), -imag(v))
	}
	match := p.plan.Inverse(nil, b)
	var energy, best float64
	for _, v := range part[:p.len] {
		energy += v * v
	}
	for lag := 0; lag <= 2*slack; lag++ {
		if lag > 0 {
			energy += part[lag+p.len-1]*part[lag+p.len-1] - part[lag-1]*part[lag-1]
		}
		if energy > 1e-9*all { // the sum is more than rounding
			best = max(best, math.Abs(match[lag])/math.Sqrt(energy*p.norm))
		}
	}
	return best
}
