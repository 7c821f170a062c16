// Package page is what the pages of every subject share: the frame around them,
// how they are written, how a “no” becomes a page, and who asks.
package page

import (
	"bytes"
	"context"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"knownwater"
	"knownwater/bench"
	"knownwater/web/render"
)

//go:embed *.html
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

	Invent   func(context.Context, *bench.Bench) error // furnishes an invented bench to look at; nil: there is none
	Invented bool                                      // this is one, and its pages say so
}

// Site is what the pages of every subject share. Each subject adds its templates
// when the server is made.
type Site struct {
	Bench    *bench.Bench
	Options  Options
	Sessions *scs.SessionManager
	layout   *template.Template
	pages    map[string]*template.Template
}

// New makes a site without pages.
func New(b *bench.Bench, o Options) (*Site, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	layout, err := template.New("").Funcs(render.Funcs).ParseFS(files, "layout.html", "pieces.html")
	if err != nil {
		return nil, fmt.Errorf("layout: %w", err)
	}
	s := &Site{Bench: b, Options: o, Sessions: newSessions(b, o), layout: layout, pages: map[string]*template.Template{}}
	s.Sessions.ErrorFunc = s.Fail
	return s, s.Add(files, nil)
}

// Add joins each page of a subject with the layout and with the subject's own
// pieces.html, once. words are what only its pages call.
func (s *Site) Add(files fs.FS, words template.FuncMap) error {
	names, err := fs.Glob(files, "*.html")
	if err != nil {
		return err
	}
	for _, name := range names {
		base := strings.TrimSuffix(name, ".html")
		if base == "layout" || base == "pieces" {
			continue
		}
		if s.pages[base] != nil {
			return fmt.Errorf("two pages are called %s", base)
		}
		if s.pages[base], err = s.join(files, words, name, names); err != nil {
			return fmt.Errorf("page %s: %w", base, err)
		}
	}
	return nil
}

func (s *Site) join(files fs.FS, words template.FuncMap, name string, all []string) (*template.Template, error) {
	t, err := s.layout.Clone()
	if err != nil {
		return nil, err
	}
	parts := []string{name}
	if slices.Contains(all, "pieces.html") {
		parts = append(parts, "pieces.html")
	}
	return t.Funcs(words).ParseFS(files, parts...)
}

// Now is the time by the site's clock.
func (s *Site) Now() time.Time { return s.Options.Now() }

// Frame is what the layout shows around every page.
type Frame struct {
	Title    string
	Part     string // of the navigation
	Who      knownwater.Who
	SignIn   bool
	Invented bool                // nothing on this bench was ever measured
	People   []knownwater.Person // to choose from where nobody signs in
	Told     string
	Version  string
	Help     string // where the manual tells of this page
	Page     any
}

// Show writes a page. It is made whole before the first byte goes out, so that
// a fault in it is never half a page.
func (s *Site) Show(w http.ResponseWriter, r *http.Request, status int, name string, f Frame) {
	f.Who, f.SignIn, f.Version, f.Invented = WhoIs(r), s.Options.SignIn, s.Options.Version, s.Options.Invented
	if f.Told == "" {
		f.Told = s.Sessions.PopString(r.Context(), toldKey)
	}
	if !s.Options.SignIn {
		people, err := s.Bench.People(r.Context())
		if err == nil {
			f.People = people
		}
	}
	f.Help = helpOn(name, f.Part)
	var b bytes.Buffer
	if err := s.pages[name].ExecuteTemplate(&b, "layout", f); err != nil {
		s.Options.Log.Error("page", "name", name, "err", err)
		http.Error(w, "Something of ours went wrong; nothing of yours was changed.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	if f.Part == "help" { // every word there would be a link
		w.Write(b.Bytes())
		return
	}
	w.Write(linkTerms(b.Bytes()))
}

// WantsJSON says whether a script asks.
func WantsJSON(r *http.Request) bool {
	return strings.Contains(r.Header.Get("Accept"), "application/json")
}

// WriteJSON answers a script.
func (s *Site) WriteJSON(w http.ResponseWriter, status int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		s.Options.Log.Error("json", "err", err)
		http.Error(w, `{"found":"something of ours went wrong"}`, http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	w.Write(b)
}

// Download makes an answer a file.
func Download(w http.ResponseWriter, kind, name string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
}

// refusal is the page of a "no".
type refusal struct{ Found, Want string }

// Refuse says no: what was found, and what would be right.
func (s *Site) Refuse(w http.ResponseWriter, r *http.Request, status int, found, want string) {
	if WantsJSON(r) {
		s.WriteJSON(w, status, map[string]string{"found": found, "want": want})
		return
	}
	var b bytes.Buffer
	f := Frame{Title: "Not done", Help: "/help", Who: WhoIs(r), SignIn: true, Version: s.Options.Version, Invented: s.Options.Invented, Page: refusal{found, want}}
	if err := s.pages["refused"].ExecuteTemplate(&b, "layout", f); err != nil {
		http.Error(w, found+" "+want, status)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes())
}

// NotFound is the page of an address that names nothing.
func (s *Site) NotFound(w http.ResponseWriter, r *http.Request) {
	s.Refuse(w, r, http.StatusNotFound, "There is no such page on this bench.", "Begin again at today’s page.")
}

// statusOf is the one place where a refusal's kind becomes a status.
var statusOf = map[knownwater.RefusalKind]int{
	knownwater.NotFound:    http.StatusNotFound,
	knownwater.NotAllowed:  http.StatusForbidden,
	knownwater.Sealed:      http.StatusForbidden,
	knownwater.WrongState:  http.StatusConflict,
	knownwater.AlreadyRead: http.StatusConflict,
	knownwater.TooMany:     http.StatusTooManyRequests,
	knownwater.InUse:       http.StatusServiceUnavailable,
	knownwater.Newer:       http.StatusServiceUnavailable,
	knownwater.Damaged:     http.StatusServiceUnavailable,
	knownwater.Full:        http.StatusInsufficientStorage,
	knownwater.ReadOnly:    http.StatusInsufficientStorage,
	knownwater.TooLarge:    http.StatusRequestEntityTooLarge,
}

// nextStep is what a person can do about a refusal.
var nextStep = map[knownwater.RefusalKind]string{
	knownwater.NotFound: "Look for it in the lists: it may have been put away.",
	knownwater.Sealed:   "The owner opens the key on the trial’s page, early only with a reason.",
	knownwater.TooMany:  "Wait, then try again.",
	knownwater.Full:     "Make room on the disk; nothing that was kept is lost.",
	knownwater.ReadOnly: "Let the bench’s file and its folder be written to; nothing that was kept is lost.",
	knownwater.TooLarge: "Send less at once.",
}

// Fail is the one place where an error becomes a page: a refusal or faults in
// its own words, anything else as ours, with the cause in the log only.
func (s *Site) Fail(w http.ResponseWriter, r *http.Request, err error) {
	var no *knownwater.Refusal
	var faults knownwater.Faults
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &no):
		s.Refuse(w, r, statusOf[no.Kind], no.Words, nextStep[no.Kind])
	case errors.As(err, &faults):
		s.Refuse(w, r, http.StatusUnprocessableEntity, faults.Error(), "Go back: what you typed is still there.")
	case errors.As(err, &large):
		s.Refuse(w, r, http.StatusRequestEntityTooLarge, "That is too large.", fmt.Sprintf("Send at most %s.", render.Bytes(large.Limit)))
	default:
		s.Options.Log.Error("request", "method", r.Method, "path", r.URL.Path, "err", err)
		s.Refuse(w, r, http.StatusInternalServerError, "Something of ours went wrong.", "Nothing of yours was changed. The log says more.")
	}
}

// ToDo is one thing to do: when, what, why, and where it is done.
type ToDo struct{ When, What, Why, Verb, Where string }

// Do is one thing to do.
func Do(when, what, why, verb, where string) ToDo { return ToDo{when, what, why, verb, where} }
