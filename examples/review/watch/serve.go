package watch

import (
	"context"
	"crypto/rand"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.com/earnest/examples/loopback"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/session"
	"example.com/earnest/response/capture"
)

var (
	//go:embed page.html
	pageText string
	//go:embed page.css
	pageStyle string
	//go:embed page.js
	pageScript string

	pages = template.Must(template.New("").Parse(pageText))
)

// handler answers the requests of the page.
func (d *desk) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", d.page)
	mux.HandleFunc("GET /desk", d.fragment)
	mux.HandleFunc("GET /stimulus.wav", func(w http.ResponseWriter, r *http.Request) {
		http.ServeFile(w, r, filepath.Join(d.folder, "stimulus.wav"))
	})
	mux.HandleFunc("GET /report/{name}", d.reportFile)
	mux.HandleFunc("GET /favicon.ico",
		func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) })
	for path, do := range map[string]func(*http.Request) error{"/begin": d.begin, "/answer": d.answer,
		"/use":   d.useAllTheSame,
		"/write": d.write, "/stimulus": d.makeStimulus, "/report": d.makeReport} {
		mux.HandleFunc("POST "+path, func(w http.ResponseWriter, r *http.Request) {
			r.Body = http.MaxBytesReader(w, r.Body, 1<<20)
			if err := r.ParseForm(); err != nil {
				http.Error(w, err.Error(), http.StatusBadRequest)
				return
			}
			d.mutex.Lock()
			err := do(r)
			d.notice("asked", "")
			if err != nil {
				d.notice("asked", report.Sentence(strings.TrimPrefix(err.Error(), "capture: ")))
			}
			d.publish()
			d.mutex.Unlock()
			if err != nil {
				http.Error(w, err.Error(), http.StatusConflict)
				return
			}
			w.WriteHeader(http.StatusNoContent)
		})
	}
	return loopback.Guard("assistant", true, mux)
}

func (d *desk) page(w http.ResponseWriter, r *http.Request) {
	d.mutex.Lock()
	v := d.view()
	d.mutex.Unlock()
	v.Nonce, v.PlotStyle, v.Style, v.Script = rand.Text(), plot.CSS(), template.CSS(pageStyle), template.JS(pageScript)
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", "default-src 'none'; "+
		"img-src data:; style-src 'nonce-"+v.Nonce+"'; script-src 'nonce-"+v.Nonce+
		"'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	_ = pages.ExecuteTemplate(w, "page", v)
}

// patience is the longest time that a page waits for the next version.
const patience = 20 * time.Second

// fragment writes the next version of the page's content after the one that the page has.
func (d *desk) fragment(w http.ResponseWriter, r *http.Request) {
	d.mutex.Lock()
	changed := d.changed
	have := r.FormValue("after") == strconv.Itoa(d.version)
	d.mutex.Unlock()
	if have {
		timer := time.NewTimer(patience)
		defer timer.Stop()
		select {
		case <-changed:
			have = false
		case <-timer.C:
		case <-r.Context().Done():
			return
		}
	}
	d.mutex.Lock()
	v := d.view()
	open := d.open
	if !have {
		d.open = ""
	}
	d.mutex.Unlock()
	w.Header().Set("X-Version", strconv.Itoa(v.Version))
	if have {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	if open != "" {
		w.Header().Set("X-Open", open)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_ = pages.ExecuteTemplate(w, "desk", v)
}

// begin sets the names of pair and rig.
func (d *desk) begin(r *http.Request) error {
	pair, rig := strings.TrimSpace(r.FormValue("pair")), strings.TrimSpace(r.FormValue("rig"))
	if pair == "" || rig == "" {
		return errors.New("give the pair and the rig a name each")
	}
	d.pairName, d.rigName = pair, rig
	return nil
}

// taken returns the take that a request names.
func (d *desk) taken(r *http.Request) (*file, *take, error) {
	if f := d.file(r.FormValue("file")); f != nil {
		for _, t := range f.takes {
			if strconv.Itoa(t.identity.Play) == r.FormValue("play") {
				return f, t, nil
			}
		}
	}
	return nil, nil, errors.New("that recording is no longer there")
}

// answer sets the role of a recording chosen by the reviewer, and judges it again.
func (d *desk) answer(r *http.Request) error {
	f, t, err := d.taken(r)
	if err != nil {
		return err
	}
	i, err := strconv.Atoi(r.FormValue("choice"))
	if err != nil || i < 0 || i >= len(t.identity.Candidates) {
		return errors.New("there is no such answer")
	}
	c := t.identity.Candidates[i]
	d.answers[answerKey(f, t)] = c
	t.chosen, f.judged = &c, false // not asked again, but judged in its role
	return nil
}

func (d *desk) useAllTheSame(r *http.Request) error {
	f, t, err := d.taken(r)
	if err == nil {
		t.use, d.used[answerKey(f, t)] = true, true
	}
	return err
}

// write adds the ticked lines to the current session file.
func (d *desk) write(r *http.Request) error {
	if err := d.take(); err != nil {
		return errors.New("another assistant has this folder; nothing was written")
	}
	d.reread()
	if d.notices["session"] != "" {
		return errors.New("nothing was written: the session file cannot be read")
	}
	var wanted []session.Line
	for _, l := range d.lines() {
		on := slices.Contains(r.Form["line"], l.Key)
		if d.skipped[l.Key] = !on; on {
			wanted = append(wanted, l)
		}
	}
	if err := d.draft.Write(wanted); err != nil {
		return err
	}
	d.reread()
	return nil
}

// makeStimulus writes stimulus.wav, unless it exists.
func (d *desk) makeStimulus(*http.Request) error {
	stimulus, err := d.usual.Build()
	if err != nil {
		return err
	}
	settings, err := d.usual.Settings()
	if err != nil {
		return err
	}
	sound := &capture.Recording{SampleRate: stimulus.Sweep().SampleRate(), Channels: stimulus.Channels(),
		Settings: settings}
	err = capture.Write(filepath.Join(d.folder, "stimulus.wav"), sound,
		capture.WriteConfig{Format: capture.Format{Bits: 24}})
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	d.reread()
	return nil
}

// makeReport makes the report beside the session file and then opens it.
func (d *desk) makeReport(*http.Request) error {
	if err := d.take(); err != nil {
		return errors.New("another assistant has this folder; no report was made")
	}
	if d.making != "" {
		return errors.New("a report is already being made")
	}
	d.making = "Reading the session file"
	go func() {
		err := d.report()
		d.mutex.Lock()
		defer d.mutex.Unlock()
		d.making = ""
		if err != nil {
			d.made = "The report could not be made: " + err.Error()
		} else {
			d.made, d.open = "The report is ready.", "/report/report.html"
		}
		d.publish()
	}()
	return nil
}

func (d *desk) report() error {
	release, err := report.Lock(d.folder)
	if err != nil {
		return err
	}
	defer release()
	s, err := session.Read(d.folder)
	if err != nil {
		return err
	}
	results, err := s.Review(func(step string) {
		d.mutex.Lock()
		defer d.mutex.Unlock()
		d.making = report.Sentence(strings.TrimSuffix(step, "."))
		d.making = strings.TrimSuffix(d.making, ".")
		d.publish()
	})
	if err != nil {
		return err
	}
	return report.Write(d.folder, results, true)
}

func (d *desk) reported() bool {
	_, err := os.Stat(filepath.Join(d.folder, "report.html"))
	return err == nil
}

// reportFile serves the report and its files.
func (d *desk) reportFile(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	ours := slices.Contains([]string{"report.html", "results.json", "results.schema.json", "response.csv",
		"distortion.csv", "response.txt", "further.csv"}, name) ||
		strings.HasPrefix(name, "excerpt-")
	if !ours || strings.ContainsAny(name, `/\`) {
		http.NotFound(w, r)
		return
	}
	http.ServeFile(w, r, filepath.Join(d.folder, name))
}

// Run serves the page of a folder until the context ends. It creates the folder if needed.
func Run(ctx context.Context, folder string, port int, out io.Writer) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return fmt.Errorf("%w (-watch)", err)
	}
	listener, err := loopback.Listen("an assistant", port)
	if err != nil {
		return err
	}
	d := newDesk(folder)
	defer d.close()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	done := make(chan struct{})
	go func() { d.work(ctx); close(done) }()
	defer func() { stop(); <-done }()
	fmt.Fprintf(out, "Recordings in %s are judged at http://%s/ on this computer alone. Stop with Ctrl-C.\n", folder,
		listener.Addr())
	return loopback.Serve(ctx, listener, d.handler())
}

func answerKey(f *file, t *take) string { return fmt.Sprintf("%x %d", f.sum, t.identity.Play) }
