package loopback_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"

	"example.com/earnest/examples/loopback"
)

// A page of one's own answers the browser of this computer, but not the page of another site.
func Example() {
	page := loopback.Guard("mine", false, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { fmt.Fprint(w, "hello") }))
	for _, site := range []string{"none", "cross-site"} {
		asked := httptest.NewRequest("GET", "http://127.0.0.1:8000/", nil)
		asked.Header.Set("Sec-Fetch-Site", site)
		answer := httptest.NewRecorder()
		page.ServeHTTP(answer, asked)
		fmt.Println(site, answer.Code)
	}
	// Output:
	// none 200
	// cross-site 403
}
