package trials

import (
	"bytes"
	"crypto/ed25519"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"knownwater"
	"knownwater/bench/exchange"
	"knownwater/bench/trials"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

type publishPage struct {
	Found   trials.TrialFindings
	History []trials.Event
}

func (s *Pages) publish(w http.ResponseWriter, r *http.Request) {
	found, ok := s.findingsOr(w, r, trials.FindingsOptions{Version: s.Options.Version})
	if !ok {
		return
	}
	s.Show(w, r, http.StatusOK, "publish", page.Frame{Title: "Publish: " + found.Trial.Plan.Title, Part: "trials", Page: publishPage{Found: found}})
}

// reportPage sends the self-contained report as a file: it carries its own
// style, which this site's policy would not let a page of it have.
func (s *Pages) reportPage(w http.ResponseWriter, r *http.Request) {
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	o := trials.FindingsOptions{HideNames: namesOut(r), Version: s.Options.Version}
	found, err := s.Bench.Findings(ctx, by, id, o)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	history, err := s.Bench.History(ctx, id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	dropped, err := s.withReasons(ctx, by, found.Trial, found.Dropped)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if len(found.Data.Observations) == 0 {
		s.Fail(w, r, &knownwater.Refusal{Kind: knownwater.WrongState, Words: "No reading stands in this trial: there is nothing to report."})
		return
	}
	in, err := inputsOf(found.Data)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if in.Seal, err = s.Bench.Seal(ctx, by, id); err != nil {
		s.Fail(w, r, err)
		return
	}
	var key ed25519.PrivateKey
	if r.URL.Query().Get("signed") == "yes" {
		if key, err = exchange.SigningKey(s.Bench.Path()); err != nil {
			s.Fail(w, r, err)
			return
		}
		in.Signer = report.PublicKey(key)
	}
	in.Made, in.Story = utc(s.Now()), storyOf(found, dropped, history, o.HideNames)
	told, err := pageFrom(in, found.Findings)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var b bytes.Buffer // whole before the first byte goes out
	if err := told.Write(&b); err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "text/html; charset=utf-8", fmt.Sprintf("report-%d.html", id))
	if key != nil {
		w.Write(report.Signed(b.Bytes(), key))
		return
	}
	w.Write(b.Bytes())
}

// pageFrom makes the page from nothing but the inputs that it will carry, read
// back as whoever rechecks it reads them: then it comes out again byte for byte.
func pageFrom(in report.Inputs, f assess.Findings) (report.Page, error) {
	source := func(f report.File) intake.Source { return intake.Source{Name: f.Name, Data: f.Data} }
	t, err := intake.Trial(source(in.Readings), source(in.Methods), source(in.Need))
	if err != nil {
		return report.Page{}, err
	}
	in.Options = map[string]string{"seed": strconv.FormatUint(f.Seed, 10)}
	return report.Page{Findings: assess.Run(t, assess.Options{Seed: f.Seed, Version: f.Version}), Trial: t, Inputs: in}, nil
}

// inputsOf are the trial's data as the files that an assessment reads, so that
// the report can be computed again from what it carries.
func inputsOf(t knownwater.Trial) (report.Inputs, error) {
	var readings, methods, needs bytes.Buffer
	if err := intake.WriteReadings(&readings, t); err != nil {
		return report.Inputs{}, err
	}
	if err := intake.WriteMethods(&methods, intake.MethodsFile{Scale: t.Scale, Water: t.Water, WaterStated: t.WaterStated, Methods: t.Methods, Answers: t.Answers}); err != nil {
		return report.Inputs{}, err
	}
	in := report.Inputs{Readings: report.File{Name: "readings.csv", Data: readings.Bytes()}, Methods: report.File{Name: "methods.toml", Data: methods.Bytes()}}
	if len(t.Needs) > 0 {
		if err := intake.WriteNeeds(&needs, t.Needs); err != nil {
			return report.Inputs{}, err
		}
		in.Need = report.File{Name: "need.toml", Data: needs.Bytes()}
	}
	return in, nil
}

// style serves the report's style sheet to the findings page.
func (s *Pages) style(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Header().Set("Cache-Control", "public, max-age=600")
	io.WriteString(w, report.Stylesheet())
}

func (s *Pages) readingsCSV(w http.ResponseWriter, r *http.Request) {
	id := form.PathID(r, "id")
	t, err := s.Bench.TrialData(r.Context(), page.WhoIs(r), id, trials.FindingsOptions{HideNames: namesOut(r)})
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	in, err := inputsOf(t)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "text/csv; charset=utf-8", "readings-"+render.ID(id)+".csv")
	w.Write(in.Readings.Data)
}
