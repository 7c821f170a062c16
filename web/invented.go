package web

import (
	"context"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"sync"

	"knownwater/bench"
)

// An invented bench can be looked at in place of the real one, at the same address:
// a second site on a file of its own in a folder of the system's, for the browser
// that carries its cookie and belongs to the owner. Thrown away, it is gone, folder
// and all; the real bench is not touched by anything that is done there.

// lookCookie says that a browser looks at the invented bench.
const lookCookie = "invented"

// invented is the bench to look at, where there is one.
type invented struct {
	mu    sync.RWMutex // held for reading by every request of its pages
	dir   string
	bench *bench.Bench
	site  *Server
	stop  context.CancelFunc
}

// lookAt furnishes the invented bench, unless it is there already, and lets this
// browser look at it.
func (s *Server) lookAt(w http.ResponseWriter, r *http.Request) {
	if s.Options.Invent == nil {
		s.NotFound(w, r)
		return
	}
	if err := s.look.open(s.Options); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.setLook(w, "yes", 0)
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// throwAway takes the invented bench away, whoever else looks at it.
func (s *Server) throwAway(w http.ResponseWriter, r *http.Request) {
	s.setLook(w, "", -1)
	if err := s.look.close(); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "The invented bench is thrown away.")
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func (s *Server) setLook(w http.ResponseWriter, value string, age int) {
	http.SetCookie(w, &http.Cookie{Name: lookCookie, Value: value, Path: "/", MaxAge: age, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.Options.TLS})
}

// orInvented sends who looks at the invented bench to its pages, and everybody else
// to the real ones.
func (s *Server) orInvented(pages http.Handler) http.Handler {
	invented := s.guard.Owner(func(w http.ResponseWriter, r *http.Request) {
		s.look.mu.RLock()
		defer s.look.mu.RUnlock()
		if s.look.site == nil { // thrown away from another browser
			s.setLook(w, "", -1)
			http.Redirect(w, r, "/", http.StatusSeeOther)
			return
		}
		s.look.site.inside.ServeHTTP(w, r)
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if c, err := r.Cookie(lookCookie); err == nil && c.Value == "yes" && s.Options.Invent != nil && r.URL.Path != "/invented/end" {
			invented(w, r)
			return
		}
		pages.ServeHTTP(w, r)
	})
}

func (v *invented) open(o Options) (err error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.site != nil {
		return nil
	}
	if v.dir, err = os.MkdirTemp("", "knownwater-invented-"); err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, v.drop())
		}
	}()
	if v.bench, err = bench.Open(filepath.Join(v.dir, "bench.db"), bench.Options{Now: o.Now}); err != nil {
		return err
	}
	// A request is tied to its session on the real bench; nothing of that holds here.
	if err = o.Invent(context.Background(), v.bench); err != nil {
		return err
	}
	// Only who came through the real bench's guard as its owner gets here.
	site, err := New(v.bench, Options{Listen: "127.0.0.1:0", BaseURL: o.BaseURL, Copies: filepath.Join(v.dir, "copies"), Version: o.Version, Log: o.Log, Now: o.Now, TLS: o.TLS,
		Invented: true})
	if err != nil {
		return err
	}
	working, stop := context.WithCancel(context.Background())
	v.site, v.stop = site, stop
	go site.Prepare(working)
	return nil
}

func (v *invented) close() error {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.drop()
}

// drop takes away what there is.
func (v *invented) drop() (err error) {
	if v.stop != nil {
		v.stop()
	}
	if v.bench != nil {
		err = v.bench.Close()
	}
	if v.dir != "" {
		err = errors.Join(err, os.RemoveAll(v.dir))
	}
	v.dir, v.bench, v.site, v.stop = "", nil, nil, nil
	return err
}

// Close ends what the site keeps beside the bench.
func (s *Server) Close() error { return s.look.close() }
