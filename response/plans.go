package response

import (
	"slices"
	"sync"

	"example.com/earnest/smoothing"
)

// smoothingKey identifies a smoothing plan by its bins and its kernel.
type smoothingKey struct {
	first, end, sampleRate, points int
	width                          float64 // of the kernel
	erb                            bool
}

// keptPlan is a plan of smoothing that was made, with its grid.
type keptPlan struct {
	smoothingKey
	grid []float64
	plan *smoothing.Plan
}

// plansKept are the plans that were used last: recordings of one session are smoothed alike.
var plansKept struct {
	lock sync.Mutex
	all  []keptPlan // the last used first
}

// mostPlans is how many are kept: a megabyte each, for a window of 170 ms and 512 ms.
const mostPlans = 6

// planOf returns the plan for a key and a grid that was used lately, or makes one.
func planOf(key smoothingKey, grid, bins []float64, k kernel) (*smoothing.Plan, error) {
	kept := &plansKept
	kept.lock.Lock()
	defer kept.lock.Unlock()
	i := slices.IndexFunc(kept.all, func(p keptPlan) bool { return p.smoothingKey == key && slices.Equal(p.grid, grid) })
	if i < 0 {
		plan, err := k.plan(bins, grid)
		if err != nil {
			return nil, err
		}
		kept.all = append(kept.all, keptPlan{key, slices.Clone(grid), plan})
		i = len(kept.all) - 1
	}
	found := kept.all[i]
	kept.all = slices.Insert(slices.Delete(kept.all, i, i+1), 0, found)
	if len(kept.all) > mostPlans {
		kept.all = slices.Delete(kept.all, mostPlans, len(kept.all))
	}
	return found.plan, nil
}
