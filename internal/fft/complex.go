package fft

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/dsp/fourier"

	"example.com/earnest/internal/hugepage"
)

const (
	short = 1 << 15 // points that are transformed in one piece: two copies fit the second cache
	// columns or rows that are transformed side by side: six cache lines in a row, which are
	// fetched ahead
	together = 24
)

// Complex transforms complex sequences of one length. It is safe for concurrent
// use.
//
// A long sequence is transformed as a matrix (Gentleman and Sande, AFIPS 29,
// 1966, from memory): with n = rows·columns, i = columns·r + c and k = p + rows·q,
//
//	X[p + rows·q] = Σ over c of exp(−j2πcq/columns) ·
//	                exp(−j2πcp/n) · Σ over r of exp(−j2πrp/rows) x[columns·r + c],
//
// so that all steps together pass through the memory twice, not once each, and intermediate results
// stay in the cache. The columns, and then the rows, are shared among the processors; the result
// does not depend on how many.
//
// A length with a prime factor above 5 is left to gonum.
type Complex struct {
	n           int
	down, along *radix // of a column, of a row; for a short sequence along alone
	roots       roots
	spaces      sync.Pool // of *workspace
	others      sync.Pool // of gonum's plans, for other lengths
}

// NewComplex returns a transform of n points. It panics if n < 1.
func NewComplex(n int) *Complex {
	if n < 1 {
		panic("fft: a transform needs at least one point")
	}
	c := &Complex{n: n}
	switch {
	case factorise(n) == nil:
		c.others.New = func() any { return fourier.NewCmplxFFT(n) }
		return c
	case n <= short:
		c.along = newRadix(n)
		return c
	}
	rows := middle(n)
	c.down, c.along, c.roots = newRadix(rows), newRadix(n/rows), newRoots(n)
	return c
}

// Transform replaces x by its transform Σ x[i] exp(−j2πik/n).
// It panics if the length is not the transform's.
func (c *Complex) Transform(x []complex128) {
	if len(x) != c.n {
		panic("fft: sequence of another length than the transform")
	}
	if c.along == nil {
		other := c.others.Get().(*fourier.CmplxFFT)
		other.Coefficients(x, x)
		c.others.Put(other)
		return
	}
	if c.down == nil {
		w := c.workspace(1, c.n)
		if y := c.along.transform(x, w.pairs[0][1], 1); &y[0] != &x[0] {
			copy(x, y)
		}
		c.spaces.Put(w)
		return
	}
	c.run(
		func(piece []complex128, at int) { copy(piece, x[at:]) },
		func(piece []complex128, at int) { copy(x[at:], piece) })
}

// run transforms the sequence that load provides, in pieces that begin at a sample, and passes the
// pieces of the result to store. Everything is loaded before anything is stored. Several goroutines
// may call both, for different pieces. The length has no prime factor above 5.
func (c *Complex) run(load, store func(piece []complex128, at int)) {
	if c.down == nil {
		w := c.workspace(1, c.n)
		defer c.spaces.Put(w)
		x, scratch := w.pairs[0][0], w.pairs[0][1]
		load(x, 0)
		store(c.along.transform(x, scratch, 1), 0)
		return
	}
	processors := runtime.GOMAXPROCS(0)
	w := c.workspace(processors, together*max(c.down.n, c.along.n))
	defer c.spaces.Put(w)
	if w.tiles == nil {
		w.tiles = hugepage.Make[complex128](c.n)
	}
	share(processors, blocks(c.along.n), func(worker, block int) { c.columns(w, worker, together*block, load) })
	share(processors, blocks(c.down.n), func(worker, block int) { c.rows(w, worker, together*block, store) })
}

// workspace borrows scratch memory for a number of processors, of size points each.
func (c *Complex) workspace(processors, size int) *workspace {
	w, _ := c.spaces.Get().(*workspace)
	if w == nil {
		w = &workspace{}
	}
	for len(w.pairs) < processors {
		w.pairs = append(w.pairs, [2][]complex128{make([]complex128, size), make([]complex128, size)})
	}
	return w
}

// columns transforms the columns from first on, multiplies them by the twiddles, and stores them
// where rows reads them: block of rows by block, and in each, for every column, as many values as
// there are rows in it.
func (c *Complex) columns(w *workspace, worker, first int, load func([]complex128, int)) {
	rows, columns := c.down.n, c.along.n
	wide := min(together, columns-first)
	x, scratch := w.pairs[worker][0][:rows*wide], w.pairs[worker][1]
	for r := range rows {
		load(x[r*wide:][:wide], columns*r+first)
	}
	x = c.down.transform(x, scratch, wide)
	for row := 0; row < rows; row += together {
		high := min(together, rows-row)
		tile := w.tiles[columns*row+high*first:][:high*wide]
		block := x[row*wide:][:high*wide]
		for i := range wide {
			to, k := tile[i*high:][:high], row*(first+i)
			for p := range to {
				to[p] = block[p*wide+i] * c.roots.at(k)
				k += first + i
			}
		}
	}
}

// rows transforms the rows from first on, as columns has stored them.
func (c *Complex) rows(w *workspace, worker, first int, store func([]complex128, int)) {
	rows, columns := c.down.n, c.along.n
	high := min(together, rows-first)
	x := c.along.transform(w.tiles[columns*first:][:columns*high], w.pairs[worker][1], high)
	for q := range columns {
		store(x[q*high:][:high], rows*q+first)
	}
}

// workspace is the scratch memory of one transform.
type workspace struct {
	tiles []complex128
	pairs [][2][]complex128 // of each processor
}

// middle returns the largest divisor of n that is not above its square root.
func middle(n int) int {
	for d := int(math.Sqrt(float64(n))); ; d-- {
		if n%d == 0 {
			return d
		}
	}
}

func blocks(n int) int { return (n + together - 1) / together }

// share calls work for every block, on a number of processors.
func share(processors, blocks int, work func(worker, block int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	run := func(worker int) {
		for block := int(next.Add(1)) - 1; block < blocks; block = int(next.Add(1)) - 1 {
			work(worker, block)
		}
	}
	for worker := 1; worker < min(processors, blocks); worker++ {
		wait.Go(func() { run(worker) })
	}
	run(0)
	wait.Wait()
}
