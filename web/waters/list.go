package waters

import (
	"context"
	"html/template"
	"math"
	"net/http"
	"slices"
	"time"

	"knownwater"
	"knownwater/bench"
	"knownwater/bench/calibrations"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/inverse"
	"knownwater/web/page"
	"knownwater/web/render"
)

// watersPage lists the waters with what was last said of each.
type watersPage struct {
	Waters []waterLine
	Away   []knownwater.Water
	Alerts []string
	Axis   template.HTML
}

type waterLine struct {
	knownwater.Water
	Path, Read string
	Last       *line
}

// line is a result as pages show it: the interval, how it stands to the need, whether it
// waits.
type line struct {
	calibrations.Result
	Path  string
	Words string
	Mark  template.HTML
	Class string // within, undecided, outside, plain
	Waits string // for which check, without saying that it waits; empty: it does not
}

func (s *Pages) waters(w http.ResponseWriter, r *http.Request) {
	p, err := s.watersOf(r.Context(), s.ReaderOn(r, "waters"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "waters", page.Frame{Heading: "Waters", Part: "waters", Page: p})
}

func (s *Pages) watersOf(ctx context.Context, as render.Reader) (p watersPage, err error) {
	all, err := s.Bench.Waters(ctx)
	if err != nil {
		return p, err
	}
	watched, err := s.Bench.Watch(ctx)
	if err != nil {
		return p, err
	}
	p.Alerts = alerts(as, watched)
	needs, err := s.Bench.Needs(ctx)
	if err != nil {
		return p, err
	}
	needs = as.Needs(needs)
	lasts := make([]calibrations.Result, 0, len(all))
	at := map[int64]int{}
	for _, x := range all {
		if x.Retired {
			p.Away = append(p.Away, x)
			continue
		}
		p.Waters = append(p.Waters, waterLine{Water: x, Path: Path(x.ID), Read: "/read?tank=" + render.ID(x.ID)})
		list, err := s.Bench.ResultsOfWater(ctx, x.ID, x.Spec.Name, 1)
		if err != nil {
			return p, err
		}
		if len(list) > 0 {
			at[x.ID] = len(lasts)
			lasts = append(lasts, as.Result(list[0]))
		}
	}
	scale := scaleOf(lasts, needs)
	for i := range p.Waters {
		x := &p.Waters[i]
		if k, there := at[x.ID]; there {
			l := lineOf(as, lasts[k], needsOf(x.Spec, needs), watched, scale)
			x.Last = &l
		}
	}
	if len(lasts) > 0 {
		p.Axis = template.HTML(chart.Row{Scale: &scale}.Axis(false))
	}
	return p, nil
}

// alerts are what the checks say that nobody should overlook.
func alerts(as render.Reader, watched []bench.Watched) (out []string) {
	for _, w := range watched {
		if s := report.ChecksAlert(as.Language, w.Checks); s != "" {
			out = append(out, s)
		}
	}
	return out
}

func needsOf(s knownwater.WaterSpec, all []knownwater.NeedEntry) (out []knownwater.NeedEntry) {
	for _, n := range all {
		if slices.Contains(s.Needs, n.ID) {
			out = append(out, n)
		}
	}
	return out
}

// needFor is the need on a result's scale.
func needFor(r calibrations.Result, needs []knownwater.NeedEntry) *chart.Stretch {
	for _, n := range needs {
		if n.Scale == r.Scale {
			return &chart.Stretch{Low: n.Need.Low, High: n.Need.High}
		}
	}
	return nil
}

// scaleOf holds results and needs.
func scaleOf(list []calibrations.Result, needs []knownwater.NeedEntry) chart.Scale {
	var levels []float64
	most := 0.0
	add := func(vs ...float64) {
		for _, v := range vs {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				levels = append(levels, v)
				most = math.Max(most, v)
			}
		}
	}
	for _, r := range list {
		add(r.Outcome.Low, r.Outcome.High, r.Outcome.Level)
		if n := needFor(r, needs); n != nil {
			add(n.Low, n.High)
		}
	}
	return chart.ScaleFor(append(levels, 1.15*most)...)
}

// against is how a result stands to a need: within, outside or undecided, by its whole
// interval.
func against(r calibrations.Result, need *chart.Stretch) chart.Verdict {
	said := r.Said().Result
	pieces := said.Pieces()
	if need == nil || len(pieces) == 0 {
		return chart.Plain
	}
	low, high := pieces[0].Low, pieces[len(pieces)-1].High
	if said.Open == inverse.Above {
		high = math.Inf(1)
	}
	switch {
	case low >= need.Low && high <= need.High:
		return chart.Within
	case high < need.Low || low > need.High:
		return chart.Outside
	}
	return chart.Undecided
}

var classes = map[chart.Verdict]string{chart.Plain: "plain", chart.Within: "within", chart.Undecided: "undecided", chart.Outside: "outside"}

func lineOf(as render.Reader, r calibrations.Result, needs []knownwater.NeedEntry, watched []bench.Watched, scale chart.Scale) line {
	need := needFor(r, needs)
	v := against(r, need)
	l := line{Result: r, Words: report.LoggedSays(as.Language, r.Said()), Class: classes[v], Path: resultPath(r)}
	if w := bench.Waits(r, watched); w != nil {
		l.Waits, v = waitsFor(as, *w, r.TakenAt), chart.Undecided
	}
	row := chart.Row{ID: "w" + render.ID(r.ID), Bars: report.Bars(r.Said().Result, v), Scale: &scale, Need: need, Slim: true}
	l.Mark = template.HTML(row.SVG())
	return l
}

func waitsFor(as render.Reader, w bench.Watched, at time.Time) string {
	o := w.AwayOn(at)
	if !o.Again.IsZero() {
		return as.Language.Say("checks of {1} read otherwise from {2} to {3}", w.Method, as.Language.Time(o.Best, "2 January"), as.Language.Time(o.Again, "2 January"))
	}
	return as.Language.Say("checks of {1} read otherwise since {2}", w.Method, as.Language.Time(o.Best, "2 January"))
}

func resultPath(r calibrations.Result) string {
	if r.Record != 0 {
		return "/records/" + render.ID(r.Record) + "/results/" + render.ID(r.ID)
	}
	return "/curves/" + render.ID(r.Curve) + "/results/" + render.ID(r.ID)
}
