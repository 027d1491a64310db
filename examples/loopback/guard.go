// Package loopback serves pages to the browser of this computer only.
package loopback

import (
	"net"
	"net/http"
	"net/netip"
	"net/url"
)

// Guard passes on requests from a page of the program itself, or from a person at this computer,
// and refuses all others. It refuses a name that somebody else's server resolves to the loopback
// address, and a request from another site's page. Pages may only be read, unless posts is set:
// then the program's own pages may also post, which browsers prove by Origin.
func Guard(program string, posts bool, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		refuse := func(why string, status int) { http.Error(w, program+": "+why, status) }
		switch {
		case !loopback(r.Host):
			refuse("requested as "+r.Host+"; open it at the address that it printed", http.StatusForbidden)
		case !ownOrigin(r):
			refuse("requested by another site; open it at the address that it printed", http.StatusForbidden)
		case r.Method == http.MethodGet || r.Method == http.MethodHead:
			next.ServeHTTP(w, r)
		case !posts:
			h.Set("Allow", "GET, HEAD")
			refuse("only reading is allowed here", http.StatusMethodNotAllowed)
		case r.Method != http.MethodPost:
			h.Set("Allow", "GET, HEAD, POST")
			refuse("only reading and posting are allowed here", http.StatusMethodNotAllowed)
		case r.Header.Get("Origin") == "":
			refuse("only its own page may post; open it at the address that it printed", http.StatusForbidden)
		default:
			next.ServeHTTP(w, r)
		}
	})
}

// loopback reports whether a host, with or without a port, names this computer.
func loopback(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	} else if len(host) > 1 && host[0] == '[' && host[len(host)-1] == ']' {
		host = host[1 : len(host)-1]
	}
	if host == "localhost" {
		return true
	}
	address, err := netip.ParseAddr(host)
	return err == nil && address.IsLoopback()
}

// ownOrigin reports whether a request comes from the program's own page or from the address bar.
// Browsers state that in Sec-Fetch-Site (W3C Fetch Metadata), and in Origin.
func ownOrigin(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "none", "same-origin":
	default:
		return false
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && u.Host == r.Host
}
