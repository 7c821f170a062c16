package choices

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strconv"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/trials"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/wording"
)

// agreePage holds two trials of the bench against each other, of which one or both came in
// as packs of other benches.
type agreePage struct {
	First, Second []option
	Faults        []string
	Ready         bool
	waiting
	Query, Again  string
	Titles        [2]string
	Unit          string
	Head          string
	All           []agreeView // of all readings
	Lots, Readers []agreeView
}

type agreeView struct {
	Says, Class, Verdict string
	Rows                 []agreeRow
}

type agreeRow struct {
	Level, Words, En, Permitted string
	SVG                         template.HTML
}

func (s *Pages) agree(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	var ids [2]int64
	for i, name := range []string{"first", "second"} {
		ids[i], _ = strconv.ParseInt(q.Get(name), 10, 64)
	}
	p := agreePage{waiting: waiting{Stopped: q.Get("stopped") != ""}}
	q.Del("stopped")
	p.Query = q.Encode()
	p.Again = "/packs/agree?" + p.Query
	known, err := s.comparable(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.First, p.Second = chosen(known, ids[0]), chosen(known, ids[1])
	has := func(id int64) bool { return slices.ContainsFunc(known, func(o option) bool { return o.ID == id }) }
	switch {
	case ids[0] == 0 && ids[1] == 0:
	case !has(ids[0]) || !has(ids[1]):
		p.Faults = []string{s.ReaderOn(r, "agree").Language.Say("two trials that were judged: one of each bench")}
	case ids[0] == ids[1]:
		p.Faults = []string{s.ReaderOn(r, "agree").Language.Say("the same trial twice: two of different benches")}
	case !p.Stopped:
		if err := s.agreed(w, r, &p, ids); err != nil {
			s.Fail(w, r, err)
			return
		}
	}
	s.Show(w, r, http.StatusOK, "agree", page.Frame{Heading: "Do two benches agree?", Part: "trials", Page: p})
}

// comparable are the trials with findings.
func (s *Pages) comparable(ctx context.Context) (out []option, err error) {
	all, err := s.Bench.Trials(ctx)
	for _, t := range all {
		if (t.State == trials.Opened || t.State == trials.Finished) && t.Progress.Taken > 0 {
			out = append(out, option{ID: t.ID, Words: t.Plan.Title})
		}
	}
	return out, err
}

func chosen(all []option, id int64) []option {
	out := slices.Clone(all)
	for i := range out {
		out[i].Chosen = out[i].ID == id
	}
	return out
}

// agreed compares beside the page, or says how far it is.
func (s *Pages) agreed(w http.ResponseWriter, r *http.Request, p *agreePage, ids [2]int64) error {
	ctx, by := r.Context(), page.WhoIs(r)
	key := agreeKey(ids, by)
	got, ready, err := s.comparing.Within(ctx, page.Patience, key, func(ctx context.Context) (bench.Agreed, error) {
		return s.Bench.Agree(ctx, by, ids, s.Options.Version, page.Progress(ctx))
	})
	var faults knownwater.Faults
	if errors.As(err, &faults) {
		for _, f := range faults {
			p.Faults = append(p.Faults, form.Sentence(s.ReaderOn(r, "agree").Language, f))
		}
		return nil
	}
	done, err := p.on(w, r, ready, err, func() (int, int) { return s.comparing.HowFar(key) }, wording.Key("Lots and readers are held against the other bench: {1} of {2}."))
	if done {
		p.fill(got)
	}
	return err
}

func agreeKey(ids [2]int64, by knownwater.Who) string { return fmt.Sprint(ids, by.Person) }

// stopAgree ends a comparison.
func (s *Pages) stopAgree(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	ids := [2]int64{int64(f.Whole("first", math.MaxInt32)), int64(f.Whole("second", math.MaxInt32))}
	s.comparing.Stop(agreeKey(ids, page.WhoIs(r)))
	http.Redirect(w, r, fmt.Sprintf("/packs/agree?first=%d&second=%d&stopped=1", ids[0], ids[1]), http.StatusSeeOther)
}

func (p *agreePage) fill(a bench.Agreed) {
	p.Ready, p.Titles, p.Unit = true, a.Titles, a.Scale.String()
	widest := 0.0
	for _, g := range a.All {
		for _, l := range g.Levels {
			widest = math.Max(widest, math.Max(math.Abs(float64(l.Low)), math.Abs(float64(l.High))))
			if l.Permitted.OK() {
				widest = math.Max(widest, 1.2*float64(l.Permitted))
			}
		}
	}
	count := map[string]int{}
	for i, g := range a.All {
		v := agreeView{Says: report.AgreeSays(g, a.Scale), Verdict: agreeWords[g.Verdict], Class: agreeClass[g.Verdict]}
		for k, l := range g.Levels {
			v.Rows = append(v.Rows, rowOfLevel(fmt.Sprintf("agree-%d-%d", i, k), l, g.Verdict, widest))
		}
		switch g.Of {
		case "lot":
			p.Lots = append(p.Lots, v)
		case "reader":
			p.Readers = append(p.Readers, v)
		default:
			p.All = append(p.All, v)
			count[g.Verdict]++
		}
	}
	p.Head = report.AgreeHead(count[assess.SameForNeed], count[assess.Different], count[assess.Undecided])
}

var (
	agreeWords = map[string]string{assess.SameForNeed: "agree for the need", assess.Different: "differ", assess.Undecided: "undecided"}
	agreeClass = map[string]string{assess.SameForNeed: "within", assess.Different: "outside", assess.Undecided: "undecided"}
	agreeBar   = map[string]chart.Verdict{assess.SameForNeed: chart.Within, assess.Different: chart.Outside, assess.Undecided: chart.Undecided}
)

func rowOfLevel(id string, l choose.AgreementAt, verdict string, widest float64) agreeRow {
	row := chart.Row{ID: id, Low: -widest, High: widest, Slim: true,
		Bars: []chart.Bar{{Low: float64(l.Low), High: float64(l.High), Notch: float64(l.Difference), Verdict: agreeBar[verdict]}}}
	out := agreeRow{Level: form.Shown(l.Level), Words: report.AgreeDifference(l), En: report.AgreeEn(l), Permitted: "–"}
	if l.Permitted.OK() {
		row.Margin = float64(l.Permitted)
		out.Permitted = "±" + shown(l.Permitted, 2)
	}
	out.SVG = template.HTML(row.SVG())
	return out
}
