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
	"slices"
	"strings"
	"syscall"
	"text/tabwriter"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/progress"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/review/watch"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// demoFolder is the folder of the demonstration.
const demoFolder = "earnest-demo"

// watchPort is the port of the assistant's page.
const watchPort = 8438

func main() {
	session.SpareMemory()
	err := run(os.Args[1:], os.Stdout, os.Stderr)
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "review:", err)
		os.Exit(1)
	}
}

func run(args []string, out, diagnostics io.Writer) error {
	flags := flag.NewFlagSet("review", flag.ContinueOnError)
	to := flags.String("to", "", "folder for the report; beside the session file if not given")
	replace := flags.Bool("replace", false, "replace an existing report")
	listen := flags.Bool("listen",
		false, "write "+report.ListeningFile+" too, on which readers compare excerpts of music and speech without knowing "+
			"which is which")
	embed := flags.Bool("embed",
		false, "keep the excerpts of music and speech in the page, 20 MB at most; check that you may publish them")
	pictures := flags.Bool("pictures",
		false, "write each plot as SVG and PNG too, in the folder "+report.PicturesFolder+": for video, "+
			"light and dark, and for print")
	language := flags.String("language", "",
		"also write the page in another language, as report-de.html; languages: "+
			""+strings.Join(report.Languages(), ", "))
	folder := flags.String("watch", "", "`folder` in which recordings are made: judge each as it is made, on a page of this computer, until Ctrl-C")
	timings := flags.Bool("timings", false, "print at the end the time of each step, by the clock and of "+
		"all processors")
	port := flags.Int("port", watchPort, "port of that page; 0 means any free one")
	flags.Usage = func() {
		fmt.Fprintln(flags.Output(),
			"usage: review [-to folder] [-replace] [-listen] [-embed] [-pictures] [-language code] [-timings] "+
				"[session.toml]\n       review -watch folder [-port n]\nWithout a session file an "+
				"invented pair is "+
				"measured, in "+demoFolder+".")
		flags.PrintDefaults()
	}
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *language != "" && !slices.Contains(report.Languages(), *language) {
		return fmt.Errorf("-language %q is not known; choose one of "+
			"%s", *language, strings.Join(report.Languages(), ", "))
	}
	if *folder != "" {
		if flags.NArg() > 0 {
			return fmt.Errorf("unexpected argument %q: -watch takes only a folder", flags.Arg(0))
		}
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
		defer stop()
		return watch.Run(ctx, *folder, *port, out)
	}
	var times progress.Timings
	var bar *progress.Bar // set once the session is read, if the output is a terminal
	work := func(string) int { return 0 }
	last := 0
	say := func(step string) {
		times.Begin(step)
		if bar == nil {
			fmt.Fprintln(out, "  "+step)
			return
		}
		bar.Add(last)
		bar.Describe(step)
		last = work(step)
	}

	path := flags.Arg(0)
	if *to == "" {
		*to = demoFolder
		if path != "" {
			*to = sessionFolder(path)
		}
	}
	if err := report.Writable(*to); err != nil {
		return fmt.Errorf("%w (-to)", err)
	}
	release, err := report.Lock(*to)
	if err != nil {
		return fmt.Errorf("%w (-to)", err)
	}
	defer release()
	if path == "" {
		path = filepath.Join(demoFolder, "session.toml")
		err := demo.Write(demoFolder, demo.Options{}, say)
		if err != nil && !errors.Is(err, fs.ErrExist) {
			return err
		}
		// The demonstration may be replaced.
		*replace = true
	}
	s, err := session.Read(path)
	if err != nil {
		return err
	}
	if err := report.Vacant(*to); err != nil && !*replace {
		return fmt.Errorf("%w (-replace)", err)
	}
	bar, work = progress.New(diagnostics, workOf(s), "review"), func(step string) int { return workOfStep(s, step) }
	results, err := s.Review(say)
	defer bar.Finish()
	if err != nil {
		return err
	}
	say("writing the report")
	write := report.Write
	if *embed {
		write = report.WriteEmbedded
		say("the page holds excerpts of " + heard(results) + ": publish it only if you may publish that material")
	}
	if err := write(*to, results, *replace); err != nil {
		return err
	}
	if *language != "" {
		if err := report.WriteTranslation(*to, results, *language, *replace); err != nil {
			return err
		}
	}
	if *pictures {
		say("drawing the pictures")
		if err := report.WritePictures(*to, results, *replace); err != nil {
			return err
		}
	}
	if *listen {
		if err := report.WriteListening(*to, results, *replace); err != nil {
			return err
		}
	}
	times.End()
	bar.Finish()
	if err := summarise(out, *to, results); err != nil || !*timings {
		return err
	}
	fmt.Fprintln(out)
	return times.Print(out)
}

// heard returns the names of the pieces with excerpts.
func heard(m *review.Results) string {
	var names []string
	for _, p := range m.Programmes {
		if p.Excerpts != nil && len(p.Excerpts.Versions) > 0 {
			names = append(names, p.Name)
		}
	}
	if names == nil {
		return "nothing"
	}
	return strings.Join(names, ", ")
}

func sessionFolder(path string) string {
	if about, err := os.Stat(path); err == nil && about.IsDir() {
		return path
	}
	return filepath.Dir(path)
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
