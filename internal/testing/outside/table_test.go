package outside

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"
	"text/tabwriter"
)

// workers run at once; the programs that they start keep as many cores busy.
const workers = 2

// table collects errors by quantity, prints them and compares them with limits.
type table struct {
	t          *testing.T
	lock       sync.Mutex
	quantities []*quantity
}

func newTable(t *testing.T) *table { return &table{t: t} }

// quantity holds the errors of one quantity; larger is worse.
type quantity struct {
	table      *table
	name, unit string
	limit      float64
	errors     []float64
	worst      float64
	device     string // the worst one
}

// quantity returns the quantity of a name, and makes it the first time.
func (b *table) quantity(name, unit string, limit float64) *quantity {
	b.lock.Lock()
	defer b.lock.Unlock()
	for _, q := range b.quantities {
		if q.name == name {
			return q
		}
	}
	q := &quantity{table: b, name: name, unit: unit, limit: limit, worst: math.Inf(-1)}
	b.quantities = append(b.quantities, q)
	return q
}

// add notes an error, the largest of one device; NaN counts as beyond every limit. It reports
// whether the error is within the limit.
func (q *quantity) add(e float64, device string) bool {
	if math.IsNaN(e) {
		e = math.Inf(1)
	}
	q.table.lock.Lock()
	defer q.table.lock.Unlock()
	q.errors = append(q.errors, e)
	if e > q.worst {
		q.worst, q.device = e, device
	}
	return e <= q.limit
}

// beyond returns the number of errors that exceed the limit.
func (q *quantity) beyond() int {
	n := 0
	for _, e := range q.errors {
		if !(e <= q.limit) {
			n++
		}
	}
	return n
}

// at returns the p-th quantile of the errors.
func (q *quantity) at(p float64) float64 {
	slices.Sort(q.errors)
	return q.errors[int(math.Ceil(p*float64(len(q.errors))))-1]
}

// check prints the table and fails the test for every limit that is exceeded.
func (b *table) check() {
	b.t.Helper()
	var out strings.Builder
	w := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "quantity\tunit\tn\tmedian\t95 %%\tworst\tlimit\tworst device\n")
	// The order of the quantities is random.
	slices.SortFunc(b.quantities, func(a, c *quantity) int { return strings.Compare(a.name, c.name) })
	for _, q := range b.quantities {
		if len(q.errors) == 0 {
			continue
		}
		fmt.Fprintf(w, "%s\t%s\t%d\t%.3g\t%.3g\t%.3g\t%g\t%s\n", q.name, q.unit, len(q.errors), q.at(0.5), q.at(0.95), q.worst, q.limit, q.device)
		if n := q.beyond(); n > 0 {
			b.t.Errorf("%s: %d of %d beyond %g %s, at worst %.3g: %s", q.name, n, len(q.errors), q.limit, q.unit, q.worst, q.device)
		}
	}
	w.Flush()
	b.t.Logf("\n%s", out.String())
}
