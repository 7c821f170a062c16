package page

import (
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"

	"knownwater/science/unit"
	"knownwater/web/render"
	"knownwater/wording"
)

// sets are the templates of all pages, once for each way in which somebody reads them. The
// English ones are parsed when the server is made, others when the first of their readers comes.
type sets struct {
	of     []subject
	mutex  sync.Mutex
	parsed map[render.Reader]set
}

// subject is the templates of one subject, and what only they call.
type subject struct {
	files fs.FS
	words template.FuncMap
}

// set is every page by its name, for one reader.
type set struct {
	pages  map[string]*template.Template
	spoken map[string]bool // whose sentences are in the reader's language, most of them
}

// in is the set for a reader; how decimals are written is seen to when a page goes out, and
// units where a page is filled.
func (s *sets) in(r render.Reader) set {
	r.Mark, r.Units = "", ""
	s.mutex.Lock()
	defer s.mutex.Unlock()
	if made, ok := s.parsed[r]; ok {
		return made
	}
	made := set{map[string]*template.Template{}, map[string]bool{}}
	for _, x := range s.of {
		if err := made.add(r, s.of[0].files, x); err != nil {
			panic(fmt.Errorf("templates in %s: %w", r.Language.Tag(), err)) // a translation is text and places: it parses where English does
		}
	}
	s.parsed[r] = made
	return made
}

// Add joins each page of a subject with the layout and with the subject's own
// pieces.html, once. words are what only its pages call.
func (s *Site) Add(files fs.FS, words template.FuncMap) error {
	s.sets.mutex.Lock()
	defer s.sets.mutex.Unlock()
	if s.sets.parsed == nil {
		s.sets.parsed = map[render.Reader]set{{}: {map[string]*template.Template{}, map[string]bool{}}}
	}
	s.sets.of = append(s.sets.of, subject{files, words})
	return s.sets.parsed[render.Reader{}].add(render.Reader{}, s.sets.of[0].files, s.sets.of[len(s.sets.of)-1])
}

// add parses the pages of a subject for a reader, each with the frame's layout and pieces.
func (s set) add(r render.Reader, frame fs.FS, of subject) error {
	names, err := fs.Glob(of.files, "*.html")
	if err != nil {
		return err
	}
	layout, err := parse(template.New("").Funcs(r.Funcs()), r.Language, frame, "layout.html", "pieces.html")
	if err != nil {
		return fmt.Errorf("layout: %w", err)
	}
	for _, name := range names {
		base := strings.TrimSuffix(name, ".html")
		if base == "layout" || base == "pieces" {
			continue
		}
		if s.pages[base] != nil {
			return fmt.Errorf("two pages are called %s", base)
		}
		t, err := layout.Clone()
		if err != nil {
			return err
		}
		parts := []string{name}
		if slices.Contains(names, "pieces.html") {
			parts = append(parts, "pieces.html")
		}
		if s.pages[base], err = parse(t.Funcs(of.words), r.Language, of.files, parts...); err != nil {
			return fmt.Errorf("page %s: %w", base, err)
		}
		if s.spoken[base], err = spoken(r.Language, of.files, name); err != nil {
			return err
		}
	}
	return nil
}

// parse adds files to a template, in a language.
func parse(t *template.Template, l *wording.Language, files fs.FS, names ...string) (*template.Template, error) {
	for _, name := range names {
		source, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		if _, err := t.New(name).Parse(l.Template(string(source))); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// spoken says whether more than half of a page's own messages are in a language: a page of
// which less is would be neither, and is shown in English whole.
func spoken(l *wording.Language, files fs.FS, name string) (bool, error) {
	source, err := fs.ReadFile(files, name)
	if err != nil || l.English() {
		return true, err
	}
	all, said := 0, 0
	for _, m := range wording.Messages(string(source)) {
		if all++; l.Has(m) {
			said++
		}
	}
	return 2*said > all, nil
}

// ReadCookie is the cookie in which a browser keeps how its person reads: the language, the
// mark of decimals, the form of days and the units, with points between them.
const ReadCookie = "reading-as"

// Reader is how the person of a request reads, by the choice of the browser, else by the
// languages that it asks for.
func Reader(r *http.Request) render.Reader {
	c, err := r.Cookie(ReadCookie)
	if err != nil {
		return render.Reader{Language: wording.Preferred(r.Header.Get("Accept-Language"))}
	}
	parts := append(strings.SplitN(c.Value, ".", 4), "", "", "")
	units, _ := url.QueryUnescape(parts[3]) // a cookie holds no semicolon
	return ReaderOf(parts[0], parts[1], parts[2], units)
}

// KeepReader keeps a choice in the browser, for a year.
func (s *Site) KeepReader(w http.ResponseWriter, chosen render.Reader) {
	value := strings.Join([]string{chosen.Language.Tag(), chosen.Mark, chosen.Language.Days(), url.QueryEscape(string(chosen.Units))}, ".")
	http.SetCookie(w, &http.Cookie{Name: ReadCookie, Value: value, Path: "/", MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.Options.TLS})
}

// ReaderOf is a choice; what there is not is as the language and the methods have it.
func ReaderOf(language, mark, days, units string) render.Reader {
	out := render.Reader{Language: wording.In(language).WithDays(days), Units: unit.ChoicesOf(units)}
	if mark == render.MarkPoint || mark == render.MarkComma {
		out.Mark = mark
	}
	return out
}

// ReaderOn is how the person of a request reads a page: in English where it is not
// in the language.
func (s *Site) ReaderOn(r *http.Request, name string) render.Reader {
	out := Reader(r)
	if !out.Language.English() && !s.sets.in(out).spoken[name] {
		out.Language = wording.In("en").WithDays(out.Language.Days())
	}
	return out
}
