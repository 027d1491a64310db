package main

import (
	"crypto/rand"
	"net/http"
	"runtime"
	"time"

	"example.com/earnest/examples/workshop/bench"
)

// workshop answers requests for its one page.
type workshop struct {
	bench *bench.Bench
	turns chan struct{} // as many as measure at the same time
}

// newWorkshop is the workshop as it is served.
func newWorkshop() http.Handler {
	w := &workshop{bench.New(), make(chan struct{}, runtime.GOMAXPROCS(0))}
	mux := http.NewServeMux()
	mux.HandleFunc("/{$}", w.page)
	mux.HandleFunc("/favicon.ico", func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) })
	return guarded(mux)
}

// page measures under the settings that the address has, and shows it.
func (w *workshop) page(out http.ResponseWriter, in *http.Request) {
	asked, refused := readRequest(in.URL.Query())
	select {
	case w.turns <- struct{}{}:
		defer func() { <-w.turns }()
	case <-in.Context().Done():
		return // nobody waits for it any more
	}
	start := time.Now()
	result, err := w.bench.Measure(in.Context(), asked.settings)
	if in.Context().Err() != nil {
		return
	}
	if err != nil {
		http.Error(out, "workshop: "+err.Error(), http.StatusInternalServerError)
		return
	}
	v, err := newView(asked, result, refused)
	if err != nil {
		http.Error(out, "workshop: "+err.Error(), http.StatusInternalServerError)
		return
	}
	v.Nonce, v.Took = rand.Text(), time.Since(start).Milliseconds()
	h := out.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", "default-src 'none'; img-src data:; style-src 'nonce-"+v.Nonce+"'; script-src 'nonce-"+v.Nonce+
		"'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	if refused != nil {
		out.WriteHeader(http.StatusBadRequest)
	}
	v.write(out)
}
