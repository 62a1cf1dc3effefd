package web

import (
	"net"
	"net/http"
	"strings"

	"beatwright/internal/live"
)

// policy is what a page may load and do: its own things only, and no script
// or style that stands in the page itself.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; " +
	"connect-src 'self'; media-src 'self' blob:; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard stands before everything: who asks, under which name, from which page.
func (s *Server) guard(next http.Handler) http.Handler {
	next = limited(suffixed(next))
	cross := http.NewCrossOriginProtection()
	next = cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		// A page elsewhere may point a name of its own at this computer; it
		// cannot make the browser send one of ours.
		if !s.hosts[hostOf(r.Host)] {
			http.Error(w, "this workshop does not answer to that name; open it at the address that the program printed, such as http://127.0.0.1:8425/", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func hostOf(hostport string) string {
	host := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		host = h
	}
	return strings.ToLower(strings.Trim(host, "[]"))
}

// Most that one request may bring: a form or JSON; sound and pictures have
// bounds of their own.
const maxForm = 2 << 20

// bounds of the addresses that take files, by their last part.
var bounds = map[string]int64{"hearings": live.MaxSound, "pictures": 200 << 20}

// limited bounds what is read of a request.
func limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		bound, ok := bounds[r.URL.Path[strings.LastIndexByte(r.URL.Path, '/')+1:]]
		if !ok {
			bound = maxForm
		}
		if r.Body != nil {
			r.Body = http.MaxBytesReader(w, r.Body, bound)
		}
		next.ServeHTTP(w, r)
	})
}

// bringsFiles tells whether an address takes sound or pictures.
func bringsFiles(path string) bool {
	_, ok := bounds[path[strings.LastIndexByte(path, '/')+1:]]
	return ok
}
