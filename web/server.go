// Package web is the bench in a browser. Each subject has a folder with its pages,
// which go form → bench → one page struct → template; here they are put together.
// Pages work without script except the run screen, whose timers and queue cannot.
package web

import (
	"embed"
	"io/fs"
	"net/http"
	"time"

	"knownwater/bench"
	"knownwater/web/calibrations"
	choosing "knownwater/web/choices"
	"knownwater/web/exchange"
	"knownwater/web/guard"
	"knownwater/web/methods"
	"knownwater/web/page"
	"knownwater/web/people"
	"knownwater/web/standards"
	"knownwater/web/start"
	"knownwater/web/trials"
	watered "knownwater/web/waters"
	"knownwater/wording"
)

//go:embed *.html
var files embed.FS

//go:embed assets
var assets embed.FS

// Options say how the bench is reached.
type Options = page.Options

// Server answers for one bench.
type Server struct {
	*page.Site
	guard     *guard.Guard
	trials    *trials.Pages
	standards *standards.Pages
	start     *start.Pages
	look      invented
	inside    http.Handler // the pages with their sessions, without the guard
	handler   http.Handler
}

// New makes the handler of a bench.
func New(b *bench.Bench, o Options) (*Server, error) {
	site, err := page.New(b, o)
	if err != nil {
		return nil, err
	}
	if site.Said, err = saidByScripts(); err != nil {
		return nil, err
	}
	s := &Server{Site: site}
	if s.guard, err = guard.New(site); err != nil {
		return nil, err
	}
	mux := http.NewServeMux()
	if err = s.subjects(s.guard.Paths(mux)); err != nil {
		return nil, err
	}
	mux.HandleFunc("/", s.NotFound)
	s.inside = s.Sessions.LoadAndSave(s.orInvented(mux))
	s.handler = s.around(s.inside)
	return s, nil
}

// saidByScripts are the messages of the run screen's scripts.
func saidByScripts() (out []string, err error) {
	names, err := fs.Glob(assets, "assets/run/*.js")
	for _, name := range names {
		source, err := assets.ReadFile(name)
		if err != nil {
			return nil, err
		}
		out = append(out, wording.ScriptMessages(string(source))...)
	}
	return out, err
}

// subjects adds the templates and addresses of every subject.
func (s *Server) subjects(at guard.Paths) error {
	if err := s.Add(files, findWords); err != nil {
		return err
	}
	who, err := people.New(s.Site, s.guard)
	if err != nil {
		return err
	}
	how, err := methods.New(s.Site)
	if err != nil {
		return err
	}
	if s.standards, err = standards.New(s.Site); err != nil {
		return err
	}
	if s.trials, err = trials.New(s.Site); err != nil {
		return err
	}
	curves, err := calibrations.New(s.Site)
	if err != nil {
		return err
	}
	tested, err := watered.New(s.Site)
	if err != nil {
		return err
	}
	chosen, err := choosing.New(s.Site)
	if err != nil {
		return err
	}
	copies, err := exchange.New(s.Site)
	if err != nil {
		return err
	}
	if s.start, err = start.New(s.Site); err != nil {
		return err
	}
	for _, subject := range []interface{ Routes(guard.Paths) }{who, how, s.standards, s.trials, curves, tested, chosen, copies, s.start} {
		subject.Routes(at)
	}
	at.Reader("GET /{$}", s.today)
	at.Owner("GET /find", s.find)
	at.Anyone("GET /shown", s.shown)
	at.Anyone("POST /shown", s.keepShown)
	at.Reader("GET /help", s.help)
	at.Reader("GET /help/{topic}", s.helpOn)
	at.Reader("GET /help/picture/{name...}", s.helpPicture)
	at.Owner("POST /invented", s.lookAt)
	at.Owner("POST /invented/end", s.throwAway)
	return nil
}

// Handler is the whole site.
func (s *Server) Handler() http.Handler { return s.handler }

// around puts assets and the guard around the pages.
func (s *Server) around(pages http.Handler) http.Handler {
	all := http.NewServeMux()
	kept, err := fs.Sub(assets, "assets")
	if err != nil {
		panic(err) // embedded: cannot happen
	}
	all.Handle("GET /assets/", http.StripPrefix("/assets/", cached(http.FileServerFS(kept))))
	all.Handle("GET /favicon.ico", http.RedirectHandler("/assets/mark.svg", http.StatusMovedPermanently))
	all.Handle("/", pages)
	return compressed(s.guard.Wrap(all))
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

// HTTPServer has the time limits that keep a slow or silent caller from
// holding the bench.
func HTTPServer(h http.Handler) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       time.Minute,
		WriteTimeout:      2 * time.Minute,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
	}
}
