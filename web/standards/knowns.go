package standards

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strings"
	"time"

	"knownwater/bench/standards"
	"knownwater/chart"
	"knownwater/report"
	"knownwater/science/known"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// knownsPage is everything known on the bench: sets of standards, and the shelf
// that they are made from.
type knownsPage struct {
	Now     time.Time
	Sets    []standards.PreparedSet
	Stocks  []standards.Item
	Waters  []standards.Item
	Devices []standards.Item
	Ready   bool // a stock, a water and a device are there: standards can be planned
	Compare bool // two stocks have been used
}

func (s *Pages) knowns(w http.ResponseWriter, r *http.Request) {
	p, err := s.load(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, http.StatusOK, "knowns", page.Frame{Heading: "Known water", Part: "knowns", Page: p})
}

func (s *Pages) load(ctx context.Context) (p knownsPage, err error) {
	p.Now = s.Now()
	if p.Sets, err = s.Bench.Sets(ctx); err != nil {
		return p, err
	}
	items, err := s.Bench.Shelf(ctx)
	live := map[standards.ItemKind]bool{}
	for _, x := range items {
		live[x.Spec.Kind] = live[x.Spec.Kind] || !x.Retired
		switch x.Spec.Kind {
		case standards.StockItem:
			p.Stocks = append(p.Stocks, x)
		case standards.WaterItem:
			p.Waters = append(p.Waters, x)
		case standards.DeviceItem:
			p.Devices = append(p.Devices, x)
		}
	}
	p.Ready = live[standards.StockItem] && live[standards.WaterItem] && live[standards.DeviceItem]
	p.Compare = len(p.Sets) > 1
	return p, err
}

// deviceWords are a device in words: "flask, 250 mL, class A".
func deviceWords(l *wording.Language, d standards.DeviceSpec) string {
	of := "mL"
	if d.Kind == known.Scale {
		of = "g"
	}
	words := []string{l.Say(string(d.Kind)), render.Number(d.Nominal) + " " + of}
	if d.Smallest > 0 {
		words[1] = l.Say("{1} to {2} {3}", render.Number(d.Smallest), render.Number(d.Nominal), of)
	}
	if d.Class != "" {
		words = append(words, l.Say("class {1}", d.Class))
	}
	if d.Step > 0 {
		words = append(words, l.Say("steps of {1} {2}", render.Number(d.Step), of))
	}
	if d.Check != nil {
		words = append(words, l.Say("checked at {1} {2}", render.Number(d.Check.Setting), of))
	}
	return strings.Join(words, ", ")
}

// standardView is one solution of a set as pages show it.
type standardView struct {
	known.Standard
	Spec    standards.SolutionSpec
	Made    string // the last step of its chain, in words
	Mark    template.HTML
	Budget  []budgetLine
	Parts   []partLine
	Caption string
}

// budgetLine is one sort of error with its share.
type budgetLine struct {
	Kind, U string
	Share   float64
	Bar     template.HTML
}

// partLine is one named error.
type partLine struct{ Name, Kind, Size string }

// frameOf is the half width of the marks of a set: four times what a level may
// be off, less where all marks are narrower, more where a value lies outside.
func frameOf(set known.Set, within float64) float64 {
	widest, farthest := within, 0.0
	for _, st := range set.Standards {
		if a := st.Solution.Asked; a > 0 {
			widest = math.Max(widest, math.Max(math.Abs(st.Low/a-1), math.Abs(st.High/a-1)))
			farthest = math.Max(farthest, math.Abs(st.Value.Value/a-1))
		}
	}
	return math.Min(1.25*widest, math.Max(4*within, 1.25*farthest))
}

// viewStandard puts a standard into words and marks. The mark is its 95 %
// interval against the level asked for, in per cent; the green stretch is how
// far off it was allowed to be.
func viewStandard(l *wording.Language, id string, st known.Standard, spec standards.SolutionSpec, half, within float64) standardView {
	v := standardView{Standard: st, Spec: spec}
	v.Made = report.MadeOf(st)
	if a := st.Solution.Asked; a > 0 {
		row := chart.Row{ID: "row-" + id, Title: l.Say("{1}: 95 % interval from {2} % to {3} % of the level asked for", spec.Code, fmt.Sprintf("%+.2g", 100*(st.Low/a-1)), fmt.Sprintf("%+.2g", 100*(st.High/a-1))),
			Low: -100 * half, High: 100 * half, Margin: 100 * within,
			Bars: []chart.Bar{{Low: 100 * (st.Low/a - 1), High: 100 * (st.High/a - 1), Notch: 100 * (st.Value.Value/a - 1), Verdict: chart.Known}}}
		v.Mark = template.HTML(row.SVG())
	}
	for _, x := range st.Value.Parts.ByKind() {
		if x.Share < 0.0005 {
			continue
		}
		v.Budget = append(v.Budget, budgetLine{x.Kind, unit.Round(x.U, x.U), x.Share, render.ShareBar(x.Share)})
	}
	for _, p := range st.Value.Parts {
		if size := p.Size(); size*size >= 0.0001*st.U*st.U {
			v.Parts = append(v.Parts, partLine{p.Name, p.Kind, unit.TrueMinus(unit.Round(size, math.Abs(size)))})
		}
	}
	return v
}

// markAxis is the scale under the marks of a set.
func markAxis(half, within float64) template.HTML {
	return template.HTML(chart.Row{ID: "row-axis", Low: -100 * half, High: 100 * half, Margin: 100 * within}.Axis(true))
}

// comparePage compares two stocks by a standard of each.
type comparePage struct {
	Form   *form.Form
	Sets   []standards.PreparedSet
	Result *known.Comparison
	Mark   template.HTML
	Axis   template.HTML
}

func (s *Pages) compare(w http.ResponseWriter, r *http.Request) {
	s.showCompare(w, r, http.StatusOK, comparePage{Form: &form.Form{Values: map[string][]string{"permitted": {"2"}}}})
}

func (s *Pages) showCompare(w http.ResponseWriter, r *http.Request, status int, p comparePage) {
	var err error
	if p.Sets, err = s.Bench.Sets(r.Context()); err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "compare", page.Frame{Heading: "Compare two stocks", Part: "knowns", Page: p})
}

func (s *Pages) compareStocks(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	read := func(of string) standards.StandardReading {
		set, code, _ := strings.Cut(f.Text("standard_"+of), "/")
		x := standards.StandardReading{Standard: code, Read: known.MeanRead{Mean: f.Number("mean_"+of, form.WantNumber), U: f.Number("u_"+of, form.WantNumber), N: f.Whole("n_"+of, 1_000_000)}}
		if x.Set = form.ID(set); x.Set < 1 {
			f.Reject("standard_"+of, "no standard is chosen", "choose one of each stock")
		}
		return x
	}
	first, second := read("first"), read("second")
	permitted := f.Number("permitted", "write per cent such as 2") / 100
	var c known.Comparison
	if !f.Bad() {
		c, err = s.Bench.CompareStocks(r.Context(), page.WhoIs(r), first, second, permitted)
	}
	if f.Refused(err) {
		s.showCompare(w, r, http.StatusUnprocessableEntity, comparePage{Form: f})
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := comparePage{Form: f, Result: &c}
	if !math.IsNaN(c.U) && !math.IsInf(c.U, 0) {
		p.Mark, p.Axis = render.ShiftMark("shift", "shift", c.Low, c.Shift, c.High, permitted, compared[c.Verdict])
	}
	s.showCompare(w, r, http.StatusOK, p)
}

// compared is how the verdicts on two stocks are drawn.
var compared = map[known.Agreement]chart.Verdict{known.Agree: chart.Within, known.Undecided: chart.Undecided, known.Disagree: chart.Outside}

// standardsTable is what the template of that name shows.
type standardsTable struct {
	Rows    []standardView
	Axis    template.HTML
	Planned bool
}

// levelWords is a standard's level, short.
func levelWords(st known.Standard) string { return unit.Round(st.Value.Value, st.U) }

// Due is what the known water waits for: standards to make, stocks and standards
// past their day.
func (s *Pages) Due(ctx context.Context, as render.Reader) (out []page.ToDo, err error) {
	l := as.Language
	p, err := s.load(ctx)
	if err != nil {
		return nil, err
	}
	for _, x := range p.Stocks {
		if !x.Retired && render.IsPast(x.Spec.Stock.Expires, p.Now) {
			out = append(out, page.Do("late", l.Say("Replace the stock “{1}”", x.Spec.Name), l.Say("It expired on {1}: compare it with a fresh one before you rely on it.", as.DayOf(x.Spec.Stock.Expires)), l.Say("Look"), "/knowns/shelf/"+render.ID(x.ID)))
		}
	}
	for _, x := range p.Sets {
		switch {
		case x.Retired:
		case !x.Spec.IsMade():
			out = append(out, page.Do("make", l.Say("Make the standards “{1}”", x.Spec.Name), l.Say("The sheet is ready to print; then write down what you really took."), l.Say("Open"), setPath(x.ID)))
		case render.IsPast(x.Spec.UseBy, p.Now):
			out = append(out, page.Do("late", l.Say("Pour away the standards “{1}”", x.Spec.Name), l.Say("They were to be used by {1}. Into a labelled container, never into a tank.", as.DayOf(x.Spec.UseBy)), l.Say("Open"), setPath(x.ID)))
		}
	}
	return out, nil
}
