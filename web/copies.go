package web

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"regexp"

	"knownwater/bench"
	"knownwater/science/unit"
)

type copiesPage struct {
	Where    string
	Form     *form
	Analytes []string
}

func (s *Server) copies(w http.ResponseWriter, r *http.Request) {
	s.showCopies(w, r, http.StatusOK, &form{Values: map[string][]string{"analyte": {"nitrate"}, "unit": {"mg/L"}}})
}

func (s *Server) showCopies(w http.ResponseWriter, r *http.Request, status int, f *form) {
	s.show(w, r, status, "copies", frame{Title: "Copies", Part: "copies", Page: copiesPage{s.opt.Copies, f, unit.Analytes()}})
}

// backup copies the bench into the folder for copies, under the time.
func (s *Server) backup(w http.ResponseWriter, r *http.Request) {
	if err := os.MkdirAll(s.opt.Copies, 0o700); err != nil {
		s.fail(w, r, &bench.Refusal{Kind: bench.ReadOnly, Words: "The folder for copies cannot be made: " + err.Error()})
		return
	}
	path := filepath.Join(s.opt.Copies, s.now().UTC().Format("bench-20060102-150405.db"))
	c, err := s.bench.Backup(r.Context(), whoIs(r), path)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, fmt.Sprintf("Copied and checked: %s, %s, %s and %s.", filepath.Base(c.Path), size(c.Bytes), count(c.Trials, "trial"), count(c.Readings, "reading")))
	http.Redirect(w, r, "/copies", http.StatusSeeOther)
}

// export sends everything as plain files in a zip. It is made whole first, so
// that a fault on the way is a page and not a torn file.
func (s *Server) export(w http.ResponseWriter, r *http.Request) {
	var b bytes.Buffer
	if err := s.bench.Export(r.Context(), whoIs(r), &b); err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "application/zip", s.now().UTC().Format("knownwater-20060102.zip"))
	w.Write(b.Bytes())
}

// parseUpload reads a form with files, or says why it cannot. Who asked for it
// removes the files afterwards.
func (s *Server) parseUpload(w http.ResponseWriter, r *http.Request) (*form, bool) {
	if err := r.ParseMultipartForm(8 << 20); err != nil {
		s.fail(w, r, err)
		return nil, false
	}
	return &form{Values: r.MultipartForm.Value}, true
}

func download(w http.ResponseWriter, kind, name string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
}

var plainName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9 _-]{0,60}$`)

// importCopy fills a new bench beside this one from an export. This bench is
// not touched. The name is letters and digits, so that it names no other place.
func (s *Server) importCopy(w http.ResponseWriter, r *http.Request) {
	f, ok := s.parseUpload(w, r)
	if !ok {
		return
	}
	defer r.MultipartForm.RemoveAll()
	name := f.text("name")
	if !plainName.MatchString(name) {
		f.wrong("name", "“"+name+"” cannot name a bench", "use letters, digits, spaces and hyphens, such as north bench")
	}
	files := r.MultipartForm.File["file"]
	if len(files) != 1 {
		f.wrong("file", "no file was chosen", "choose the zip that an export made")
	}
	var err error
	if len(f.faults) == 0 {
		err = s.importFile(r, files[0].Open, files[0].Size, name)
	}
	if s.formFaults(f, err) {
		s.showCopies(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "A new bench stands beside this one: open it with knownwater serve --bench "+filepath.Join(s.opt.Copies, name+".db"))
	http.Redirect(w, r, "/copies", http.StatusSeeOther)
}

func (s *Server) importFile(r *http.Request, open func() (multipart.File, error), size int64, name string) error {
	file, err := open()
	if err != nil {
		return err
	}
	defer file.Close()
	if err := os.MkdirAll(s.opt.Copies, 0o700); err != nil {
		return &bench.Refusal{Kind: bench.ReadOnly, Words: "The folder for copies cannot be made: " + err.Error()}
	}
	return bench.Import(r.Context(), file, size, filepath.Join(s.opt.Copies, name+".db"))
}
