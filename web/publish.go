package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"sync"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/assess"
)

type publishPage struct {
	Standing bench.Standing
	History  []bench.Event
}

func (s *Server) publish(w http.ResponseWriter, r *http.Request) {
	standing, err := s.bench.Findings(r.Context(), whoIs(r), pathID(r, "id"), bench.FindingsOptions{Version: s.opt.Version})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.show(w, r, http.StatusOK, "publish", frame{Title: "Publish: " + standing.Trial.Plan.Title, Part: "trials", Page: publishPage{Standing: standing}})
}

// reportPage sends the self-contained report as a file: it carries its own
// style, which this site's policy would not let a page of it have.
func (s *Server) reportPage(w http.ResponseWriter, r *http.Request) {
	ctx, by, id := r.Context(), whoIs(r), pathID(r, "id")
	o := bench.FindingsOptions{HideNames: r.URL.Query().Get("names") == "out", Version: s.opt.Version}
	standing, err := s.bench.Findings(ctx, by, id, o)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	history, err := s.bench.History(ctx, id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	dropped, err := s.told(ctx, by, standing.Trial, standing.Dropped)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	page, err := publishedReport(standing, dropped, history, o.HideNames, s.now())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "text/html; charset=utf-8", fmt.Sprintf("report-%d.html", id))
	w.Write(page)
}

// publishedReport is the report with a last leaf that only a bench can write:
// when it was planned, when and why its key was opened, and what was left out.
func publishedReport(st bench.Standing, dropped []toldReading, history []bench.Event, hideNames bool, now time.Time) ([]byte, error) {
	in, err := inputsOf(st.Data)
	if err != nil {
		return nil, err
	}
	in.Made = now.UTC().Format("2 January 2006, 15:04 UTC")
	var page, leaf bytes.Buffer
	if err := report.HTML(&page, st.Findings, st.Data, in); err != nil {
		return nil, err
	}
	if hideNames {
		history = nil // it names people
	}
	if err := provenance().Execute(&leaf, struct {
		Standing  bench.Standing
		Dropped   []toldReading
		History   []bench.Event
		HideNames bool
	}{st, dropped, history, hideNames}); err != nil {
		return nil, fmt.Errorf("how the trial was run: %w", err)
	}
	before, after, found := bytes.Cut(page.Bytes(), []byte("</main>"))
	if !found {
		return nil, fmt.Errorf("the report has no end to put the trial's story before")
	}
	return bytes.Join([][]byte{before, leaf.Bytes(), []byte("</main>"), after}, nil), nil
}

var provenance = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("provenance.html").Funcs(funcs).ParseFS(files, "templates/provenance.html"))
})

// inputsOf are the trial's data as the files that an assessment reads, so that
// the report can be computed again from what it carries.
func inputsOf(t knownwater.Trial) (report.Inputs, error) {
	var readings, methods, needs bytes.Buffer
	if err := intake.WriteReadings(&readings, t); err != nil {
		return report.Inputs{}, err
	}
	if err := intake.WriteMethods(&methods, intake.MethodsFile{Scale: t.Scale, Water: t.Water, Methods: t.Methods}); err != nil {
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

// reportBody is the inside of the report's page, for the live findings: the
// same figures and sentences as in what is published.
func reportBody(st bench.Standing) (template.HTML, error) {
	page, err := reportText(st.Findings, st.Data)
	if err != nil {
		return "", err
	}
	_, body, _ := strings.Cut(page, "<main>")
	body, _, found := strings.Cut(body, "</main>")
	if !found {
		return "", fmt.Errorf("the report has no main part")
	}
	return template.HTML(body), nil
}

// reportStyle is the report's style sheet, for the same page.
var reportStyle = sync.OnceValues(func() (string, error) {
	page, err := reportText(assess.Findings{}, knownwater.Trial{})
	if err != nil {
		return "", err
	}
	_, style, _ := strings.Cut(page, "<style>")
	style, _, found := strings.Cut(style, "</style>")
	if !found {
		return "", fmt.Errorf("the report has no style sheet")
	}
	return style, nil
})

func reportText(f assess.Findings, t knownwater.Trial) (string, error) {
	var page bytes.Buffer
	if err := report.HTML(&page, f, t, report.Inputs{}); err != nil {
		return "", err
	}
	return page.String(), nil
}

// style serves the report's style sheet to the findings page.
func (s *Server) style(w http.ResponseWriter, r *http.Request) {
	css, err := reportStyle()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/css; charset=utf-8")
	w.Header().Set("Cache-Control", "public, max-age=600")
	w.Write([]byte(css))
}

func (s *Server) readingsCSV(w http.ResponseWriter, r *http.Request) {
	id := pathID(r, "id")
	t, err := s.bench.TrialData(r.Context(), whoIs(r), id, bench.FindingsOptions{HideNames: r.URL.Query().Get("names") == "out"})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	in, err := inputsOf(t)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	download(w, "text/csv; charset=utf-8", "readings-"+itoa(id)+".csv")
	w.Write(in.Readings.Data)
}
