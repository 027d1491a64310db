package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"

	"example.com/earnest/examples/session"
	"example.com/earnest/response"
)

// printChanges prints, for every two conditions, whether something changed, and the differences
// between specimens.
func printChanges(out io.Writer, paths []string, q session.Compare, progress func(string)) error {
	changes, specimens, err := session.CompareSessions(paths, q, progress)
	if err != nil {
		return err
	}
	for i := range changes {
		c := &changes[i]
		fmt.Fprintf(out, "%s, against %s (%s)\n%s\n", c.To, c.From, c.Design, c)
		t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
		for _, f := range c.Figures {
			verdict := "no change found:"
			switch {
			case math.IsNaN(f.Adjusted):
				verdict = "no interval:"
			case f.Changed:
				verdict = "changed by"
			}
			fmt.Fprintf(t, "\t%s\t%s %s\n", f.Name, verdict, f.WithInterval(0.95))
		}
		if err := t.Flush(); err != nil {
			return err
		}
		for _, note := range c.Notes {
			fmt.Fprintln(out, "note:", note)
		}
		fmt.Fprintln(out)
	}
	if specimens == nil {
		return nil
	}
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "%d specimens\tdiffer by (standard deviation)\tseatings by\tthe next may differ by\n",
		len(specimens.Names))
	for _, f := range octaves(specimens.Frequency[0], specimens.Frequency[len(specimens.Frequency)-1]) {
		v := specimens.At(f)
		low, high := v.Next.Interval(0.95)
		fmt.Fprintf(t, "%s\t%s\t%s\t± %.1f dB\n", response.FormatFrequency(f), v.Between.WithInterval(0.95),
			v.Within, (high-low)/2)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, note := range specimens.Notes {
		fmt.Fprintln(out, "note:", note)
	}
	return nil
}

// printPlan prints, by octave, the change that a number of seatings of each condition detects 8
// times in 10.
func printPlan(out io.Writer, paths []string, q session.Compare, progress func(string)) error {
	const power, wanted, most = 0.8, 0.5, 10
	plan, err := session.Plan(paths, q, progress)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "The smallest change in dB that is detected 8 times in 10, against the number of "+
		"seatings of each condition:\nat a frequency named in advance, and anywhere in the band. "+
		"The scatter of seatings is that of these\nsessions, with %.0f degrees of "+
		"freedom.\n\n", plan.DegreesOfFreedom)
	counts := []int{2, 3, 4, 5, 6, 8, most}
	f := octaves(plan.Scatter.Frequency[0], plan.Scatter.Frequency[len(plan.Scatter.Frequency)-1])
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(t, "seatings\t")
	for _, hz := range f {
		fmt.Fprintf(t, "%s\t", response.FormatFrequency(hz))
	}
	fmt.Fprintln(t)
	enough := make([]int, len(f))
	for _, n := range counts {
		named, anywhere := plan.Least(n, power)
		for _, row := range []struct {
			what  string
			curve response.Curve
		}{{"named", named}, {"anywhere", anywhere}} {
			fmt.Fprintf(t, "%d, %s\t", n, row.what)
			for i, hz := range f {
				v := row.curve.At(hz)
				fmt.Fprintf(t, "%.2f\t", math.Ceil(100*v)/100)
				if row.what == "named" && v <= wanted && enough[i] == 0 {
					enough[i] = n
				}
			}
			fmt.Fprintln(t)
		}
	}
	fmt.Fprintf(t, "for %.1f dB, in advance\t", wanted)
	for _, n := range enough {
		if n == 0 {
			fmt.Fprintf(t, "> %d\t", most)
			continue
		}
		fmt.Fprintf(t, "%d\t", n)
	}
	fmt.Fprintln(t)
	return t.Flush()
}

// octaves returns the octaves of 1 kHz in a band.
func octaves(low, high float64) []float64 {
	return slices.DeleteFunc(response.LogGrid(low, high, 1), func(f float64) bool { return f < low || f > high })
}
