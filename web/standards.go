package web

import (
	"html/template"
	"math"
	"net/http"
	"strings"

	"knownwater/bench"
	"knownwater/science/known"
	"knownwater/science/unit"
)

// standardsPage is the form of what is wanted, beside the best way to make it.
type standardsPage struct {
	Form     *form
	Waters   []bench.Item
	Stocks   []bench.Item
	Devices  int
	Analytes []string
	Plan     *plannedView
	Buying   []bench.Item // unused where a plan was found
	Gain     []gainView   // what one device would make possible, where no plan was found
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
	Doubts     []string
}

// gainView is another plan, and what it would change.
type gainView struct {
	What, Relative, Change string
	Bar                    template.HTML
}

func (s *Server) planStandards(w http.ResponseWriter, r *http.Request) {
	f := &form{Values: map[string][]string{"temperature": {"22"}, "within": {"3"}}}
	setScale(f, unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"})
	limitsForm(f, bench.DefaultLimits())
	for _, name := range []string{"analyte", "unit", "basis", "levels", "name"} { // from a trial's plan
		if v := r.URL.Query().Get(name); v != "" {
			f.Set(name, v)
		}
	}
	s.showStandards(w, r, http.StatusOK, standardsPage{Form: f})
}

func limitsForm(f *form, l bench.LimitsSpec) {
	for name, v := range map[string]float64{"volume": l.Volume, "level_within": 100 * l.LevelWithin, "salinity_cut": 100 * l.SalinityCut, "smallest_volume": l.Smallest,
		"deliveries": float64(l.Deliveries), "intermediates": float64(l.Intermediates), "steps": float64(l.Steps), "matrix_left": l.MatrixLeft} {
		f.Set(name, shown(v))
	}
	if l.Added {
		f.Set("added", "yes")
	}
}

func (s *Server) showStandards(w http.ResponseWriter, r *http.Request, status int, p standardsPage) {
	items, err := s.bench.Shelf(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	p.Analytes = unit.Analytes()
	for _, x := range items {
		switch {
		case x.Retired:
		case x.Spec.Kind == bench.WaterItem:
			p.Waters = append(p.Waters, x)
		case x.Spec.Kind == bench.StockItem:
			p.Stocks = append(p.Stocks, x)
		default:
			p.Devices++
		}
	}
	s.show(w, r, status, "standards", frame{Title: "Plan standards", Part: "knowns", Page: p})
}

// readWanted reads what is wanted from its form.
func readWanted(f *form) bench.Wanted {
	n := func(name string) float64 { return f.number(name, aNumber) }
	w := bench.Wanted{Name: f.text("name"), Scale: f.scale(), Stocks: f.ids("stocks"), Temperature: n("temperature"), Within: n("within"),
		Limits: bench.LimitsSpec{Volume: n("volume"), LevelWithin: n("level_within") / 100, SalinityCut: n("salinity_cut") / 100, Smallest: n("smallest_volume"),
			Deliveries: f.whole("deliveries", 20), Intermediates: f.whole("intermediates", 2), Steps: f.whole("steps", 1000), MatrixLeft: n("matrix_left"), Added: f.ticked("added")}}
	if ids := f.ids("water"); len(ids) > 0 {
		w.Water = ids[0]
	}
	for _, text := range strings.Fields(strings.ReplaceAll(f.Get("levels"), ";", " ")) {
		v, err := parseNumber(text)
		if err != nil {
			f.wrong("levels", "“"+text+"” is no number", "levels with spaces between: 0 0.6 3 12 40")
			continue
		}
		w.Levels = append(w.Levels, v)
	}
	return w
}

// levelFaults puts faults of single levels and of limits beside their fields.
func levelFaults(f *form) {
	for i := range f.faults {
		x := &f.faults[i]
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
func (s *Server) lookForStandards(w http.ResponseWriter, r *http.Request) {
	f, err := parseForm(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	ctx, want := r.Context(), readWanted(f)
	keep := f.Get("do") == "keep"
	p := standardsPage{Form: f}
	var set bench.PreparedSet
	var plan bench.StandardsPlan
	if len(f.faults) == 0 {
		if keep {
			set, err = s.bench.NewSet(ctx, whoIs(r), want)
		} else {
			plan, err = s.bench.PlanStandards(ctx, want, true)
		}
	}
	if s.formFaults(f, err) {
		levelFaults(f)
		p.Gain = gains(plan.Buying, true)
		s.showStandards(w, r, http.StatusUnprocessableEntity, p)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if keep {
		s.tell(r, "The plan is kept, and each bottle has its code. Print the sheet, make them, and write down what you really took.")
		http.Redirect(w, r, setPath(set.ID), http.StatusSeeOther)
		return
	}
	p.Plan = viewPlanned(plan)
	s.showStandards(w, r, http.StatusOK, p)
}

func viewPlanned(x bench.StandardsPlan) *plannedView {
	p := x.Plan
	v := &plannedView{Stock: p.Stock, Relative: unit.Round(100*p.RelativeU, 0.1*100*p.RelativeU), Steps: p.Steps, Matrix: p.Set.MatrixUsed, Waste: p.Waste, Scale: x.Shelf.Scale,
		Analyte: x.Shelf.Scale.Analyte, Doubts: x.Doubts, Gain: gains(x.Buying, false)}
	if b := known.BackgroundBound(p); b > 0.5 {
		v.Background = b
	}
	within := x.Shelf.Limits.LevelWithin
	half := frameOf(p.Set, within)
	for i, st := range append(append([]known.Standard(nil), p.Set.Intermediates...), p.Set.Standards...) {
		v.Rows = append(v.Rows, viewStandard("p"+itoa(int64(i)), st, bench.SolutionSpec{Name: st.Solution.Name, Code: st.Solution.Name}, half, within))
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
			g.Change = num(math.Round(100*(1-x.Ratio))) + " % less"
		default:
			g.Change = num(math.Round(100*(x.Ratio-1))) + " % more"
		}
		out = append(out, g)
	}
	return out
}
