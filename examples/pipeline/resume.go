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

// earlier holds, for each session in a file of results, whether its last line is an error.
type earlier struct {
	failed map[string]bool
}

// missing returns the sessions to measure now, and how many of the others failed.
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

// openEarlier opens a file of results for appending, and creates it if it is missing. It removes an
// incomplete last line and reports that in diagnostics. Any other line that is not a record of the
// pipeline is an error; the file is then not changed.
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
		fmt.Fprintf(diagnostics, "pipeline: %s: the last line is incomplete (%d bytes); it is removed and "+
			"its session is measured again\n", path, rest)
		err = f.Truncate(whole)
	}
	if err != nil {
		f.Close()
		return nil, earlier{}, err
	}
	return f, e, nil
}

// errForeign is the error for a file that the pipeline did not write.
var errForeign = errors.New("not a line of the pipeline; name a file that it wrote, or a new one")

// readEarlier reads the complete lines, which take up whole bytes. The incomplete last line has
// rest bytes.
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
		if json.Unmarshal(line, &r) != nil || r.Schema != Schema || r.Session == "" ||
			(r.Error == "") == (r.Results == nil) {
			return e, 0, 0, fmt.Errorf("line %d: %w", n, errForeign)
		}
		if r.Version != Version {
			return e, 0, 0, fmt.Errorf("line %d: it has version %d, but this program writes %d; start a new file",
				n, r.Version, Version)
		}
		e.failed[r.Session] = r.Error != ""
		whole += int64(len(line))
	}
}

// longestLine is the largest number of bytes read of a line, a hundred times those of a large
// session.
const longestLine = 64 << 20

// readLine reads to the end of a line, or returns io.EOF with the rest of the file. For a line that
// is too long it returns errForeign.
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

// begins reports whether an incomplete line can be from the pipeline. All its lines begin the same
// way.
func begins(line []byte) bool {
	const start = `{"schema":"` + Schema + `",`
	n := min(len(line), len(start))
	return string(line[:n]) == start[:n]
}
