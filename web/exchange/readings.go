package exchange

import (
	"context"
	"net/http"

	"knownwater/bench/trials"
	"knownwater/intake"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// bringIn keeps readings from files, as an assessment reads them, as a finished
// trial: from then on the bench shows and publishes it as any other. All faults
// of the files come back at once, and nothing is half imported.
func (s *Pages) bringIn(w http.ResponseWriter, r *http.Request) {
	f, err := form.ParseUpload(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	defer form.Clear(r)
	made, err := s.bringInFiles(r, f)
	if f.Refused(err) {
		s.showCopies(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Brought in: {1}. When and how blind they were taken is not known here, and the report says so.", page.Reader(r).Count(made.Progress.Taken, "reading"))
	http.Redirect(w, r, "/trials/"+render.ID(made.ID), http.StatusSeeOther)
}

func (s *Pages) bringInFiles(r *http.Request, f *form.Form) (trials.Trial, error) {
	var sources [3]intake.Source
	for i, name := range []string{"readings", "methods", "need"} {
		src, err := form.Uploaded(r, name)
		if err != nil {
			return trials.Trial{}, err
		}
		sources[i] = src
	}
	if f.Text("title") == "" {
		f.Reject("title", "no title was given", "one line that will stand over the report")
	}
	if sources[0].Name == "" {
		f.Reject("readings", "no file of readings was chosen", "a readings.csv or .xlsx, one row a reading")
	}
	if f.Bad() {
		return trials.Trial{}, nil
	}
	t, err := intake.Options{Stop: r.Context().Err}.Trial(sources[0], sources[1], sources[2])
	if err != nil {
		return trials.Trial{}, err
	}
	if t.Scale.Analyte == "" { // no methods file says of what, so the form does
		if t.Scale = f.Scale(); f.Bad() {
			return trials.Trial{}, nil
		}
	}
	ctx, stop := context.WithCancelCause(r.Context())
	defer stop(nil)
	done, end := s.arrivals.add(f.Text("title"), len(t.Observations), stop)
	defer end()
	made, err := s.Bench.ImportTrial(ctx, page.WhoIs(r), trials.DataSet{Data: t, Title: f.Text("title"), Source: sources[0].Name, Done: done})
	return made, stopped(ctx, err)
}
