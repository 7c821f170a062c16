package calibrations

import (
	"net/http"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

func recordPath(id int64) string { return "/records/" + render.ID(id) }

// calibrationsPage is everything that readings can be turned round by.
type calibrationsPage struct {
	InUse   []calibrationLine
	Records []calibrations.Record
	Curves  int
	Trials  []trials.Trial // whose records can be adopted
}

// calibrationLine is a calibration in use.
type calibrationLine struct {
	knownwater.Calibration
	Path, Read string
}

func (s *Pages) calibrations(w http.ResponseWriter, r *http.Request) {
	p, err := s.loadCalibrations(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "calibrations", page.Frame{Heading: "Calibrations", Part: "calibrations", Page: p})
}

func (s *Pages) loadCalibrations(r *http.Request) (p calibrationsPage, err error) {
	ctx := r.Context()
	inUse, err := s.Bench.Calibrations(ctx)
	if err != nil {
		return p, err
	}
	for _, c := range inUse {
		path := Path(c.ID)
		if c.Kind == knownwater.ByRecord {
			path = recordPath(c.ID)
		}
		p.InUse = append(p.InUse, calibrationLine{c, path, ReadPath(c)})
	}
	if p.Records, err = s.Bench.Records(ctx); err != nil {
		return p, err
	}
	curves, err := s.Bench.Curves(ctx)
	if err != nil {
		return p, err
	}
	p.Curves = len(curves)
	all, err := s.Bench.Trials(ctx)
	for _, t := range all {
		if t.State == trials.Finished {
			p.Trials = append(p.Trials, t)
		}
	}
	return p, err
}

// adoptPage takes a trial's record of a method into use.
type adoptPage struct {
	Trial   trials.Trial
	Methods []adoptable
	Form    *form.Form
	Loose   knownwater.Faults
}

// adoptable is a method of the trial, with the record of it that is in use, if any.
type adoptable struct {
	knownwater.MethodVersion
	InUse []calibrations.Record
}

func (s *Pages) adopt(w http.ResponseWriter, r *http.Request) {
	s.showAdopt(w, r, http.StatusOK, &form.Form{Values: r.URL.Query()})
}

func (s *Pages) showAdopt(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	ctx := r.Context()
	t, err := s.Bench.Trial(ctx, page.WhoIs(r), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	records, err := s.Bench.Records(ctx)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := adoptPage{Trial: t, Form: f, Loose: f.Loose("method", "matrix", "why")}
	for _, m := range t.Plan.Methods {
		v, err := s.Bench.MethodVersion(ctx, m.VersionID)
		if err != nil {
			s.Fail(w, r, err)
			return
		}
		a := adoptable{MethodVersion: v}
		for _, x := range records {
			if x.Method == v.ID && !x.Retired {
				a.InUse = append(a.InUse, x)
			}
		}
		p.Methods = append(p.Methods, a)
	}
	s.Show(w, r, status, "adopt", page.Frame{Heading: "Use a record: {1}", Of: []string{t.Plan.Title}, Part: "trials", Page: p})
}

// adoptRecord takes the record of the chosen method into use; a page that shows it
// comes next.
func (s *Pages) adoptRecord(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	adopted, err := s.Bench.AdoptRecord(r.Context(), page.WhoIs(r), calibrations.NewRecord{Trial: form.PathID(r, "id"), Version: form.ID(f.Text("method")),
		Matrix: f.Text("matrix"), Why: f.Text("why"), Program: s.Options.Version})
	if f.Refused(err) {
		s.showAdopt(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Version {1} of the record of {2} is in use. From now on its readings are turned round by it.", render.ID(int64(adopted.Version)), adopted.Spec.Method)
	http.Redirect(w, r, recordPath(adopted.ID), http.StatusSeeOther)
}

// recordPage is one version of a record, and the results that it made.
type recordPage struct {
	Record   calibrations.Record
	Versions []calibrations.Record
	InUse    *calibrations.Record
	Readers  []string
	Lots     []string
	Broken   string // why it cannot be computed again
	Adopt    *form.Form
	Kept     resultList
	Read     string
	Now      time.Time
}

func (s *Pages) record(w http.ResponseWriter, r *http.Request) {
	s.showRecord(w, r, http.StatusOK, &form.Form{})
}

func (s *Pages) showRecord(w http.ResponseWriter, r *http.Request, status int, adopt *form.Form) {
	ctx := r.Context()
	versions, err := s.Bench.RecordVersions(ctx, form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if len(versions) == 0 {
		s.NotFound(w, r)
		return
	}
	p := recordPage{Record: versions[0], Versions: versions, Adopt: adopt, Now: s.Now()}
	asked := form.ID(r.URL.Query().Get("version"))
	for i, v := range versions {
		if v.InUse {
			p.InUse = &versions[i]
		}
	}
	if p.InUse != nil {
		p.Record = *p.InUse
	}
	for _, v := range versions {
		if v.VersionID == asked {
			p.Record = v
		}
	}
	if known, err := s.Bench.Performance(ctx, p.Record); err == nil {
		p.Readers, p.Lots = known.Readers, known.Lots
	} else {
		p.Broken = err.Error()
	}
	if p.Record.InUse {
		p.Read = ReadPath(knownwater.Calibration{Kind: knownwater.ByRecord, Version: p.Record.VersionID})
	}
	if p.Kept, err = s.listResults(r, calibrations.ResultFilter{Record: p.Record.ID}, s.recordTeller(ctx, s.ReaderOn(r, "record"), p.InUse)); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "record", page.Frame{Heading: "{1}: record", Of: []string{p.Record.Spec.Method}, Part: "calibrations", Page: p})
}

// adoptVersion takes another version of a record into use again.
func (s *Pages) adoptVersion(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	v, err := s.Bench.RecordVersion(r.Context(), form.ID(f.Text("version")))
	if err == nil && v.ID != form.PathID(r, "id") {
		s.NotFound(w, r)
		return
	}
	if err == nil {
		v, err = s.Bench.AdoptRecordVersion(r.Context(), page.WhoIs(r), v.VersionID, f.Text("why"))
	}
	if f.Refused(err) {
		s.showRecord(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Tell(r, "Version {1} is in use.", render.ID(int64(v.Version)))
	http.Redirect(w, r, recordPath(v.ID), http.StatusSeeOther)
}

func (s *Pages) retireRecord(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err == nil {
		err = s.Bench.RetireRecord(r.Context(), page.WhoIs(r), form.PathID(r, "id"), f.Ticked("retired"))
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, recordPath(form.PathID(r, "id")), http.StatusSeeOther)
}
