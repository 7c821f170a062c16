package choices

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"path/filepath"
	"strings"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// packsPage takes a pack or a report of another bench.
type packsPage struct {
	Form          *form.Form
	First, Second []option // trials that can be compared
}

func (s *Pages) packs(w http.ResponseWriter, r *http.Request) {
	s.showPacks(w, r, http.StatusOK, form.New())
}

func (s *Pages) showPacks(w http.ResponseWriter, r *http.Request, status int, f *form.Form) {
	known, err := s.comparable(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := packsPage{Form: f, First: known, Second: known}
	if len(known) > 1 { // the newest is the one that came in
		p.First, p.Second = chosen(known, known[1].ID), chosen(known, known[0].ID)
	}
	s.Show(w, r, status, "packs", page.Frame{Heading: "Packs", Part: "trials", Page: p})
}

// usePack brings a pack in as a trial whose findings and record can be used, or plans the
// same trial again.
func (s *Pages) usePack(w http.ResponseWriter, r *http.Request) {
	f, err := form.ParseUpload(r)
	defer form.Clear(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	src, err := form.Uploaded(r, "file")
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	to, err := s.used(r.Context(), page.WhoIs(r), src, f.Text("do") == "plan")
	var fault knownwater.Fault
	if errors.As(err, &fault) {
		err = knownwater.Faults{fault}
	}
	if f.Refused(err) {
		s.showPacks(w, r, http.StatusUnprocessableEntity, f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func (s *Pages) used(ctx context.Context, by knownwater.Who, src intake.Source, again bool) (string, error) {
	if len(src.Data) == 0 {
		return "", knownwater.Faults{{Column: "file", Found: "no file", Want: "a pack (.zip) or a report (.html) of another bench"}}
	}
	d, err := report.Open(bytes.NewReader(src.Data))
	if err != nil {
		return "", err
	}
	if _, err := d.SignedBy(); err != nil {
		return "", err
	}
	file := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	said := intake.Options{Sheet: d.Inputs.Options["sheet"], Method: d.Inputs.Options["method"], Analyte: d.Inputs.Options["analyte"]}
	t, err := said.Trial(file(d.Inputs.Readings), file(d.Inputs.Methods), file(d.Inputs.Need))
	if err != nil {
		return "", err
	}
	title := strings.TrimSuffix(filepath.Base(src.Name), filepath.Ext(src.Name))
	if again {
		made, err := s.again(ctx, by, t, "Again: "+title)
		return "/trials/" + render.ID(made.ID) + "/plan", err
	}
	made, err := s.Bench.ImportTrial(ctx, by, trials.DataSet{Data: t, Title: title, Source: src.Name})
	return "/trials/" + render.ID(made.ID) + "/findings", err
}

// again plans the trial that readings show: its methods and needs where they are not on the
// bench yet, its knowns and numbers of vials. Codes, order and seed are drawn anew.
func (s *Pages) again(ctx context.Context, by knownwater.Who, t knownwater.Trial, title string) (made trials.Trial, err error) {
	shown := report.PlanOf(t)
	p := trials.Plan{Title: title, Question: "Does this bench find what the other did?", Scale: t.Scale, Water: t.Water, NoWater: !t.WaterStated, Sessions: max(1, shown.Session), Replicates: 1, Blanks: 1}
	for _, m := range t.Methods {
		v, err := s.methodOf(ctx, by, trials.SpecOf(m, t))
		if err != nil {
			return made, err
		}
		pm := trials.PlanMethod{VersionID: v.VersionID}
		for _, r := range shown.Methods {
			if r.Method == m.Name {
				pm.Together = r.Together
				if len(r.Techniques) > 1 {
					pm.Techniques = r.Techniques
				}
			}
		}
		p.Methods = append(p.Methods, pm)
	}
	for _, k := range shown.Knowns {
		p.Knowns = append(p.Knowns, trials.Known{Label: trials.LabelOf(k.Level, k.Nitrite, ""), Level: k.Level, U: k.U, UShared: k.UShared, UBackground: k.UBackground, Matrix: k.Matrix, Blank: k.Level == 0 && k.Nitrite == 0, Vials: k.Vials, Nitrite: k.Nitrite, UNitrite: k.UNitrite})
	}
	for _, n := range t.Needs {
		e, err := s.Bench.NeedLike(ctx, by, knownwater.NeedEntry{Scale: t.Scale, Need: n})
		if err != nil {
			return made, err
		}
		p.Needs = append(p.Needs, e.ID)
	}
	return s.Bench.NewTrial(ctx, by, p)
}

// methodOf is the method of that name on the bench, or a new one.
func (s *Pages) methodOf(ctx context.Context, by knownwater.Who, spec knownwater.MethodSpec) (knownwater.MethodVersion, error) {
	if m, ok, err := s.Bench.MethodNamed(ctx, spec.Name); err != nil || ok && m.Spec.Kind == spec.Kind {
		return m, err
	}
	return s.Bench.SaveMethod(ctx, by, 0, spec, "from a pack")
}
