// Command compare ranks pairs of headphones that were measured on one rig by their deviation from a
// target. Each argument is a session.
//
//	go run ./examples/compare first/ second/ third/
//	go run ./examples/compare -target target.txt first/ second/
//
// Pairs that the measurements do not distinguish share a range of places.
//
// For a single pair it says whether something changed between conditions or sessions. From the
// scatter of earlier seatings it says how many seatings a comparison needs:
//
//	go run ./examples/compare -changed last-year/ this-year/
//	go run ./examples/compare -plan first/ second/
package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"text/tabwriter"

	"example.com/earnest/examples/progress"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

func main() {
	session.SpareMemory()
	err := run(os.Args[1:], os.Stdout, os.Stderr)
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "compare:", err)
		os.Exit(1)
	}
}

func run(args []string, out, diagnostics io.Writer) error {
	flags := flag.NewFlagSet("compare", flag.ContinueOnError)
	flags.SetOutput(diagnostics)
	file := flags.String("target", "", "`file` of frequencies and levels to compare with; flat if not given")
	otherRig := flags.Bool("other-rig",
		false, "allow sessions and a target from different rigs; the result then has a warning")
	changed := flags.Bool("changed", false, "say whether one pair changed between its conditions, or between sessions")
	plan := flags.Bool("plan", false, "say how many seatings a comparison needs, from the scatter of "+
		"earlier sessions")
	var question session.Compare
	flags.StringVar(&question.Against, "against", "", "with -changed, the condition with which all others "+
		"are compared; every two if not given")
	flags.StringVar(&question.Order, "order", "", `with -changed, the order of the seatings: "random", or "in turn"`)
	flags.Float64Var(&question.Day, "day", 0, "with -changed, the standard uncertainty in dB of the "+
		"difference between days, if each condition has its own day")
	flags.Float64Var(&question.Margin, "margin", 0, "with -changed, the change in dB that would matter; 0.5 if not given")
	flags.Usage = func() {
		fmt.Fprintln(flags.Output(), "usage: compare [-target file] [-other-rig] session session ...")
		fmt.Fprintln(flags.Output(), "       compare -changed [-against condition] [-order random] [-day dB] [-margin dB] session ...")
		fmt.Fprintln(flags.Output(), "       compare -plan session ...")
		flags.PrintDefaults()
	}
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *changed || *plan {
		if flags.NArg() == 0 {
			return errors.New("no session is named; name one or more")
		}
		say := func(step string) { fmt.Fprintln(diagnostics, step) }
		if *plan {
			return printPlan(out, flags.Args(), question, say)
		}
		return printChanges(out, flags.Args(), question, say)
	}
	if flags.NArg() < 2 {
		flags.Usage()
		return fmt.Errorf("%d sessions to rank; name two or more", flags.NArg())
	}
	goal := target.Flat()
	if *file != "" {
		var err error
		if goal, err = target.ReadFile(*file); err != nil {
			return err
		}
	}
	sessions, err := read(flags.Args(), *otherRig)
	if err != nil {
		return err
	}
	var pairs []target.Pair
	bar := progress.New(diagnostics, flags.NArg(), "sessions")
	defer bar.Finish()
	for i, path := range flags.Args() {
		if bar == nil {
			fmt.Fprintln(diagnostics, "measuring", path)
		}
		bar.Describe("measuring " + path)
		pair, _, err := sessions[i].Pair()
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		pairs = append(pairs, pair)
		bar.Add(1)
	}
	bar.Finish()
	ranking, err := target.Rank(pairs, goal, target.Config{AllowOtherRig: *otherRig})
	if err != nil {
		return otherwise(err)
	}
	return print(out, ranking, goal)
}

// read reads the sessions. It rejects those of another rig at once, before minutes of measuring.
func read(paths []string, otherRig bool) ([]*session.Session, error) {
	var sessions []*session.Session
	for _, path := range paths {
		s, err := session.Read(path)
		if err != nil {
			return nil, err
		}
		sessions = append(sessions, s)
		if first := sessions[0].Rig.Name; s.Rig.Name != first && !otherRig {
			return nil, otherwise(fmt.Errorf("%w: %s on %q, %s on %q", response.ErrOtherRig, paths[0], first, path,
				s.Rig.Name))
		}
	}
	return sessions, nil
}

// otherwise adds the flag that allows a comparison between rigs to an error.
func otherwise(err error) error {
	if errors.Is(err, response.ErrOtherRig) {
		return fmt.Errorf("%w; with -other-rig they are still ranked, and the result has a warning", err)
	}
	return err
}

// print writes the places, then the difference of every two pairs.
func print(out io.Writer, r target.Ranking, goal target.Target) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "place\tpair\trms deviation from %s over %v\n", goal.Name, r.Band)
	for _, p := range r.Places {
		places := fmt.Sprint(p.Best)
		if p.Worst != p.Best {
			places = fmt.Sprintf("%d–%d", p.Best, p.Worst)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\n", places, p.Name, p.Deviation.RMS.WithInterval(r.Confidence))
	}
	fmt.Fprintln(t, "\t\t")
	for _, d := range r.Differences {
		verdict := "not distinguished: they differ"
		if d.Separated {
			verdict = "differ"
		}
		fmt.Fprintf(t, "\t%s and %s\t%s by %s\n", r.Places[d.A].Name, r.Places[d.B].Name, verdict,
			d.RMS.WithInterval(r.Confidence))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, w := range r.Warnings {
		fmt.Fprintln(out, "warning:", w)
	}
	return nil
}
