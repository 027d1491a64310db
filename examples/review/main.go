// Command review measures a pair of headphones from the recordings that a session file names. It
// writes report.html, results.json, response.csv, distortion.csv and response.txt.
//
//	go run ./examples/review                       # an invented pair, made on the spot
//	go run ./examples/review my-pair/session.toml  # yours
//	go run ./examples/review -watch my-pair        # an assistant that judges each recording as it is made
//
// The command in ./examples/stimulus writes the file to play and a session file to fill in.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"text/tabwriter"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/review/watch"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// demoFolder is the folder of the demonstration.
const demoFolder = "earnest-demo"

func main() {
	session.SpareMemory()
	err := run(os.Args[1:], os.Stdout, os.Stderr)
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "review:", err)
		os.Exit(1)
	}
}

func run(args []string, out, diagnostics io.Writer) error {
	o, err := parse(args)
	if err != nil {
		return err
	}
	if o.watch != "" {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		defer stop()
		return watch.Run(ctx, o.watch, o.port, out)
	}
	if err := report.Writable(o.to); err != nil {
		return fmt.Errorf("%w (-to)", err)
	}
	release, err := report.Lock(o.to)
	if err != nil {
		return fmt.Errorf("%w (-to)", err)
	}
	defer release()
	steps := &steps{out: out}
	if o.demo {
		err := demo.Write(demoFolder, demo.Options{}, steps.begin)
		if err != nil && !errors.Is(err, fs.ErrExist) {
			return err
		}
	}
	s, err := session.Read(o.session)
	if err != nil {
		return err
	}
	if err := report.Vacant(o.to); err != nil && !o.replace {
		return fmt.Errorf("%w (-replace)", err)
	}
	steps.show(s, diagnostics)
	defer steps.end()
	results, err := s.Review(steps.begin)
	if err != nil {
		return err
	}
	if err := o.write(results, steps.begin); err != nil {
		return err
	}
	steps.end()
	if err := summarise(out, o.to, results); err != nil || !o.timings {
		return err
	}
	fmt.Fprintln(out)
	return steps.times.Print(out)
}

// summarise prints the main figures.
func summarise(out io.Writer, folder string, m *review.Results) error {
	j := m.Judgement
	fmt.Fprintln(out)
	for _, f := range m.Findings {
		if f.Severity >= response.Warning {
			fmt.Fprintf(out, "%v: %v\n", f.Severity, f)
		}
	}
	for _, p := range m.Programmes {
		if p.Refused != nil {
			fmt.Fprintf(out, "%v: %s is not compared: %v\n", response.Unfit, p.Name, p.Refused)
		}
	}
	for _, note := range m.Notes {
		fmt.Fprintln(out, "note:", note)
	}
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "%s\tdeviation\ttilt\twithin tolerance\tTHD at 1 kHz\n", m.About.Name)
	for _, side := range m.Sides() {
		d := j.Sides[side.Name]
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", side.Name, report.RMS(d), report.Interval(d.Tilt),
			report.Share(d.Share), report.Percent(side.THD(1000)))
	}
	if j.Difference != nil {
		fmt.Fprintf(t, "channel balance (L−R)\t%s over %v\n", report.RMS(*j.Difference), j.Difference.Band)
	}
	if j.Ranking != nil {
		for _, p := range j.Ranking.Places {
			fmt.Fprintf(t, "place %s: %s\t%s\n", places(p), p.Name, report.RMS(p.Deviation))
		}
	}
	for _, v := range j.Claims {
		fmt.Fprintf(t, "claimed: %s\t%v\n", v.Claim, v.Outcome)
	}
	for _, v := range j.Uses {
		fmt.Fprintf(t, "for %s\t%v\n", v.Use, v.Answer)
	}
	fmt.Fprintf(t, "target\t%s over %v\n", j.Target.Name, j.Mean.Band)
	if err := t.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(out, "\nOpen %s. Known: %v.\n", filepath.Join(folder, "report.html"), m.Mean.Valid)
	return err
}

// places returns the possible places of a pair: "2", or "2–3" in a tie.
func places(p target.Place) string {
	if p.Best == p.Worst {
		return fmt.Sprint(p.Best)
	}
	return fmt.Sprintf("%d–%d", p.Best, p.Worst)
}
