package exchange

import (
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"regexp"

	"knownwater"
	"knownwater/bench"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

type copiesPage struct {
	Where    string
	Form     *form.Form
	Analytes []string
	Coming   []coming
}

func (s *Pages) copies(w http.ResponseWriter, r *http.Request) {
	s.showCopies(w, r, http.StatusOK, &form.Form{Values: map[string][]string{"analyte": {"nitrate"}}})
}

func (s *Pages) showCopies(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	s.Show(w, r, status, "copies", page.Frame{Heading: "Copies", Part: "copies", Page: copiesPage{s.Options.Copies, f, unit.Analytes(), s.arrivals.now()}})
}

// backup copies the bench into the folder for copies, under the time.
func (s *Pages) backup(w http.ResponseWriter, r *http.Request) {
	if err := os.MkdirAll(s.Options.Copies, 0o700); err != nil {
		s.Fail(w, r, &knownwater.Refusal{Kind: knownwater.ReadOnly, Words: page.Reader(r).Language.Say("The folder for copies cannot be made: {1}", err.Error())})
		return
	}
	path := filepath.Join(s.Options.Copies, s.Now().UTC().Format("bench-20060102-150405.db"))
	c, err := s.Bench.Backup(r.Context(), page.WhoIs(r), path)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Copied and checked: {1}, {2}, {3} and {4}.", filepath.Base(c.Path), render.Bytes(c.Bytes), page.Reader(r).Count(c.Trials, "trial"), page.Reader(r).Count(c.Readings, "reading"))
	http.Redirect(w, r, "/copies", http.StatusSeeOther)
}

// export sends everything as plain files in a zip. It is made whole first, in a
// file that goes again, so that a fault on the way is a page and not a torn file and
// a large bench does not fill the memory.
func (s *Pages) export(w http.ResponseWriter, r *http.Request) {
	whole, err := os.CreateTemp("", "knownwater-export-*") // its owner alone can read it
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	defer os.Remove(whole.Name())
	defer whole.Close()
	err = s.Bench.Export(r.Context(), page.WhoIs(r), whole)
	if err == nil {
		_, err = whole.Seek(0, io.SeekStart)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "application/zip", s.Now().UTC().Format("knownwater-20060102.zip"))
	io.Copy(w, whole)
}

var plainName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9 _-]{0,60}$`)

// importCopy fills a new bench beside this one from an export. This bench is
// not touched. The name is letters and digits, so that it names no other place.
func (s *Pages) importCopy(w http.ResponseWriter, r *http.Request) {
	f, err := form.ParseUpload(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	defer form.Clear(r)
	name := f.Text("name")
	if !plainName.MatchString(name) {
		f.Reject("name", "“%s” cannot name a bench", "use letters, digits, spaces and hyphens, such as north bench", name)
	}
	file := form.File(r, "file")
	if file == nil {
		f.Reject("file", "no file was chosen", "choose the zip that an export made")
	}
	if !f.Bad() {
		err = s.importFile(r, file, name)
	}
	if f.Refused(err) {
		s.showCopies(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "A new bench stands beside this one: open it with knownwater serve --bench "+filepath.Join(s.Options.Copies, name+".db"))
	http.Redirect(w, r, "/copies", http.StatusSeeOther)
}

func (s *Pages) importFile(r *http.Request, from *multipart.FileHeader, name string) error {
	file, err := from.Open()
	if err != nil {
		return err
	}
	defer file.Close()
	if err := os.MkdirAll(s.Options.Copies, 0o700); err != nil {
		return &knownwater.Refusal{Kind: knownwater.ReadOnly, Words: page.Reader(r).Language.Say("The folder for copies cannot be made: {1}", err.Error())}
	}
	return bench.Import(r.Context(), file, from.Size, filepath.Join(s.Options.Copies, name+".db"))
}
