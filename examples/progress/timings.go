package progress

import (
	"fmt"
	"io"
	"runtime/metrics"
	"text/tabwriter"
	"time"
)

// Timings measures the steps of a command, one after the other. The zero value is ready.
type Timings struct {
	steps []step
	begun time.Time
	busy  time.Duration
}

// Begin ends the step before, and begins one.
func (t *Timings) Begin(name string) {
	t.End()
	t.steps = append(t.steps, step{name: name})
	t.begun, t.busy = time.Now(), processors()
}

// End ends the step under way.
func (t *Timings) End() {
	if t.begun.IsZero() {
		return
	}
	last := &t.steps[len(t.steps)-1]
	last.took, last.busy, last.memory = time.Since(t.begun), processors()-t.busy, held()
	t.begun = time.Time{}
}

// Print writes the steps with their seconds, the seconds of all processors and their shares, and
// the memory that the process held at the end of each.
func (t *Timings) Print(w io.Writer) error {
	var took, busy time.Duration
	for _, s := range t.steps {
		took, busy = took+s.took, busy+s.busy
	}
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(table, "s\tprocessor s\tshare\tMB\t  step")
	line := func(name string, a, b time.Duration, memory string) {
		share := 0.0
		if busy > 0 {
			share = 100 * b.Seconds() / busy.Seconds()
		}
		fmt.Fprintf(table, "%.2f\t%.2f\t%.0f %%\t%s\t  %s\n", a.Seconds(), b.Seconds(), share, memory, name)
	}
	for _, s := range t.steps {
		line(s.name, s.took, s.busy, fmt.Sprint(s.memory>>20))
	}
	line("all", took, busy, "")
	return table.Flush()
}

type step struct {
	name       string
	took, busy time.Duration // by the clock, and of all processors
	memory     uint64        // bytes that the process held at its end
}

// held returns the memory in bytes that the process holds from the system.
func held() uint64 {
	all := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(all)
	return all[0].Value.Uint64() - all[1].Value.Uint64()
}
