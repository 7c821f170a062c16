// Package web is the bench in a browser: routes, one subject a file, each going
// form → bench → one page struct → template. Pages work without script except
// the run screen, whose timers and queue cannot.
package web

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"log/slog"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"

	"knownwater/bench"
)

//go:embed templates assets
var files embed.FS

// Options say how the bench is reached.
type Options struct {
	Listen  string   // the address listened on, as host:port
	Hosts   []string // further names that the server answers to
	TLS     bool
	SignIn  bool   // false only where nobody but this machine can reach the server
	BaseURL string // what a phone opens: scheme://host:port
	Copies  string // folder for backups and imports made from a page
	Version string // of the program, written into findings
	Log     *slog.Logger
	Now     func() time.Time // the clock; nil is the machine's
}

// Server answers for one bench.
type Server struct {
	bench    *bench.Bench
	opt      Options
	hosts    hostList
	everyone *limiter
	sessions *scs.SessionManager
	pages    map[string]*template.Template
	foresee  outlooks
	works    workings
}

// Each caller may ask this much: a phone at the bench asks a few times a
// minute, a person clicking about a few times a second.
const (
	burst     = 300
	perSecond = 20
)

// New makes the handler of a bench.
func New(b *bench.Bench, o Options) (*Server, error) {
	if !o.SignIn && !Loopback(o.Listen) {
		return nil, fmt.Errorf("listening on %s needs sign-in: other machines reach it", o.Listen)
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	pages, err := parsePages()
	if err != nil {
		return nil, err
	}
	s := &Server{bench: b, opt: o, hosts: allowedHosts(o.Listen, o.Hosts), everyone: newLimiter(burst, perSecond),
		sessions: newSessions(b, o), pages: pages}
	s.sessions.ErrorFunc = s.fail
	return s, nil
}

func (s *Server) now() time.Time { return s.opt.Now() }

// Handler is the whole site.
func (s *Server) Handler() http.Handler {
	site := http.NewServeMux()
	s.routes(site)
	all := http.NewServeMux()
	assets, err := fs.Sub(files, "assets")
	if err != nil {
		panic(err) // embedded: cannot happen
	}
	all.Handle("GET /assets/", http.StripPrefix("/assets/", cached(http.FileServerFS(assets))))
	all.Handle("GET /favicon.ico", http.RedirectHandler("/assets/mark.svg", http.StatusMovedPermanently))
	all.Handle("/", s.sessions.LoadAndSave(site))
	return s.guard(all)
}

// cached lets a browser keep assets for a while and ask whether they changed.
// There is no listing of folders.
func cached(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "" || r.URL.Path[len(r.URL.Path)-1] == '/' {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Cache-Control", "public, max-age=600")
		next.ServeHTTP(w, r)
	})
}

// Check says whether the bench answers, for the command that starts it.
func (s *Server) Check(ctx context.Context) error {
	_, err := s.bench.Trials(ctx)
	return err
}
