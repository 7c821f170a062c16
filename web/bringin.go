package web

import (
	"fmt"
	"io"
	"mime/multipart"
	"net/http"

	"knownwater/bench"
	"knownwater/intake"
)

// bringIn keeps readings from files, as an assessment reads them, as a finished
// trial: from then on the bench shows and publishes it as any other. All faults
// of the files come back at once, and nothing is half imported.
func (s *Server) bringIn(w http.ResponseWriter, r *http.Request) {
	f, ok := s.parseUpload(w, r)
	if !ok {
		return
	}
	defer r.MultipartForm.RemoveAll()
	made, err := s.bringInFiles(r, f)
	if s.formFaults(f, err) {
		s.showCopies(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.tell(r, "Brought in: "+count(made.Progress.Taken, "reading")+". When and how blind they were taken is not known here, and the report says so.")
	http.Redirect(w, r, "/trials/"+itoa(made.ID), http.StatusSeeOther)
}

func (s *Server) bringInFiles(r *http.Request, f *form) (bench.Trial, error) {
	var sources [3]intake.Source
	for i, name := range []string{"readings", "methods", "need"} {
		src, err := uploaded(r.MultipartForm, name)
		if err != nil {
			return bench.Trial{}, err
		}
		sources[i] = src
	}
	if f.text("title") == "" {
		f.wrong("title", "no title was given", "one line that will stand over the report")
	}
	if sources[0].Name == "" {
		f.wrong("readings", "no file of readings was chosen", "a readings.csv or .xlsx, one row a reading")
	}
	if len(f.faults) > 0 {
		return bench.Trial{}, nil
	}
	t, err := intake.Trial(sources[0], sources[1], sources[2])
	if err != nil {
		return bench.Trial{}, err
	}
	if t.Scale.Analyte == "" { // no methods file says of what, so the form does
		if t.Scale = f.scale(); len(f.faults) > 0 {
			return bench.Trial{}, nil
		}
	}
	return s.bench.ImportTrial(r.Context(), whoIs(r), t, f.text("title"), sources[0].Name)
}

// uploaded is a file of a form; the zero Source where none was chosen.
func uploaded(m *multipart.Form, name string) (intake.Source, error) {
	if len(m.File[name]) == 0 || m.File[name][0].Size == 0 && m.File[name][0].Filename == "" {
		return intake.Source{}, nil
	}
	header := m.File[name][0]
	file, err := header.Open()
	if err != nil {
		return intake.Source{}, fmt.Errorf("open the upload %s: %w", header.Filename, err)
	}
	defer file.Close()
	data, err := io.ReadAll(file)
	if err != nil {
		return intake.Source{}, fmt.Errorf("read the upload %s: %w", header.Filename, err)
	}
	return intake.Source{Name: header.Filename, Data: data}, nil
}
