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
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"

	"knownwater"
	"knownwater/bench"
	"knownwater/web/render"
	"knownwater/wording"
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
	Said     []string // what the scripts of the run screen say
	sets     sets
}

// New makes a site without pages.
func New(b *bench.Bench, o Options) (*Site, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Site{Bench: b, Options: o, Sessions: newSessions(b, o)}
	s.Sessions.ErrorFunc = s.Fail
	return s, s.Add(files, nil)
}

// Now is the time by the site's clock.
func (s *Site) Now() time.Time { return s.Options.Now() }

// Frame is what the layout shows around every page.
type Frame struct {
	Title    string   // the page's name, where it is that of something
	Heading  string   // a message that names the page
	Of       []string // what stands in its places
	Part     string   // of the navigation
	Who      knownwater.Who
	SignIn   bool
	Invented bool                // nothing on this bench was ever measured
	People   []knownwater.Person // to choose from where nobody signs in
	Told     string
	Version  string
	Help     string // where the manual tells of this page
	Here     string // its address
	Page     any
}

// Show writes a page. It is made whole before the first byte goes out, so that
// a fault in it is never half a page.
func (s *Site) Show(w http.ResponseWriter, r *http.Request, status int, name string, f Frame) {
	f.Who, f.SignIn, f.Version, f.Invented = WhoIs(r), s.Options.SignIn, s.Options.Version, s.Options.Invented
	reader := s.ReaderOn(r, name)
	if f.Who.Role == knownwater.Owner && f.Who.Name == "owner" { // no name that somebody gave
		f.Who.Name = reader.Language.Say("owner")
	}
	if f.Heading != "" {
		f.Title = reader.Language.Say(f.Heading, f.Of...)
	}
	if f.Told == "" {
		f.Told = s.Sessions.PopString(r.Context(), toldKey)
	}
	f.Told = reader.Language.Say(f.Told)
	if !s.Options.SignIn {
		people, err := s.Bench.People(r.Context())
		if err == nil {
			f.People = people
		}
	}
	f.Help, f.Here = helpOn(name, f.Part), r.URL.RequestURI()
	if r.Method != http.MethodGet {
		f.Here = "/"
	}
	var b bytes.Buffer
	if err := s.sets.in(reader).pages[name].ExecuteTemplate(&b, "layout", f); err != nil {
		s.Options.Log.Error("page", "name", name, "err", err)
		http.Error(w, "Something of ours went wrong; nothing of yours was changed.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	if f.Part == "help" { // every word there would be a link, and its numbers are those of files
		w.Write(b.Bytes())
		return
	}
	page := b.Bytes()
	if reader.Language.English() { // the glossary is in English
		page = linkTerms(page)
	}
	if reader.Comma() {
		page = withCommas(page)
	}
	w.Write(page)
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
	reader := s.ReaderOn(r, "refused")
	found, want = reader.Language.Say(found), reader.Language.Say(want)
	if WantsJSON(r) {
		s.WriteJSON(w, status, map[string]string{"found": found, "want": want})
		return
	}
	var b bytes.Buffer
	f := Frame{Title: reader.Language.Say("Not done"), Here: "/", Help: "/help", Who: WhoIs(r), SignIn: true, Version: s.Options.Version, Invented: s.Options.Invented, Page: refusal{found, want}}
	if err := s.sets.in(reader).pages["refused"].ExecuteTemplate(&b, "layout", f); err != nil {
		http.Error(w, found+" "+want, status)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(b.Bytes())
}

// NotFound is the page of an address that names nothing.
func (s *Site) NotFound(w http.ResponseWriter, r *http.Request) {
	s.Refuse(w, r, http.StatusNotFound, wording.Key("There is no such page on this bench."), wording.Key("Begin again at today’s page."))
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
	knownwater.NotFound: wording.Key("Look for it in the lists: it may have been put away."),
	knownwater.Sealed:   wording.Key("The owner opens the key on the trial’s page, early only with a reason."),
	knownwater.TooMany:  wording.Key("Wait, then try again."),
	knownwater.Full:     wording.Key("Make room on the disk; nothing that was kept is lost."),
	knownwater.ReadOnly: wording.Key("Let the bench’s file and its folder be written to; nothing that was kept is lost."),
	knownwater.TooLarge: wording.Key("Send less at once."),
}

// Fail is the one place where an error becomes a page: a refusal or faults in
// its own words, anything else as ours, with the cause in the log only.
func (s *Site) Fail(w http.ResponseWriter, r *http.Request, err error) {
	var no *knownwater.Refusal
	var faults knownwater.Faults
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &no):
		s.Refuse(w, r, statusOf[no.Kind], no.Say(s.ReaderOn(r, "refused").Language.Say), nextStep[no.Kind])
	case errors.As(err, &faults):
		s.Refuse(w, r, http.StatusUnprocessableEntity, faults.Error(), wording.Key("Go back: what you typed is still there."))
	case errors.As(err, &large):
		s.Refuse(w, r, http.StatusRequestEntityTooLarge, wording.Key("That is too large."), fmt.Sprintf("Send at most %s.", render.Bytes(large.Limit)))
	case errors.Is(err, context.Canceled) && r.Context().Err() != nil: // who asked has gone on: nobody reads an answer, and nothing went wrong
	default:
		s.Options.Log.Error("request", "method", r.Method, "path", r.URL.Path, "err", err)
		s.Refuse(w, r, http.StatusInternalServerError, wording.Key("Something of ours went wrong."), wording.Key("Nothing of yours was changed. The log says more."))
	}
}

// ToDo is one thing to do: when, what, why, and where it is done.
type ToDo struct{ When, What, Why, Verb, Where string }

// Do is one thing to do.
func Do(when, what, why, verb, where string) ToDo { return ToDo{when, what, why, verb, where} }
