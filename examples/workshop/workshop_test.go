package main

import (
	"net/http"
	"net/http/httptest"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// A whole answer, pictures and all, after each kind of change. On two idle
// processors each is to take less than 300 ms.
func BenchmarkPage(b *testing.B) {
	for _, run := range []struct {
		name    string
		address func(i int) string
	}{
		{"smoothing changed", func(i int) string { return "/?smoothing=" + strconv.Itoa(1+i%48) }},
		{"noise changed", func(i int) string { return "/?noise=-" + strconv.FormatFloat(60+float64(i)/1000, 'f', -1, 64) }},
		{"drift changed", func(i int) string { return "/?drift=" + strconv.FormatFloat(50+float64(i)/100, 'f', -1, 64) }},
		{"level changed", func(i int) string { return "/?level=-" + strconv.FormatFloat(20+float64(i)/1000, 'f', -1, 64) }},
		{"two seatings", func(i int) string {
			return "/?seatings=2&spread=" + strconv.FormatFloat(1+float64(i)/1000, 'f', -1, 64)
		}},
		{"four seatings", func(i int) string {
			return "/?seatings=4&spread=" + strconv.FormatFloat(1+float64(i)/1000, 'f', -1, 64)
		}},
		{"two seconds", func(i int) string {
			return "/?duration=2&noise=-" + strconv.FormatFloat(60+float64(i)/1000, 'f', -1, 64)
		}},
	} {
		b.Run(run.name, func(b *testing.B) {
			handler := newWorkshop()
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				r := httptest.NewRequest(http.MethodGet, run.address(i), nil)
				r.Host = "127.0.0.1"
				w := httptest.NewRecorder()
				handler.ServeHTTP(w, r)
				require.Equal(b, http.StatusOK, w.Code)
			}
		})
	}
}
