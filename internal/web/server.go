// Package web is the page: what the workshop's record holds, readable before
// any script runs, and the API beside it that does all the page does.
//
// Pages are rendered here from one template each; small scripts only spare a
// reload. A page's address with .json gives the page's own data. The package
// asks the record and the engine through internal/live and stores nothing.
package web

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"strings"
	"sync"
	"time"

	"beatwright"
	"beatwright/internal/live"
)

//go:embed static templates
var embedded embed.FS

// Server answers for one workshop.
type Server struct {
	bench   *live.Bench
	version string
	hosts   map[string]bool
	now     func() time.Time
	pages   map[string]*template.Template
	handler http.Handler
	heard   progress
	openapi anyJSON
	asked   asked
	// taps makes acts on the page of taps one after another.
	taps sync.Mutex
	// closing is closed when streams are to end.
	closing   chan struct{}
	closeOnce sync.Once
}

// Options of a server.
type Options struct {
	// Version of the program, as the pages name it.
	Version string
	// Hosts are the names (without port) under which the page may be asked
	// for; loopback names always are.
	Hosts []string
	// Now is the clock, nil for the computer's.
	Now func() time.Time
}

// New makes a server. A page that is missing or broken fails here.
func New(b *live.Bench, o Options) (*Server, error) {
	s := &Server{bench: b, version: o.Version, now: o.Now, closing: make(chan struct{}), hosts: map[string]bool{"localhost": true, "127.0.0.1": true, "::1": true}}
	if s.now == nil {
		s.now = time.Now
	}
	for _, h := range o.Hosts {
		s.hosts[h] = true
	}
	var err error
	if s.pages, err = parsePages(); err != nil {
		return nil, fmt.Errorf("read the pages: %w", err)
	}
	mux := http.NewServeMux()
	static, err := fs.Sub(embedded, "static")
	if err != nil {
		return nil, err
	}
	mux.Handle("GET /static/", http.StripPrefix("/static/", kept(http.FileServerFS(static))))
	s.routes(mux)
	if err := s.routesAPI(mux); err != nil {
		return nil, fmt.Errorf("describe the API: %w", err)
	}
	s.handler = s.guard(mux)
	return s, nil
}

// ServeHTTP answers a request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// kept lets the browser keep what never changes while the program runs.
func kept(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Cache-Control", "max-age=300")
		h.ServeHTTP(w, r)
	})
}

// page shows something; the same data goes out as JSON where the address ends
// in .json.
func (s *Server) page(mux *http.ServeMux, pattern, name string, view func(*http.Request) (*shown, error)) {
	mux.HandleFunc("GET "+pattern, func(w http.ResponseWriter, r *http.Request) {
		sh, err := view(r)
		if err != nil {
			s.trouble(w, r, err)
			return
		}
		if wantsJSON(r) {
			writeJSON(w, http.StatusOK, sh.View)
			return
		}
		s.render(w, r, http.StatusOK, name, sh)
	})
}

// act does something and goes on to the address it gives.
func (s *Server) act(mux *http.ServeMux, pattern string, do func(*http.Request) (string, error)) {
	mux.HandleFunc("POST "+pattern, func(w http.ResponseWriter, r *http.Request) {
		err := readForm(r)
		var to string
		if err == nil {
			to, err = do(r)
		}
		if err != nil {
			s.trouble(w, r, err)
			return
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
	})
}

type jsonKey struct{}

func wantsJSON(r *http.Request) bool {
	v, _ := r.Context().Value(jsonKey{}).(bool)
	return v
}

// asJSON is a request whose answer is JSON whatever its address.
func asJSON(r *http.Request) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), jsonKey{}, true))
}

// suffixed takes .json off a page's address and remembers it.
func suffixed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		path, cut := strings.CutSuffix(r.URL.Path, ".json")
		if !cut || strings.HasPrefix(path, "/api/") || strings.HasPrefix(path, "/static/") {
			next.ServeHTTP(w, r)
			return
		}
		if path == "/due" {
			path = "/"
		}
		r2 := r.Clone(context.WithValue(r.Context(), jsonKey{}, true))
		r2.URL.Path = path
		next.ServeHTTP(w, r2)
	})
}

// workshop gives the workshop's settings, or those of a new one.
func (s *Server) workshop(ctx context.Context) *beatwright.Workshop {
	w, err := beatwright.Load[*beatwright.Workshop](ctx, s.bench, beatwright.KindWorkshop, beatwright.WorkshopID)
	if err != nil {
		return beatwright.NewWorkshop()
	}
	return w
}
