package waters

import (
	"bytes"
	"context"
	"errors"
	"maps"
	"net/http"
	"slices"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/logged"
	"knownwater/report"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// paged says whether a log can be a page that carries its inputs: all its results are by trials' records.
func paged(log bench.WaterLog) bool {
	for name := range log.Methods.Records {
		if _, there := log.From[name]; !there {
			return false
		}
	}
	return len(log.Methods.Records) > 0
}

// filesOf are a log of the bench as the files of a page that carries all that it was computed from.
func (s *Pages) filesOf(ctx context.Context, log bench.WaterLog) (f logged.Files, err error) {
	if len(log.Methods.Records) == 0 {
		return f, &knownwater.Refusal{Kind: knownwater.WrongState, Words: "No result here is read by a trial’s record: there is nothing to compute again."}
	}
	kinds := maps.Clone(log.Methods.Kinds)
	maps.DeleteFunc(kinds, func(name string, _ knownwater.Method) bool {
		return log.Methods.Measures[name] != log.Scale.Analyte && log.Methods.Measures[name] != ""
	})
	if f, err = logged.LogFiles(log.Entries, log.Scale, kinds, log.Needs); err != nil {
		return f, err
	}
	for _, name := range slices.Sorted(maps.Keys(log.Methods.Records)) {
		r, there := log.From[name]
		if !there {
			return f, &knownwater.Refusal{Kind: knownwater.WrongState, Words: "Some results here are read by a calibration curve: a page that carries its inputs is made of results by trials’ records alone."}
		}
		in, err := s.Bench.RecordInputs(ctx, r)
		if err != nil {
			return f, err
		}
		files, err := logged.RecordFiles(in.Data, r.Spec.Method, name, r.Spec.Matrix, r.Spec.Seed)
		if err != nil {
			return f, err
		}
		files.Report = "report-" + render.ID(r.Spec.Trial) + ".html"
		f.Records = append(f.Records, files)
	}
	f.Zone, f.Version, f.Said = time.UTC, s.Options.Version, map[string]string{}
	f.Stop = ctx.Err
	return f, nil
}

// historyHTML is the history of a water as a page that carries its inputs: made from nothing but what it carries, so
// that it comes out again byte for byte.
func (s *Pages) historyHTML(w http.ResponseWriter, r *http.Request) {
	water, err := s.Bench.Water(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	log, err := s.Bench.LogOfWater(r.Context(), water, scaleIn(r.URL.Query()))
	if err == nil {
		var f logged.Files
		if f, err = s.filesOf(r.Context(), log); err == nil {
			f.Said = nil
			var p report.HistoryPage
			if p, err = f.Judged(); err == nil {
				p.Inputs = f.Inputs(s.Now())
				s.sendPage(w, r, p, "history-"+render.ID(water.ID)+".html")
				return
			}
		}
	}
	s.Fail(w, r, err)
}

// experimentHTML is an experiment as such a page.
func (s *Pages) experimentHTML(w http.ResponseWriter, r *http.Request) {
	ctx, q := r.Context(), r.URL.Query()
	all, err := s.Bench.Waters(ctx)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var chosen []knownwater.Water
	f := &form.Form{Values: q}
	x := logged.Experiment{From: f.Text("from"), Since: f.Text("since"), Until: f.Text("until"), Settle: f.Whole("settle", 366)}
	for _, water := range all {
		for field, to := range map[string]*[]string{"treated": &x.Treated, "control": &x.Control} {
			if f.Has(field, render.ID(water.ID)) && !water.Retired {
				*to = append(*to, water.Spec.Name)
				chosen = append(chosen, water)
			}
		}
	}
	log, err := s.Bench.LogOfWaters(ctx, scaleIn(q), chosen...)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	files, err := s.filesOf(ctx, log)
	if err == nil {
		err = x.Say(files.Said)
	}
	var p report.EffectPage
	if err == nil {
		p, err = files.Effect()
	}
	if fault := (knownwater.Fault{}); errors.As(err, &fault) {
		err = knownwater.Faults{fault}
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Inputs = files.Inputs(s.Now())
	s.sendPage(w, r, p, "experiment.html")
}

// sendPage sends a page whole, or nothing of it.
func (s *Pages) sendPage(w http.ResponseWriter, r *http.Request, p report.LoggedPage, name string) {
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "text/html; charset=utf-8", name)
	w.Write(b.Bytes())
}
