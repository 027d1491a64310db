package main

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"io"

	"example.com/earnest/examples/report"
)

// Schema and Version name the layout of a line, which pipeline.schema.json describes. The version
// rises whenever a field is removed or changes its meaning.
const (
	Schema  = "earnest/pipeline"
	Version = 1
)

// Record is one line: a session with its results or its error.
type Record struct {
	Schema  string          `json:"schema"`
	Version int             `json:"version"`
	Session string          `json:"session"`           // path of the session file
	Results json.RawMessage `json:"results,omitempty"` // as report.WriteJSON writes them
	Error   string          `json:"error,omitempty"`
}

func newRecord(path string, results json.RawMessage, err error) Record {
	r := Record{Schema: Schema, Version: Version, Session: path, Results: results}
	if err != nil {
		r.Error = err.Error()
	}
	return r
}

// writeLine writes a record in a single call, so that an interrupted run leaves only whole lines.
func writeLine(w io.Writer, r Record) error {
	var line bytes.Buffer
	e := json.NewEncoder(&line)
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		return fmt.Errorf("%s: %w", r.Session, err)
	}
	if _, err := w.Write(line.Bytes()); err != nil {
		return fmt.Errorf("the line of %s: %w; free some space and continue with -resume", r.Session, err)
	}
	return nil
}

//go:embed pipeline.schema.json
var lineSchema []byte

// writeSchema writes the schema of a line with that of the results inside.
func writeSchema(w io.Writer) error {
	var line, results map[string]any
	if err := json.Unmarshal(lineSchema, &line); err != nil {
		return err
	}
	if err := json.Unmarshal(report.ResultsSchema, &results); err != nil {
		return err
	}
	line["$defs"] = map[string]any{"results": results}
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(line)
}
