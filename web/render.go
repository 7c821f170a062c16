package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"knownwater"
	"knownwater/bench"
)

// frame is what the layout shows around every page.
type frame struct {
	Title   string
	Part    string // of the navigation
	Who     bench.Who
	SignIn  bool
	People  []bench.Person // to choose from where nobody signs in
	Told    string
	Version string
	Page    any
}

// parsePages joins each page with the layout and the shared pieces once.
func parsePages() (map[string]*template.Template, error) {
	shared, err := template.New("").Funcs(funcs).ParseFS(files, "templates/layout.html", "templates/pieces.html")
	if err != nil {
		return nil, fmt.Errorf("layout: %w", err)
	}
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		return nil, err
	}
	pages := map[string]*template.Template{}
	for _, name := range names {
		base := strings.TrimSuffix(path.Base(name), ".html")
		if base == "layout" || base == "pieces" {
			continue
		}
		t, err := shared.Clone()
		if err != nil {
			return nil, err
		}
		if pages[base], err = t.ParseFS(files, name); err != nil {
			return nil, fmt.Errorf("page %s: %w", base, err)
		}
	}
	return pages, nil
}

// show writes a page. It is made whole before the first byte goes out, so that
// a fault in it is never half a page.
func (s *Server) show(w http.ResponseWriter, r *http.Request, status int, name string, f frame) {
	f.Who, f.SignIn, f.Version = whoIs(r), s.opt.SignIn, s.opt.Version
	if f.Told == "" {
		f.Told = s.sessions.PopString(r.Context(), toldKey)
	}
	if !s.opt.SignIn {
		people, err := s.bench.People(r.Context())
		if err == nil {
			f.People = people
		}
	}
	var b bytes.Buffer
	if err := s.pages[name].ExecuteTemplate(&b, "layout", f); err != nil {
		s.opt.Log.Error("page", "name", name, "err", err)
		http.Error(w, "Something of ours went wrong; nothing of yours was changed.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes())
}

func wantsJSON(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept"), "application/json")
}

func (s *Server) writeJSON(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		s.opt.Log.Error("json", "err", err)
		http.Error(w, `{"found":"something of ours went wrong"}`, http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	w.Write(b)
}

// refusal is the page of a "no".
type refusal struct{ Found, Want string }

// refuse says no: what was found, and what would be right.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, found, want string) {
	if wantsJSON(r) {
		s.writeJSON(w, status, map[string]string{"found": found, "want": want})
		return
	}
	var b bytes.Buffer
	f := frame{Title: "Not done", Who: whoIs(r), SignIn: true, Version: s.opt.Version, Page: refusal{found, want}}
	if err := s.pages["refused"].ExecuteTemplate(&b, "layout", f); err != nil {
		http.Error(w, found+" "+want, status)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes())
}

// statusOf is the one place where a refusal's kind becomes a status.
var statusOf = map[bench.RefusalKind]int{
	bench.NotFound:    http.StatusNotFound,
	bench.NotAllowed:  http.StatusForbidden,
	bench.Sealed:      http.StatusForbidden,
	bench.WrongState:  http.StatusConflict,
	bench.AlreadyRead: http.StatusConflict,
	bench.TooMany:     http.StatusTooManyRequests,
	bench.InUse:       http.StatusServiceUnavailable,
	bench.Newer:       http.StatusServiceUnavailable,
	bench.Damaged:     http.StatusServiceUnavailable,
	bench.Full:        http.StatusInsufficientStorage,
	bench.ReadOnly:    http.StatusInsufficientStorage,
	bench.TooLarge:    http.StatusRequestEntityTooLarge,
}

// nextStep is what a person can do about a refusal.
var nextStep = map[bench.RefusalKind]string{
	bench.NotFound: "Look for it in the lists: it may have been put away.",
	bench.Sealed:   "The owner opens the key on the trial’s page, early only with a reason.",
	bench.TooMany:  "Wait, then try again.",
	bench.Full:     "Make room on the disk; nothing that was kept is lost.",
	bench.ReadOnly: "Let the bench’s file and its folder be written to; nothing that was kept is lost.",
	bench.TooLarge: "Send less at once.",
}

// fail is the one place where an error becomes a page: a refusal or faults in
// its own words, anything else as ours, with the cause in the log only.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	var no *bench.Refusal
	var faults knownwater.Faults
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &no):
		s.refuse(w, r, statusOf[no.Kind], no.Words, nextStep[no.Kind])
	case errors.As(err, &faults):
		s.refuse(w, r, http.StatusUnprocessableEntity, faults.Error(), "Go back: what you typed is still there.")
	case errors.As(err, &large):
		s.refuse(w, r, http.StatusRequestEntityTooLarge, "That is too large.", fmt.Sprintf("Send at most %s.", size(large.Limit)))
	default:
		s.opt.Log.Error("request", "method", r.Method, "path", r.URL.Path, "err", err)
		s.refuse(w, r, http.StatusInternalServerError, "Something of ours went wrong.", "Nothing of yours was changed. The log says more.")
	}
}
