package main

import (
	"context"
	"crypto/rand"
	"errors"
	"net/http"
	"runtime"
	"time"

	"example.com/earnest/examples/loopback"
	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/examples/workshop/kept"
)

// Limits of the workshop: it makes as many pages at a time as there are processors, and lets as
// many wait as it can make during the longest wait. A page takes 0.3 to 1.5 s on two processors.
const (
	waiting  = 12
	patience = 4 * time.Second
	again    = "3" // s, after which to try again
)

// workshop answers requests for its one page.
type workshop struct {
	bench *bench.Bench
	queue *queue
	views kept.Things[request, *view]
}

// page measures with the settings in the address and shows the result.
func (w *workshop) page(out http.ResponseWriter, in *http.Request) {
	asked, refused := readRequest(in.URL.Query())
	start := time.Now()
	shown, err := w.views.Get(in.Context(), asked,
		func(ctx context.Context) (*view, error) { return w.measure(ctx, asked) })
	switch {
	case in.Context().Err() != nil:
		return // nobody waits for it any more
	case errors.Is(err, errBusy):
		out.Header().Set("Retry-After", again)
		http.Error(out, "workshop: "+err.Error()+" in "+again+" s", http.StatusServiceUnavailable)
		return
	case err != nil:
		http.Error(out, "workshop: "+err.Error(), http.StatusInternalServerError)
		return
	}
	v := *shown
	v.Refused, v.Nonce, v.Took = refused, rand.Text(), time.Since(start).Milliseconds()
	h := out.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy",
		"default-src 'none'; img-src data:; style-src 'nonce-"+v.Nonce+"'; script-src 'nonce-"+v.Nonce+
			"'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
	if refused != nil {
		out.WriteHeader(http.StatusBadRequest)
	}
	v.write(out)
}

// measure makes the content of a page, when its turn has come.
func (w *workshop) measure(ctx context.Context, asked request) (*view, error) {
	leave, err := w.queue.enter(ctx)
	if err != nil {
		return nil, err
	}
	defer leave()
	result, err := w.bench.Measure(ctx, asked.settings)
	if err != nil {
		return nil, err
	}
	return newView(asked, result)
}

// newWorkshop returns the workshop with its queue.
func newWorkshop() http.Handler {
	return open(newQueue(runtime.GOMAXPROCS(0), waiting, patience))
}

// open returns a workshop behind a queue.
func open(q *queue) http.Handler {
	w := &workshop{bench: bench.New(), queue: q}
	w.views.Most = 64
	mux := http.NewServeMux()
	mux.HandleFunc("/{$}", w.page)
	mux.HandleFunc("/hear", w.hear)
	mux.HandleFunc("/overnight", w.overnight)
	mux.HandleFunc("/favicon.ico", func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) })
	return loopback.Guard("workshop", false, mux)
}
