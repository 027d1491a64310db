package programme

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
)

// pass goes through both recordings once, in blocks, several of them concurrently. It reads the
// through recording on the clock of the direct one and fills the resolutions. Beyond the recordings
// it takes the memory of one block per processor.
type pass struct {
	direct, through []float64
	alignment       *Alignment
	interpolator    *interpolate.Table
	from, shared    int // first sample and length of the shared stretch in the direct recording
	resolutions     []*resolution
	tones           [2][]tone // direct, through
	jumps           [2][]offsetJump
	leftOut         [][2]float64 // stretches of the shared stretch, in samples
	levels          [2]running   // direct, through
	steps           [2][]float64
	step            int
}

// newPass makes a pass for results up to high Hz.
func newPass(direct, through Channel, a *Alignment, high float64) *pass {
	p := &pass{direct: direct.Samples, through: through.Samples, alignment: a,
		interpolator: interpolatorFor(high / (float64(direct.SampleRate) / 2)),
		from:         a.from, shared: a.to - a.from, step: int(stepSeconds * float64(direct.SampleRate))}
	p.resolutions = resolutions(direct.SampleRate, p.shared)
	for i := range p.steps {
		p.steps[i] = make([]float64, p.shared/p.step)
	}
	p.findOffsetJumps(direct, through)
	return p
}

// run fills the resolutions, levels and steps. The blocks are added in order, each as soon as those
// before it have been, so the result does not depend on the number of processors.
func (p *pass) run() {
	blocks := make([]*block, (p.shared+blockLen-1)/blockLen)
	var turn sync.Mutex
	next := 0
	parallel.With(len(blocks), func() func(int) {
		w := newWorker(p)
		return func(i int) {
			b := w.block(i * blockLen)
			turn.Lock()
			defer turn.Unlock()
			for blocks[i] = b; next < len(blocks) && blocks[next] != nil; next++ {
				p.add(blocks[next])
				blocks[next] = nil
			}
		}
	})
	for _, t := range p.resolutions {
		t.groups = slices.DeleteFunc(t.groups, func(g *sums) bool { return g.count == 0 })
		t.findHum()
		t.sumUp()
		p.leaveOutTones(t)
		t.settle()
	}
}

// add adds the sums of a block to those of the pass.
func (p *pass) add(b *block) {
	for i, t := range p.resolutions {
		for g, s := range b.groups[i] {
			t.groups[g].merge(s)
		}
	}
	for k, l := range b.levels {
		p.levels[k].power += l.power
		p.levels[k].peak = max(p.levels[k].peak, l.peak)
	}
}

const (
	// blockLen is a multiple of the factors of all resolutions.
	blockLen = 1 << 19
	// margin is more than the length of all half-band filters in a row.
	margin = 1 << 10
	// stepSeconds is the length of the steps whose energies show attacks.
	stepSeconds = 1.0 / 400
)

// running holds the sums from which levels follow.
type running struct {
	power, peak float64
}

// block holds the sums of one block.
type block struct {
	groups []map[int]*sums // per resolution
	levels [2]running
}

// worker holds the memory for one block.
type worker struct {
	*pass
	transformer *transformer
	x, y        []float64    // the block at the full rate
	half        [4][]float64 // the block at the lower rates, which take turns
}

func newWorker(p *pass) *worker {
	w := &worker{pass: p}
	if len(p.resolutions) > 0 {
		w.transformer = newTransformer(p.resolutions[0].n)
	}
	return w
}

// block returns the sums over the segments that begin in the block at sample start of the shared
// stretch, and its levels.
func (w *worker) block(start int) *block {
	end := min(start+blockLen, w.shared)
	var ahead int
	for _, t := range w.resolutions {
		ahead = t.n * t.factor
	}
	base := start - margin
	length := min(end+ahead, w.shared) + margin - base
	w.x, w.y = grown(w.x, length), grown(w.y, length)
	w.fill(base)
	out := &block{groups: make([]map[int]*sums, len(w.resolutions))}
	for k, x := range [2][]float64{w.x, w.y} {
		out.levels[k] = w.energies(k, x[margin:margin+end-start], start)
	}
	x, y := w.x, w.y
	for i, t := range w.resolutions {
		if i > 0 {
			turn := 2 * (i % 2)
			w.half[turn] = halve(w.half[turn], x)
			w.half[turn+1] = halve(w.half[turn+1], y)
			x, y = w.half[turn], w.half[turn+1]
		}
		out.groups[i] = map[int]*sums{}
		stride := t.hop * t.factor
		for j := (start + stride - 1) / stride; j < t.segments && j*stride < end; j++ {
			if w.leavesOut(j*stride, j*stride+t.n*t.factor) {
				continue
			}
			g := t.group(j)
			if out.groups[i][g] == nil {
				out.groups[i][g] = newSums(t.n)
			}
			at := (j*stride - base) / t.factor
			w.transformer.add(out.groups[i][g], x[at:at+t.n], y[at:at+t.n])
		}
	}
	return out
}

// fill reads both recordings from sample base of the shared stretch on, with zeros beyond the
// stretch.
func (w *worker) fill(base int) {
	skip := max(0, -base)
	from := w.from + base + skip
	to := max(from, min(w.from+base+len(w.x), w.from+w.shared))
	for _, z := range [2][]float64{w.x, w.y} {
		clear(z[:skip])
		clear(z[skip+to-from:])
	}
	copy(w.x[skip:], w.direct[from:to])
	gain := 1.0
	if w.alignment.Inverted {
		gain = -1
	}
	read(w.y[skip:skip+to-from], w.through, w.interpolator, w.alignment.place(float64(from)), w.alignment.step(), gain)
}

// energies returns the sums over a block of one signal, and sets the mean square of each step.
func (w *worker) energies(k int, x []float64, start int) (r running) {
	steps := w.steps[k]
	for i := (start + w.step - 1) / w.step; i < len(steps); i++ {
		from := i*w.step - start
		if from >= len(x) {
			break
		}
		// A step that reaches into the next block is cut short: its mean serves as well.
		to := min(from+w.step, len(x))
		steps[i] = floats.Dot(x[from:to], x[from:to]) / float64(to-from)
	}
	r.power, r.peak = powerAndPeak(x)
	return r
}

// powerAndPeak returns the sum of squares and the largest magnitude.
func powerAndPeak(x []float64) (power, peak float64) {
	for _, v := range x {
		if a := math.Abs(v); a > peak {
			peak = a
		}
	}
	return floats.Dot(x, x), peak
}

// grown returns a slice of length n, in the memory of x if that suffices.
func grown(x []float64, n int) []float64 {
	if cap(x) < n {
		return make([]float64, n)
	}
	return x[:n]
}
