package standards

import (
	"html/template"
	"math"
	"net/http"
	"strings"

	"knownwater/bench/standards"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
	"knownwater/wording"
)

// standardsPage is the form of what is wanted, beside the best way to make it.
type standardsPage struct {
	Form     *form.Form
	Waters   []standards.Item
	Stocks   []standards.Item
	Devices  int
	Analytes []string
	Plan     *plannedView
	Buying   []standards.Item // unused where a plan was found
	Gain     []gainView       // what one device would make possible, where no plan was found
}

// plannedView is a plan as it is shown.
type plannedView struct {
	Stock      string
	Relative   string
	Steps      int
	Matrix     float64
	Waste      float64
	Background float64 // share of the variance, shown where it is most of it
	Analyte    string
	Rows       []standardView // intermediates first
	Axis       template.HTML
	Scale      unit.Scale
	Next       *gainView
	Gain       []gainView
	Doubts     []note.Note
}

// gainView is another plan, and what it would change.
type gainView struct {
	What, Relative, Change string
	Bar                    template.HTML
}

func (s *Pages) planStandards(w http.ResponseWriter, r *http.Request) {
	f := &form.Form{Values: map[string][]string{"temperature": {"22"}, "within": {"3"}}}
	f.SetScale(unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"})
	limitsForm(f, standards.DefaultLimits())
	for _, name := range []string{"analyte", "unit", "basis", "levels", "name"} { // from a trial's plan
		if v := r.URL.Query().Get(name); v != "" {
			f.Set(name, v)
		}
	}
	s.showStandards(w, r, http.StatusOK, standardsPage{Form: f})
}

func limitsForm(f *form.Form, l standards.LimitsSpec) {
	for name, v := range map[string]float64{"volume": l.Volume, "level_within": 100 * l.LevelWithin, "salinity_cut": 100 * l.SalinityCut, "smallest_volume": l.Smallest,
		"deliveries": float64(l.Deliveries), "intermediates": float64(l.Intermediates), "steps": float64(l.Steps), "matrix_left": l.MatrixLeft} {
		f.Set(name, form.Shown(v))
	}
	if l.Added {
		f.Set("added", "yes")
	}
}

func (s *Pages) showStandards(w http.ResponseWriter, r *http.Request, status int, p standardsPage) {
	items, err := s.Bench.Shelf(r.Context())
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p.Analytes = unit.Analytes()
	for _, x := range items {
		switch {
		case x.Retired:
		case x.Spec.Kind == standards.WaterItem:
			p.Waters = append(p.Waters, x)
		case x.Spec.Kind == standards.StockItem:
			p.Stocks = append(p.Stocks, x)
		default:
			p.Devices++
		}
	}
	s.Show(w, r, status, "standards", page.Frame{Heading: "Plan standards", Part: "knowns", Page: p})
}

// readWanted reads what is wanted from its form.
func readWanted(f *form.Form) standards.Wanted {
	n := func(name string) float64 { return f.Number(name, form.WantNumber) }
	w := standards.Wanted{Name: f.Text("name"), Scale: f.Scale(), Stocks: f.IDs("stocks"), Temperature: n("temperature"), Within: n("within"),
		Limits: standards.LimitsSpec{Volume: n("volume"), LevelWithin: n("level_within") / 100, SalinityCut: n("salinity_cut") / 100, Smallest: n("smallest_volume"),
			Deliveries: f.Whole("deliveries", 20), Intermediates: f.Whole("intermediates", 2), Steps: f.Whole("steps", 1000), MatrixLeft: n("matrix_left"), Added: f.Ticked("added")}}
	if ids := f.IDs("water"); len(ids) > 0 {
		w.Water = ids[0]
	}
	for _, text := range strings.Fields(strings.ReplaceAll(f.Get("levels"), ";", " ")) {
		v, err := form.ParseNumber(text)
		if err != nil {
			f.Reject("levels", "“%s” is no number", "levels with spaces between: 0 0.6 3 12 40", text)
			continue
		}
		w.Levels = append(w.Levels, v)
	}
	return w
}

// levelFaults puts faults of single levels and of limits beside their fields.
func levelFaults(f *form.Form) {
	for i := range f.Faults() {
		x := &f.Faults()[i]
		switch {
		case strings.HasPrefix(x.Column, "level "):
			x.Found, x.Column = x.Column+": "+x.Found, "levels"
		case strings.HasPrefix(x.Column, "limits "):
			x.Column = strings.TrimPrefix(x.Column, "limits ")
		case strings.Contains(x.Column, "temperature_within"):
			x.Column = "within"
		case strings.Contains(x.Column, "temperature"):
			x.Column = "temperature"
		}
	}
}

// lookForStandards searches for the best way, and keeps it when asked to.
func (s *Pages) lookForStandards(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	ctx, want := r.Context(), readWanted(f)
	keep := f.Get("do") == "keep"
	p := standardsPage{Form: f}
	var set standards.PreparedSet
	var plan standards.StandardsPlan
	if !f.Bad() {
		if keep {
			set, err = s.Bench.NewSet(ctx, page.WhoIs(r), want)
		} else {
			plan, err = s.Bench.PlanStandards(ctx, want, true)
		}
	}
	if f.Refused(err) {
		levelFaults(f)
		p.Gain = gains(plan.Buying, true)
		s.showStandards(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if keep {
		s.Tell(r, "The plan is kept, and each bottle has its code. Print the sheet, make them, and write down what you really took.")
		http.Redirect(w, r, setPath(set.ID), http.StatusSeeOther)
		return
	}
	p.Plan = viewPlanned(s.ReaderOn(r, "standards").Language, plan)
	s.showStandards(w, r, http.StatusOK, p)
}

func viewPlanned(l *wording.Language, x standards.StandardsPlan) *plannedView {
	p := x.Plan
	v := &plannedView{Stock: p.Stock, Relative: unit.Round(100*p.RelativeU, 0.1*100*p.RelativeU), Steps: p.Steps, Matrix: p.Set.MatrixUsed, Waste: p.Waste, Scale: x.Shelf.Scale,
		Analyte: x.Shelf.Scale.Analyte, Doubts: x.Doubts, Gain: gains(x.Buying, false)}
	if b := known.BackgroundBound(p); b > 0.5 {
		v.Background = b
	}
	within := x.Shelf.Limits.LevelWithin
	half := frameOf(p.Set, within)
	for i, st := range append(append([]known.Standard(nil), p.Set.Intermediates...), p.Set.Standards...) {
		v.Rows = append(v.Rows, viewStandard(l, "p"+render.ID(int64(i)), st, standards.SolutionSpec{Name: st.Solution.Name, Code: st.Solution.Name}, half, within))
	}
	v.Axis = markAxis(half, within)
	if x.Next != nil {
		v.Next = &gains([]known.Alternative{*x.Next}, false)[0]
	}
	return v
}

// gains puts alternatives into words; alone where there is no plan to compare
// them with.
func gains(list []known.Alternative, alone bool) (out []gainView) {
	for _, x := range list {
		rel := 100 * x.Plan.RelativeU
		g := gainView{What: x.What, Relative: unit.Round(rel, 0.1*rel)}
		switch {
		case alone || math.IsNaN(x.Ratio):
		case x.Ratio < 1:
			g.Change = render.Number(math.Round(100*(1-x.Ratio))) + " % less"
		default:
			g.Change = render.Number(math.Round(100*(x.Ratio-1))) + " % more"
		}
		out = append(out, g)
	}
	return out
}
