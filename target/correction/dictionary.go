package correction

import (
	"cmp"
	"iter"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// dictionary holds the filters to start from. Near a given gain the level of a filter in dB is
// about proportional to its gain. So the best gains for a set of filters are linear least squares,
// and the products of their levels judge a set in microseconds.
type dictionary struct {
	filters []Filter    // with a gain of unit
	levels  [][]float64 // per dB of gain, weighted
	gram    [][]float64 // products of the levels, with a small ridge
	wanted  []float64   // products with the wanted gain
	// of outside
	size, left []float64
	inside     [][]float64
}

// unit is the gain in dB at which the levels are computed: in the middle of the usual range.
const unit = 4

func newDictionary(ft *fitter) *dictionary {
	const perOctave = 4
	d := &dictionary{}
	low, high := ft.Band.Low, ft.Band.High
	n := max(1, int(math.Ceil(perOctave*math.Log2(high/low))))
	for i := range n + 1 {
		f := low * math.Pow(high/low, float64(i)/float64(n))
		d.filters = append(d.filters, ft.tries(f)...)
	}
	left := ft.left(nil)
	for _, f := range d.filters {
		p, level := polynomials(f, ft.SampleRate), make([]float64, len(ft.phase))
		for k, at := range ft.phase {
			level[k] = p.level(at) / unit
		}
		d.levels = append(d.levels, ft.weighted(level))
		d.wanted = append(d.wanted, floats.Dot(level, left))
	}
	const ridge = 1e-3 // it keeps filters from cancelling each other
	d.gram = make([][]float64, len(d.levels))
	for i := range d.gram {
		d.gram[i] = make([]float64, len(d.levels))
		for k := range d.levels[:i+1] {
			v := floats.Dot(d.levels[i], d.levels[k])
			d.gram[i][k], d.gram[k][i] = v, v
		}
		d.gram[i][i] += ridge
	}
	return d
}

func (d *dictionary) basis(set []int) basis {
	var b basis
	for k := range set {
		b.add(d, set[:k], set[k])
	}
	return b
}

// best returns the filter that adds most to a set, and the mean squares in dB² that the set and the
// filter remove.
func (d *dictionary) best(set []int) (found int, before, more float64) {
	b := d.basis(set)
	found = -1
	size, wanted := b.outside(d, set)
	for i, size := range size {
		if won := wanted[i] * wanted[i] / size; size > 1e-9 && won > more && !slices.Contains(set, i) {
			found, more = i, won
		}
	}
	return found, b.won(), more
}

// nearest returns the filter that removes most of the residual.
func (d *dictionary) nearest(left []float64) Filter {
	var found Filter
	var most float64
	for i, f := range d.filters {
		wanted, size := floats.Dot(d.levels[i], left), d.gram[i][i]
		if won := wanted * wanted / size; won > most {
			most, found = won, f
			found.Gain = wanted / size
		}
	}
	return found
}

// improve replaces the filters of a set in turn by the best one beside the rest, until none is
// better, and returns the mean square that the set removes.
func (d *dictionary) improve(set []int) float64 {
	b := d.basis(set)
	total := b.won()
	const rounds = 6
	for range rounds {
		before := total
		for k := range set {
			others := slices.Delete(slices.Clone(set), k, k+1)
			if i, rest, won := d.best(others); i >= 0 && rest+won > total*(1+1e-9) {
				set[k], total = i, rest+won
			}
		}
		if total <= before*(1+1e-6) {
			break
		}
	}
	return total
}

// draw returns a set of n filters. Without a random source it adds the best filter each time; with
// one it draws them at random. In either case it then improves the set.
func (d *dictionary) draw(n int, random *rand.Rand) candidate {
	var set []int
	for len(set) < n {
		var i int
		if random == nil {
			i, _, _ = d.best(set)
		} else {
			i = random.IntN(len(d.filters))
		}
		if i < 0 {
			break
		}
		if !slices.Contains(set, i) {
			set = append(set, i)
		}
	}
	won := d.improve(set)
	slices.Sort(set)
	return candidate{set, won}
}

// sets yields sets of n filters, the most promising of each batch first. The random draws are
// always the same.
func (d *dictionary) sets(n int) iter.Seq[[]Filter] {
	batches, draws, tried := 4, 25, 10
	if n > searched {
		batches, draws, tried = 1, 1, 1 // with so many filters every start does about as well
	}
	random := rand.New(rand.NewPCG(1, uint64(n)))
	var seen [][]int
	return func(yield func([]Filter) bool) {
		for batch := range batches {
			var found []candidate
			for i := range draws {
				source := random
				if batch+i == 0 {
					source = nil
				}
				c := d.draw(n, source)
				if !slices.ContainsFunc(seen, func(s []int) bool { return slices.Equal(s, c.set) }) {
					found, seen = append(found, c), append(seen, c.set)
				}
			}
			slices.SortStableFunc(found, func(a, b candidate) int { return cmp.Compare(b.won, a.won) })
			for _, c := range found[:min(tried, len(found))] {
				if !yield(d.withGains(c.set)) {
					return
				}
			}
		}
	}
}

// withGains solves for the gains of a set.
func (d *dictionary) withGains(set []int) []Filter {
	b := d.basis(set)
	out := make([]Filter, len(set))
	for k := len(set) - 1; k >= 0; k-- {
		g := b.y[k]
		for j := k + 1; j < len(set); j++ {
			g -= b.rows[j][k] * out[j].Gain
		}
		out[k] = d.filters[set[k]]
		out[k].Gain = g / b.rows[k][k]
	}
	return out
}

// basis is an orthogonalised set of the dictionary's filters (Cholesky).
type basis struct {
	rows [][]float64
	y    []float64
}

// add adds filter i, of which the part outside the basis counts.
func (b *basis) add(d *dictionary, set []int, i int) {
	row := make([]float64, len(set)+1)
	size, wanted := d.gram[i][i], d.wanted[i]
	for k, s := range set {
		c := d.gram[i][s]
		for j := range k {
			c -= row[j] * b.rows[k][j]
		}
		row[k] = c / b.rows[k][k]
		size -= row[k] * row[k]
		wanted -= row[k] * b.y[k]
	}
	root := math.Sqrt(max(size, 1e-12))
	row[len(set)] = root
	b.rows, b.y = append(b.rows, row), append(b.y, wanted/root)
}

// outside returns the part of each filter outside the basis: its size, and its product with the
// wanted gain. Both are valid until the next call.
func (b *basis) outside(d *dictionary, set []int) (size, wanted []float64) {
	d.left = append(d.left[:0], d.wanted...)
	d.size = d.size[:0]
	for i := range d.gram {
		d.size = append(d.size, d.gram[i][i])
	}
	size, wanted = d.size, d.left
	for len(d.inside) < len(set) {
		d.inside = append(d.inside, make([]float64, len(size)))
	}
	for k, s := range set { // the components of each filter in the basis
		c := d.inside[k]
		copy(c, d.gram[s])
		for j, other := range d.inside[:k] {
			floats.AddScaled(c, -b.rows[k][j], other)
		}
		root, y := b.rows[k][k], b.y[k]
		for i, v := range c {
			v /= root
			c[i] = v
			size[i] -= v * v
			wanted[i] -= v * y
		}
	}
	return size, wanted
}

// won returns the mean square in dB² that the set removes.
func (b *basis) won() float64 { return floats.Dot(b.y, b.y) }

// searched is the largest number of filters for which several random starts are tried.
const searched = 8

// candidate is a set and the mean square that it removes.
type candidate struct {
	set []int
	won float64
}

// tries returns the possible filters at f Hz.
func (ft *fitter) tries(f float64) []Filter {
	var tries []Filter
	for _, shape := range []Shape{Peaking, LowShelf, HighShelf} {
		if shape != Peaking && ft.NoShelves {
			continue
		}
		s := ft.spans(shape)
		if at := math.Log2(f); at < s[0].low || at > s[0].high {
			continue
		}
		qs := []float64{0.7}
		if shape == Peaking {
			qs = []float64{0.7, 1, 1.5, 2.2, 3.3, 5}
		}
		for _, q := range qs {
			t := Filter{shape, f, unit, min(math.Exp2(s[2].high), max(math.Exp2(s[2].low), q))}
			if !slices.Contains(tries, t) {
				tries = append(tries, t)
			}
		}
	}
	return tries
}
