package loopback

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOnlyThisComputerIsAnswered(t *testing.T) {
	const own = "127.0.0.1:8437"
	handler := Guard("program", false, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {}))
	for _, test := range []struct {
		name, method, host, site, origin string
		status                           int
	}{
		{"address bar", "GET", own, "none", "", 200},
		{"a program", "GET", own, "", "", 200},
		{"the page itself", "GET", own, "same-origin", "http://" + own, 200},
		{"by name", "GET", "localhost:8437", "", "", 200},
		{"by name, no port", "GET", "localhost", "", "", 200},
		{"IPv6", "GET", "[::1]:8437", "", "", 200},
		{"IPv6, no port", "GET", "[::1]", "", "", 200},
		{"HEAD", "HEAD", own, "", "", 200},
		{"a name that was turned to this computer", "GET", "attack.example:8437", "same-origin", "", 403},
		{"a name that begins like it", "GET", "localhost.attack.example", "", "", 403},
		{"a name that looks like it", "GET", "127.0.0.1.attack.example", "", "", 403},
		{"another address", "GET", "192.0.2.1:8437", "", "", 403},
		{"no host", "GET", "", "", "", 403},
		{"another site's picture", "GET", own, "cross-site", "", 403},
		{"another port's page", "GET", own, "same-site", "", 403},
		{"another origin", "GET", own, "", "http://attack.example", 403},
		{"an origin without a name", "GET", own, "", "null", 403},
		{"writing", "POST", own, "same-origin", "http://" + own, 405},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := httptest.NewRequest(test.method, "/", nil)
			r.Host = test.host
			r.Header.Set("Sec-Fetch-Site", test.site)
			r.Header.Set("Origin", test.origin)
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, r)
			assert.Equal(t, test.status, w.Code)
		})
	}

	// Where a page may post, only the program's own pages may.
	posting := Guard("program", true, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {}))
	for _, test := range []struct {
		name, method, site, origin string
		status                     int
	}{
		{"the page itself", "POST", "same-origin", "http://" + own, 200},
		{"another site's form", "POST", "cross-site", "http://attack.example", 403},
		{"another port's page", "POST", "same-site", "http://127.0.0.1:9", 403},
		{"a program", "POST", "", "", 403},
		{"another method", "DELETE", "same-origin", "http://" + own, 405},
	} {
		t.Run(test.name, func(t *testing.T) {
			r := httptest.NewRequest(test.method, "/", nil)
			r.Host = own
			r.Header.Set("Sec-Fetch-Site", test.site)
			r.Header.Set("Origin", test.origin)
			w := httptest.NewRecorder()
			posting.ServeHTTP(w, r)
			assert.Equal(t, test.status, w.Code)
		})
	}
}
