package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"

	"example.com/earnest/examples/progress"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
)

var (
	errFailures    = errors.New("not measured")
	errInterrupted = errors.New("interrupted")
)

// measurer measures sessions. A session with the same direct recording as the one before takes over
// the measurement of it, since many pairs on one rig share one.
type measurer struct {
	lock sync.Mutex
	last *session.Session // nil before the first
}

// measure reads and measures a session and returns its record.
func (m *measurer) measure(path string) Record {
	s, err := session.Read(path)
	if err != nil {
		return newRecord(path, nil, err)
	}
	m.lock.Lock()
	last := m.last
	m.lock.Unlock()
	if last != nil {
		s.Like(last)
	}
	results, err := s.Review(nil)
	if err != nil {
		return newRecord(path, nil, err)
	}
	m.lock.Lock()
	m.last = s
	m.lock.Unlock()
	var document bytes.Buffer
	if err := report.WriteJSON(&document, results); err != nil {
		return newRecord(path, nil, err)
	}
	return newRecord(path, document.Bytes(), nil)
}

// measureAll writes a line for every session without one. It returns errFailures if the last line
// of any requested session, of this run or an earlier one, is an error.
func (p pipeline) measureAll(ctx context.Context, c command, out, diagnostics io.Writer) error {
	sessions, failed := c.sessions, 0
	if c.resume != "" {
		release, err := report.Lock(c.resume)
		if err != nil {
			return fmt.Errorf("-resume: %w", err)
		}
		defer release()
		f, earlier, err := openEarlier(c.resume, diagnostics)
		if err != nil {
			return err
		}
		defer f.Close()
		out = f
		sessions, failed = earlier.missing(c.sessions, c.retry)
	}
	bar := progress.New(diagnostics, len(sessions), "sessions")
	again, err := p.measureEach(ctx, sessions, c.workers, func(r Record) error {
		if r.Error != "" {
			bar.Describe("sessions; failed: " + r.Session)
		}
		defer bar.Add(1)
		return writeLine(out, r)
	})
	bar.Finish()
	if errors.Is(err, errInterrupted) && c.resume != "" {
		return fmt.Errorf("%w; repeat the command to continue", err)
	}
	if err != nil {
		return err
	}
	if failed += again; failed > 0 {
		return fmt.Errorf("%d of %d sessions %w; their lines say why", failed, len(c.sessions), errFailures)
	}
	return nil
}

// measureEach measures several sessions at a time and passes on the records one by one as they
// finish. It stops at the first error in passing on, and when ctx ends.
func (p pipeline) measureEach(
	ctx context.Context, sessions []string, workers int, hand func(Record) error) (failed int, err error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel() // stops the workers
	todo, records := make(chan string), make(chan Record)
	go func() {
		for _, s := range sessions {
			select {
			case todo <- s:
			case <-ctx.Done():
				return
			}
		}
		close(todo)
	}()
	for range min(workers, len(sessions)) {
		go func() {
			for s := range todo {
				r := p.record(s)
				select {
				case records <- r:
				case <-ctx.Done():
					return
				}
			}
		}()
	}
	for n := range sessions {
		select {
		case r := <-records:
			if err := hand(r); err != nil {
				return failed, err
			}
			if r.Error != "" {
				failed++
			}
		case <-ctx.Done():
			return failed, fmt.Errorf("%w after %d of %d sessions", errInterrupted, n, len(sessions))
		}
	}
	return failed, nil
}

// record measures a session. If that panics, which is a fault of the library or of this command,
// the session fails and the others continue.
func (p pipeline) record(path string) (r Record) {
	defer func() {
		if fault := recover(); fault != nil {
			r = newRecord(path, nil, fmt.Errorf(
				"pipeline: %s: a fault of this program, not of the recordings: %v; report it and attach the "+
					"session", path, fault))
		}
	}()
	return p.measure(path)
}

// distinct returns each session file once; a folder means the session.toml in it.
func distinct(paths []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, path := range paths {
		if about, err := os.Stat(path); err == nil && about.IsDir() {
			path = filepath.Join(path, "session.toml")
		}
		if path = filepath.Clean(path); !seen[path] {
			seen[path] = true
			out = append(out, path)
		}
	}
	return out
}
