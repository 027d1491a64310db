package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"example.com/earnest/internal/regular"
)

// earlier is what a file of results holds: whether the last line of each session is an error.
type earlier struct {
	failed map[string]bool
}

// missing are the sessions to measure now, and how many of the others failed.
func (e earlier) missing(sessions []string, retry bool) (todo []string, failed int) {
	for _, s := range sessions {
		bad, done := e.failed[s]
		switch {
		case !done || bad && retry:
			todo = append(todo, s)
		case bad:
			failed++
		}
	}
	return todo, failed
}

// openEarlier opens a file of results to append to, and makes it where it is missing. A last line that was broken
// off is cut away, and diagnostics say so; any other line that is no record of ours is an error, and the file stays as it is.
func openEarlier(path string, diagnostics io.Writer) (*os.File, earlier, error) {
	if err := regular.Check(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, earlier{}, fmt.Errorf("-resume: %w", err)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_APPEND, 0o644)
	if err != nil {
		return nil, earlier{}, fmt.Errorf("-resume: %w", err)
	}
	e, whole, rest, err := readEarlier(f)
	switch {
	case err != nil:
		err = fmt.Errorf("-resume: %s: %w", path, err)
	case rest > 0:
		fmt.Fprintf(diagnostics, "pipeline: %s: the last line was broken off after %d bytes; "+
			"it is cut away, and its session measured again\n", path, rest)
		err = f.Truncate(whole)
	}
	if err != nil {
		f.Close()
		return nil, earlier{}, err
	}
	return f, e, nil
}

// errForeign says that a file was not written by a pipeline.
var errForeign = errors.New("not a line of the pipeline; name a file that it wrote, or a new one")

// readEarlier reads whole lines, which end after whole bytes; rest bytes follow that make up none.
func readEarlier(r io.Reader) (e earlier, whole, rest int64, err error) {
	e.failed = map[string]bool{}
	b := bufio.NewReader(r)
	for n := 1; ; n++ {
		line, err := readLine(b)
		if err == io.EOF {
			return e, whole, int64(len(line)), nil
		}
		if err != nil {
			return e, 0, 0, fmt.Errorf("line %d: %w", n, err)
		}
		var r struct {
			Schema  string          `json:"schema"`
			Version int             `json:"version"`
			Session string          `json:"session"`
			Results json.RawMessage `json:"results"`
			Error   string          `json:"error"`
		}
		if json.Unmarshal(line, &r) != nil || r.Schema != Schema || r.Session == "" || (r.Error == "") == (r.Results == nil) {
			return e, 0, 0, fmt.Errorf("line %d: %w", n, errForeign)
		}
		if r.Version != Version {
			return e, 0, 0, fmt.Errorf("line %d: version %d where this program writes %d; begin a new file",
				n, r.Version, Version)
		}
		e.failed[r.Session] = r.Error != ""
		whole += int64(len(line))
	}
}

// longestLine is the most bytes of a line that are read: a hundred times those of a large session.
const longestLine = 64 << 20

// readLine reads up to the end of a line, or of what is there, which io.EOF says then. A line that is
// too long for one of ours is errForeign.
func readLine(b *bufio.Reader) (line []byte, err error) {
	for {
		part, err := b.ReadSlice('\n')
		line = append(line, part...)
		switch {
		case len(line) > longestLine, !begins(line):
			return nil, errForeign
		case err != bufio.ErrBufferFull:
			return line, err
		}
	}
}

// begins tells whether a line that was broken off can be one of ours: all begin alike.
func begins(line []byte) bool {
	const start = `{"schema":"` + Schema + `",`
	n := min(len(line), len(start))
	return string(line[:n]) == start[:n]
}
