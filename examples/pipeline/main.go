// Command pipeline measures many pairs in one go: session files in, as arguments or as
// lines on standard input, and one line of JSON out for each.
//
//	pipeline one/session.toml two > results.jsonl
//	find pairs -name session.toml | pipeline -resume results.jsonl
//
// README.md in this folder says the rest.
package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"syscall"

	"golang.org/x/term"

	"example.com/earnest/examples/session"
)

// Exit codes of the command.
const (
	exitFine        = 0
	exitFailures    = 1 // some sessions failed; their lines say why
	exitUnusable    = 2 // nothing could be read or written
	exitInterrupted = 130
)

// pipeline is the command; measure processes one session.
type pipeline struct{ measure func(path string) Record }

func (p pipeline) run(ctx context.Context, args []string, in io.Reader, out, diagnostics io.Writer) int {
	c, err := parse(args, in, diagnostics)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return exitFine
	case err != nil:
		fmt.Fprintln(diagnostics, "pipeline:", err)
		return exitUnusable
	}
	if c.schema {
		err = writeSchema(out)
	} else {
		err = p.measureAll(ctx, c, out, diagnostics)
	}
	if err == nil {
		return exitFine
	}
	fmt.Fprintln(diagnostics, "pipeline:", err)
	switch {
	case errors.Is(err, errFailures):
		return exitFailures
	case errors.Is(err, errInterrupted):
		return exitInterrupted
	}
	return exitUnusable
}

// command holds the parsed command line.
type command struct {
	sessions []string
	resume   string
	retry    bool
	workers  int
	schema   bool
}

func main() {
	session.SpareMemory()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(pipeline{new(measurer).measure}.run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

func parse(args []string, in io.Reader, diagnostics io.Writer) (c command, err error) {
	flags := flag.NewFlagSet("pipeline", flag.ContinueOnError)
	flags.SetOutput(diagnostics)
	flags.StringVar(&c.resume, "resume", "", "append the missing sessions to this `file`, instead of writing to standard output")
	flags.BoolVar(&c.retry, "retry", false, "with -resume: measure failed sessions again")
	flags.IntVar(&c.workers, "workers", runtime.NumCPU(), "how many sessions to measure at a time")
	flags.BoolVar(&c.schema, "schema", false, "print the JSON Schema of a line and do nothing else")
	flags.Usage = func() {
		fmt.Fprintln(diagnostics, "usage: pipeline [flags] [session.toml or its folder ...]\nWithout sessions, "+
			"their paths are read from standard input, one a line.")
		flags.PrintDefaults()
	}
	if err := flags.Parse(args); err != nil {
		return c, err
	}
	if c.workers < 1 {
		return c, fmt.Errorf("-workers %d: give at least 1", c.workers)
	}
	if c.retry && c.resume == "" {
		return c, errors.New("-retry: name the file of an earlier run with -resume")
	}
	if c.schema {
		return c, nil
	}
	c.sessions = flags.Args()
	if len(c.sessions) == 0 {
		if isTerminal(in) {
			flags.Usage()
			return c, errors.New("no session; name one, or pipe a list of them in")
		}
		if c.sessions, err = readLines(in); err != nil {
			return c, err
		}
	}
	if c.sessions = distinct(c.sessions); len(c.sessions) == 0 {
		return c, errors.New("no session in the list")
	}
	return c, nil
}

// readLines returns the lines of a list that are not empty.
func readLines(r io.Reader) (lines []string, err error) {
	s := bufio.NewScanner(r)
	for s.Scan() {
		if s.Text() != "" {
			lines = append(lines, s.Text())
		}
	}
	if err := s.Err(); err != nil {
		return nil, fmt.Errorf("the list of sessions: line %d: %w; give one path a line", len(lines)+1, err)
	}
	return lines, nil
}

// isTerminal reports whether a stream is a terminal.
func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
