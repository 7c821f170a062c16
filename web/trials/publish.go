package trials

import (
	"bytes"
	"crypto/ed25519"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/exchange"
	"knownwater/bench/trials"
	"knownwater/intake"
	"knownwater/logged"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

type publishPage struct {
	Found    trials.TrialFindings
	Licences []report.Licence
}

func (s *Pages) publish(w http.ResponseWriter, r *http.Request) {
	found, ok := s.findingsOr(w, r, trials.FindingsOptions{Version: s.Options.Version})
	if !ok {
		return
	}
	s.Show(w, r, http.StatusOK, "publish", page.Frame{Heading: "Publish: {1}", Of: []string{found.Trial.Plan.Title}, Part: "trials", Page: publishPage{found, report.Licences}})
}

// reportPage sends the self-contained report as a file: it carries its own
// style, which this site's policy would not let a page of it have.
func (s *Pages) reportPage(w http.ResponseWriter, r *http.Request) {
	told, err := s.told(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "text/html; charset=utf-8", fmt.Sprintf("report-%d.html", form.PathID(r, "id")))
	w.Write(told.bytes)
}

// toldPage is a report as it goes out, with what it was made from.
type toldPage struct {
	report.Page
	title string
	bytes []byte // signed where that was asked for
}

// told makes the report of the trial in the path, whole before its first byte goes out.
func (s *Pages) told(r *http.Request) (out toldPage, err error) {
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	o := trials.FindingsOptions{HideNames: namesOut(r), Version: s.Options.Version}
	found, err := s.Bench.Findings(ctx, by, id, o)
	if err != nil {
		return out, err
	}
	out.title = found.Trial.Plan.Title
	history, err := s.Bench.History(ctx, id)
	if err != nil {
		return out, err
	}
	dropped, err := s.withReasons(ctx, by, found.Trial, found.Dropped)
	if err != nil {
		return out, err
	}
	if len(found.Data.Observations) == 0 {
		return out, &knownwater.Refusal{Kind: knownwater.WrongState, Words: "No reading stands in this trial: there is nothing to report."}
	}
	in, err := logged.TrialFiles(found.Data)
	if err != nil {
		return out, err
	}
	if in.Seal, err = s.Bench.Seal(ctx, by, id); err != nil {
		return out, err
	}
	var key ed25519.PrivateKey
	if r.URL.Query().Get("signed") == "yes" {
		if key, err = exchange.SigningKey(s.Bench.Path()); err != nil {
			return out, err
		}
		in.Signer = report.PublicKey(key)
	}
	in.Made, in.Story = utc(s.Now()), storyOf(found, dropped, history, o.HideNames)
	if out.Page, err = pageFrom(in, found.Findings); err != nil {
		return out, err
	}
	var b bytes.Buffer
	if err := out.Page.Write(&b); err != nil {
		return out, err
	}
	if out.bytes = b.Bytes(); key != nil {
		out.bytes = report.Signed(out.bytes, key)
	}
	return out, nil
}

// pack sends the trial as a pack that others can check, read by, repeat and compare.
func (s *Pages) pack(w http.ResponseWriter, r *http.Request) {
	told, err := s.told(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	q := r.URL.Query()
	var b bytes.Buffer
	err = report.WritePack(&b, report.Pack{Page: told.bytes, Inputs: told.Inputs, Findings: told.Findings, Trial: told.Trial, Title: told.title, Author: q.Get("author"), Licence: q.Get("licence")})
	if fault, ok := err.(knownwater.Fault); ok {
		err = knownwater.Faults{fault}
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "application/zip", fmt.Sprintf("pack-%d.zip", form.PathID(r, "id")))
	w.Write(b.Bytes())
}

// poster sends the summary's figure, wide or square, as a picture.
func (s *Pages) poster(w http.ResponseWriter, r *http.Request) {
	height, ok := report.PosterShapes[strings.TrimSuffix(r.PathValue("shape"), ".png")]
	if !ok {
		s.NotFound(w, r)
		return
	}
	found, err := s.Bench.Findings(r.Context(), page.WhoIs(r), form.PathID(r, "id"), trials.FindingsOptions{HideNames: true, Version: s.Options.Version})
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	var b bytes.Buffer
	if err := report.PosterPNG(&b, report.Poster(found.Findings, found.Data, found.Trial.Plan.Title, r.URL.Query().Get("by"), height)); err != nil {
		s.Fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "image/png")
	w.Header().Set("Cache-Control", "no-store")
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
	return report.Page{Findings: assess.Run(t, assess.Options{Seed: f.Seed, Version: f.Version, Fit: trials.Fit}), Trial: t, Inputs: in}, nil
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
	in, err := logged.TrialFiles(t)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	page.Download(w, "text/csv; charset=utf-8", "readings-"+render.ID(id)+".csv")
	w.Write(in.Readings.Data)
}
