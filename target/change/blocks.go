package change

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/response"
)

// errMissing means that a condition has no value of a figure.
var errMissing = errors.New("a condition has no value")

// design describes how one quantity was measured in the conditions.
type design struct {
	c         *comparison
	unit      string
	seatings  []Seating
	curves    []response.Curve
	condition []int
	block     []int // that seatings share, or −1
	kind      string
	counts    []int
	model     *model
	notes     []string
	confused  bool // the conditions with the days
}

// average returns the mean of the seatings of a condition.
func (d *design) average(condition int) (*response.Average, error) {
	var own []response.Curve
	for i, curve := range d.curves {
		if d.condition[i] == condition {
			own = append(own, curve)
		}
	}
	return response.AverageOf(own)
}

func (d *design) add(s Seating, curve response.Curve, condition int) {
	d.seatings, d.curves = append(d.seatings, s), append(d.curves, curve)
	d.condition, d.block = append(d.condition, condition), append(d.block, -1)
	d.counts[condition]++
}

// shared makes a block of the seatings that have the same name, if they are in more than one
// condition. It reports whether the blocks connect all conditions.
func (d *design) shared(name func(Seating) string) bool {
	blocks, first := map[string]int{}, map[string]int{}
	root := make([]int, len(d.counts))
	for i := range root {
		root[i] = i
	}
	for i, s := range d.seatings {
		if k, seen := first[name(s)]; name(s) != "" && !seen {
			first[name(s)] = d.condition[i]
		} else if name(s) != "" && d.condition[i] != k {
			if _, there := blocks[name(s)]; !there {
				blocks[name(s)] = len(blocks)
			}
			from, to := root[d.condition[i]], root[k]
			for c := range root {
				if root[c] == from {
					root[c] = to
				}
			}
		}
	}
	together := !slices.ContainsFunc(root, func(r int) bool { return r != root[0] })
	for i, s := range d.seatings {
		d.block[i] = -1
		if k, there := blocks[name(s)]; there && together {
			d.block[i] = k
		}
	}
	return together
}

// onlyShared leaves out seatings whose placement occurs in one condition only.
func (d *design) onlyShared() {
	all := *d
	d.seatings, d.curves, d.condition, d.block, d.counts = nil, nil, nil, nil, make([]int, len(d.counts))
	for i, b := range all.block {
		if b >= 0 {
			d.add(all.seatings[i], all.curves[i], all.condition[i])
			d.block[len(d.block)-1] = b
		}
	}
	if n := len(all.seatings) - len(d.seatings); n > 0 {
		d.notes = append(d.notes, fmt.Sprintf(
			"%d of %d seatings have a placement that only one condition has, and are left out.", n, len(all.seatings)))
	}
}

func (d *design) days() int {
	days := map[string]bool{}
	for _, s := range d.seatings {
		days[s.Day] = true
	}
	return len(days)
}

// byDay replaces the seatings of each day by their mean if no day has more than one condition. If
// each condition has only one day, days and conditions cannot be separated: the seatings stay, with
// the stated uncertainty of a day, which is in dB.
func (d *design) byDay() error {
	if d.days() == len(d.counts) {
		inDecibels := d.unit == "dB" || d.unit == "LU"
		d.confused = d.c.Day == 0 || !inDecibels
		what := "The uncertainty of a day is stated, and is part of the intervals of figures in dB; other figures have no interval."
		if d.confused {
			what = "A difference between the days looks like a change, and no interval contains it: " +
				"measure each condition on two days or more, or both on one day, or state the uncertainty of a day."
		}
		d.notes = append(d.notes, "Each condition was measured on a day of its own. "+what)
		for i := range d.curves {
			if !d.confused {
				d.curves[i] = d.curves[i].With(response.Cause{Name: "day", CommonTo: response.OneRig,
					Key: d.seatings[i].Day},
					func(float64) float64 { return d.c.Day }, 1)
			}
		}
		return nil
	}
	all := *d
	d.seatings, d.curves, d.condition, d.block, d.counts = nil, nil, nil, nil, make([]int, len(d.counts))
	for i, s := range all.seatings {
		same := func(k Seating) bool { return k.Day == s.Day && k.Condition == s.Condition }
		if slices.ContainsFunc(d.seatings, same) {
			continue
		}
		var own []response.Curve
		for k, other := range all.seatings {
			if same(other) {
				own = append(own, all.curves[k])
			}
		}
		mean, err := response.AverageOf(own)
		if err != nil {
			return err
		}
		d.add(s, known(mean.Level), all.condition[i])
	}
	d.kind = otherDays
	return nil
}

// difference returns condition b minus condition a: as a curve, what both have in common has
// cancelled and the scatter of the seatings is one component of the uncertainty; and as the
// estimate of that scatter, which is nil if it is not known.
func (d *design) difference(a, b int) (response.Curve, *estimate, error) {
	var means [2]response.Curve
	for i, condition := range []int{b, a} {
		mean, err := d.average(condition)
		if err != nil {
			return response.Curve{}, nil, err
		}
		means[i] = known(mean.Level)
	}
	diff, err := means[0].Sub(means[1])
	if err != nil {
		return diff, nil, err
	}
	e := d.model.estimate(a, b)
	if e != nil {
		diff.Level = e.level
	}
	if e == nil || e.freedom == 0 || d.confused { // noise and stated components are not the scatter of seatings
		diff.Uncertainty, diff.Components = nil, nil
		return diff, nil, nil
	}
	diff.Components = append(slices.Clone(diff.Components), e.scatter())
	return diff.Refreshed(), e, nil
}

// relabelled returns the result of relabel for two conditions, or 0 if relabelling does not apply.
func (d *design) relabelled(a, b int, alpha float64) float64 {
	var one, other [][]float64
	differences := map[int][]float64{}
	for i, c := range d.curves {
		switch d.condition[i] {
		case a:
			one = append(one, c.Level)
		case b:
			other = append(other, c.Level)
		default:
			continue
		}
		if d.kind == paired {
			sum := differences[d.block[i]]
			if sum == nil {
				sum = make([]float64, len(c.Level))
				differences[d.block[i]] = sum
			}
			sign := 1.0
			if d.condition[i] == a {
				sign = -1
			}
			floats.AddScaled(sum, sign, c.Level)
		}
	}
	switch {
	case d.confused:
		return 0
	case d.kind == paired && len(one) == len(other) && len(one) == len(differences):
		var levels [][]float64
		for _, k := range slices.Sorted(maps.Keys(differences)) {
			levels = append(levels, differences[k])
		}
		return relabel(levels, 0, alpha)
	case d.kind == independent || d.kind == otherDays:
		return relabel(append(one, other...), len(one), alpha)
	}
	return 0
}

func (d *design) words(a, b int) string {
	what := "seating"
	if d.kind == otherDays {
		what = "day"
	}
	return fmt.Sprintf("%s: %s and %s", d.kind, counted(d.counts[a], what), counted(d.counts[b], what))
}

// Kinds of designs, in words.
const (
	independent = "independent seatings"
	paired      = "paired: both in one placement"
	inTurn      = "in turn, with the drift removed"
	sameDays    = "independent seatings on the same days"
	otherDays   = "days, each the mean of its seatings"
)

// design finds out what the conditions share. It leaves out seatings whose quantity is not known.
func (c *comparison) design(of pick, unit string) (*design, error) {
	d := &design{c: c, unit: unit, kind: independent, counts: make([]int, len(c.conditions))}
	for _, s := range c.seatings {
		if curve, ok := of(s); ok {
			d.add(s, curve, slices.Index(c.conditions, s.Condition))
		}
	}
	if slices.Contains(d.counts, 0) {
		return nil, errMissing
	}
	if d.shared(func(s Seating) string { return s.Placement }) {
		d.kind = paired
		d.onlyShared()
	} else if d.shared(func(s Seating) string { return s.Day }) {
		d.kind = sameDays
		if slices.Max(d.block) == 0 {
			d.kind = independent
			d.block = slices.Repeat([]int{-1}, len(d.curves))
		}
	} else if d.days() > 1 {
		if err := d.byDay(); err != nil {
			return nil, err
		}
	}
	if c.InTurn && d.kind == independent {
		d.kind = inTurn
	}
	var levels [][]float64
	for _, curve := range d.curves {
		levels = append(levels, curve.Level)
	}
	d.model = newModel(levels, d.condition, d.block, c.InTurn && d.kind != otherDays && d.kind != paired)
	return d, nil
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
