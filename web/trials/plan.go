package trials

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/standards"
	"knownwater/bench/trials"
	"knownwater/report"
	"knownwater/science/note"
	"knownwater/science/plan"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// startingPlan has the sizes of a standard trial: three vials a level, six
// blanks, two sessions.
func startingPlan(title string) trials.Plan {
	return trials.Plan{Title: title, Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Water: unit.StandardSea,
		Sessions: 2, Replicates: 3, Blanks: 6, Duplicates: 1}
}

// planPage is the plan's form beside what it would cost and decide.
type planPage struct {
	Trial    trials.Trial
	Form     *form.Form
	Rows     []int // of knowns
	With     []int // of knowns that hold nitrite
	WithOpen bool
	Methods  []planMethodView
	Needs    []knownwater.NeedEntry
	People   []knownwater.Person
	Analytes []string
	Doubts   []note.Note
	Missing  knownwater.Faults
	Costs    *trials.Costs
	Outlook  *outlookView
	Asked    bool // for the outlook
	Why      []string
	Sets     []standards.PreparedSet // to take the levels from
	Picked   *pickedView
	Make     string // where standards of the typed levels are planned
}

type planMethodView struct {
	Method knownwater.MethodVersion
	Lots   []knownwater.Lot
}

func (s *Pages) plan(w http.ResponseWriter, r *http.Request) {
	t, err := s.Bench.Trial(r.Context(), page.WhoIs(r), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	if t.State != trials.Planned {
		http.Redirect(w, r, "/trials/"+render.ID(t.ID), http.StatusSeeOther)
		return
	}
	s.showPlan(w, r, http.StatusOK, t, planForm(t.Plan), nil)
}

func (s *Pages) showPlan(w http.ResponseWriter, r *http.Request, status int, t trials.Trial, f *form.Form, why []string) {
	ctx := r.Context()
	p := planPage{Trial: t, Form: f, Analytes: unit.Analytes(), Asked: r.URL.Query().Has("outlook"), Why: why}
	err := s.fillPlan(ctx, &p)
	if err == nil && !f.Bad() {
		err = s.addForecast(r, &p)
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	s.Show(w, r, status, "plan", page.Frame{Heading: "Plan: {1}", Of: []string{t.Plan.Title}, Part: "trials", Page: p})
}

// fillPlan loads what a plan is chosen from.
func (s *Pages) fillPlan(ctx context.Context, p *planPage) error {
	methods, err := s.Bench.Methods(ctx)
	if err != nil {
		return err
	}
	for _, m := range methods {
		if m.Retired {
			continue
		}
		lots, err := s.Bench.Lots(ctx, m.ID)
		if err != nil {
			return err
		}
		p.Methods = append(p.Methods, planMethodView{m, lots})
	}
	if p.Needs, err = s.Bench.Needs(ctx); err != nil {
		return err
	}
	if p.People, err = s.Bench.People(ctx); err != nil {
		return err
	}
	if p.Sets, p.Picked, err = s.pickable(ctx, p.Trial.Plan); err != nil {
		return err
	}
	p.Make = makeLevels(p.Trial.Plan)
	filled := 0
	for i := range mostKnowns {
		if p.Form.Text(knownField("level", i)) != "" || p.Form.Text(knownField("label", i)) != "" {
			filled = i + 1
		}
	}
	for i := range min(mostKnowns, max(4, filled+2)) {
		p.Rows = append(p.Rows, i)
	}
	if p.Form.Has("analyte", "nitrate") {
		for i := range mostWithNitrite {
			at := mostKnowns + i
			p.With = append(p.With, at)
			p.WithOpen = p.WithOpen || p.Form.Text(knownField("level", at)) != "" || p.Form.Text(knownField("nitrite", at)) != ""
		}
	}
	return nil
}

// outlookTime is how long a person waits for a forecast; the page shows what it has
// by then, and goes on when asked.
const outlookTime = 4 * time.Second

// addForecast adds what is missing, the costs, and when asked for the outlook.
func (s *Pages) addForecast(r *http.Request, p *planPage) error {
	ctx := r.Context()
	var err error
	if p.Missing, p.Doubts, err = s.Bench.ExaminePlan(ctx, p.Trial.Plan); err != nil {
		return err
	}
	if len(p.Missing) > 0 {
		return nil
	}
	costs, err := s.Bench.Costs(ctx, p.Trial.Plan)
	if err != nil {
		return err
	}
	p.Costs = &costs
	if !p.Asked {
		return nil
	}
	ctx, cancel := context.WithTimeout(ctx, outlookTime)
	defer cancel()
	o, err := s.Bench.Forecast(ctx, p.Trial.Plan, 0)
	if err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	p.Outlook = viewOutlook(s.ReaderOn(r, "plan").Language, o, p.chosenNeeds())
	return nil
}

// chosenNeeds are the needs that the plan is judged against.
func (p *planPage) chosenNeeds() []knownwater.NeedEntry {
	var out []knownwater.NeedEntry
	for _, n := range p.Needs {
		if slices.Contains(p.Trial.Plan.Needs, n.ID) {
			out = append(out, n)
		}
	}
	return out
}

// savePlan keeps what was typed, then does what the pressed button says.
func (s *Pages) savePlan(w http.ResponseWriter, r *http.Request) {
	ctx, by, id := r.Context(), page.WhoIs(r), form.PathID(r, "id")
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	t, err := s.Bench.Trial(ctx, by, id)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p, err := s.pickSet(ctx, f, readPlan(f, t.Plan.Seed))
	if err == nil && !f.Bad() {
		t, err = s.Bench.SavePlan(ctx, by, id, p)
	}
	if s.planRefused(w, r, t, f, err) {
		return
	}
	s.act(w, r, t, f)
}

// planRefused shows the plan again with its faults, or fails; false where err
// is nil.
func (s *Pages) planRefused(w http.ResponseWriter, r *http.Request, t trials.Trial, f *form.Form, err error) bool {
	switch {
	case f.Refused(err):
		s.showPlan(w, r, http.StatusUnprocessableEntity, t, f, nil)
	case err != nil:
		s.Fail(w, r, err)
	default:
		return false
	}
	return true
}

// act does what the pressed button says.
func (s *Pages) act(w http.ResponseWriter, r *http.Request, t trials.Trial, f *form.Form) {
	ctx, by := r.Context(), page.WhoIs(r)
	here := "/trials/" + render.ID(t.ID) + "/plan"
	switch f.Get("do") {
	case "propose":
		proposal, err := s.Bench.ProposeKnowns(ctx, t.Plan)
		if s.planRefused(w, r, t, f, err) {
			return
		}
		for _, k := range t.Plan.Knowns {
			if k.Nitrite > 0 { // asks something else than levels do
				proposal.Knowns = append(proposal.Knowns, k)
			}
		}
		t.Plan.Knowns, t.Plan.Set = proposal.Knowns, 0
		s.showPlan(w, r, http.StatusOK, t, planForm(t.Plan), report.SayAll(proposal.Why))
	case "outlook":
		http.Redirect(w, r, here+"?outlook=1#outlook", http.StatusSeeOther)
	case "seal":
		sealed, err := s.Bench.SealPlan(ctx, by, t.ID)
		if s.planRefused(w, r, t, f, err) {
			return
		}
		s.Tell(r, "Sealed. The key is shut, and nobody can look it up without a trace. Print the labels and fill the vials.")
		http.Redirect(w, r, "/trials/"+render.ID(sealed.ID), http.StatusSeeOther)
	default:
		s.Tell(r, "The plan is kept.")
		http.Redirect(w, r, here, http.StatusSeeOther)
	}
}

// mostKnowns is how many knowns a plan's form can hold; behind them stand those that hold nitrite.
const (
	mostKnowns      = 24
	mostWithNitrite = 4
)

func knownField(what string, i int) string { return "known_" + what + "_" + strconv.Itoa(i) }

// readPlan reads a plan from its form.
func readPlan(f *form.Form, seed uint64) trials.Plan {
	p := trials.Plan{
		Title: f.Text("title"), Question: f.Text("question"), Scale: f.Scale(),
		Water: unit.Water{Salinity: f.Number("salinity", "write a practical salinity such as 35"), Temperature: f.Number("temperature", "write degrees Celsius such as 25")},
		Needs: f.IDs("needs"), Readers: f.IDs("readers"),
		Sessions: f.Whole("sessions", 99), Replicates: f.Whole("replicates", 99), Blanks: f.Whole("blanks", 99),
		Check: f.Text("check"), CheckEvery: f.Whole("check_every", 999), Duplicates: f.Whole("duplicates", 99),
		StopAfter: f.Whole("stop_after", 1000000), Seed: seed,
	}
	for i := range mostKnowns + mostWithNitrite {
		if k, ok := readKnown(f, i); ok {
			p.Knowns = append(p.Knowns, k)
		}
	}
	for _, id := range f.IDs("methods") {
		p.Methods = append(p.Methods, readPlanMethod(f, id))
	}
	return p
}

func readKnown(f *form.Form, i int) (trials.Known, bool) {
	want := "write a number such as 3"
	k := trials.Known{Label: f.Text(knownField("label", i)), Matrix: f.Text(knownField("matrix", i)), Blank: f.Ticked(knownField("blank", i)), Vials: f.Whole(knownField("vials", i), 999)}
	level := f.Text(knownField("level", i))
	if level == "" && k.Label == "" && !k.Blank && f.Text(knownField("nitrite", i)) == "" {
		return k, false
	}
	if level == "" && !k.Blank {
		f.Reject(knownField("level", i), "the known “%s” has no level", want, k.Label)
	}
	k.Level, k.U = f.Number(knownField("level", i), want), f.Number(knownField("u", i), want)
	k.UShared, k.UBackground = f.Number(knownField("shared", i), want), f.Number(knownField("background", i), want)
	if i >= mostKnowns {
		k.Nitrite, k.UNitrite = f.Number(knownField("nitrite", i), want), f.Number(knownField("u_nitrite", i), want)
		if f.Text(knownField("nitrite", i)) == "" {
			f.Reject(knownField("nitrite", i), "nothing", "the nitrite added, mg/L NO2, such as 0.2")
		}
	}
	if k.Label == "" {
		k.Label = trials.LabelOf(k.Level, k.Nitrite, f.Text("unit"))
	}
	return k, true
}

func readPlanMethod(f *form.Form, id int64) trials.PlanMethod {
	of := func(name string) string { return name + "_" + render.ID(id) }
	want := "write a number such as 0.1"
	m := trials.PlanMethod{VersionID: id, Lots: f.IDs(of("lots")), Together: f.Ticked(of("together")),
		Guess: plan.Guess{Offset: f.Number(of("offset"), want), Slope: f.Number(of("slope"), want), Sigma0: f.Number(of("sigma0"), want), Kappa: f.Number(of("kappa"), want) / 100,
			Reader: f.Number(of("reader"), want), From: "a guess"}}
	for _, t := range strings.Split(f.Text(of("techniques")), ",") {
		if t = strings.TrimSpace(t); t != "" {
			m.Techniques = append(m.Techniques, t)
		}
	}
	return m
}

// planForm puts a plan back into its form.
func planForm(p trials.Plan) *form.Form {
	f := &form.Form{Values: map[string][]string{}}
	for name, text := range map[string]string{"title": p.Title, "question": p.Question, "analyte": p.Scale.Analyte, "unit": p.Scale.Unit,
		"basis": p.Scale.Basis, "salinity": form.Shown(p.Water.Salinity), "temperature": form.Shown(p.Water.Temperature), "check": p.Check} {
		f.Set(name, text)
	}
	for name, n := range map[string]int{"sessions": p.Sessions, "replicates": p.Replicates, "blanks": p.Blanks, "check_every": p.CheckEvery,
		"duplicates": p.Duplicates, "stop_after": p.StopAfter} {
		f.Set(name, form.Shown(float64(n)))
	}
	for _, id := range p.Needs {
		f.Add("needs", render.ID(id))
	}
	for _, id := range p.Readers {
		f.Add("readers", render.ID(id))
	}
	if p.Set != 0 {
		f.Set("set", render.ID(p.Set))
	}
	plain, with := 0, mostKnowns
	for _, k := range typedKnowns(f, p.Knowns) {
		at := &plain
		if k.Nitrite > 0 {
			at = &with
		}
		i := *at
		*at++
		f.Set(knownField("nitrite", i), form.Shown(k.Nitrite))
		f.Set(knownField("u_nitrite", i), form.Shown(k.UNitrite))
		f.Set(knownField("label", i), k.Label)
		f.Set(knownField("level", i), form.Exactly(k.Level))
		f.Set(knownField("u", i), form.Shown(k.U))
		f.Set(knownField("shared", i), form.Shown(k.UShared))
		f.Set(knownField("background", i), form.Shown(k.UBackground))
		f.Set(knownField("matrix", i), k.Matrix)
		f.Set(knownField("vials", i), form.Shown(float64(k.Vials)))
		if k.Blank {
			f.Set(knownField("blank", i), "yes")
		}
	}
	for _, m := range p.Methods {
		setPlanMethod(f, m)
	}
	return f
}

func setPlanMethod(f *form.Form, m trials.PlanMethod) {
	of := func(name string) string { return fmt.Sprintf("%s_%d", name, m.VersionID) }
	f.Add("methods", render.ID(m.VersionID))
	for _, l := range m.Lots {
		f.Add(of("lots"), render.ID(l))
	}
	if m.Together {
		f.Set(of("together"), "yes")
	}
	f.Set(of("techniques"), strings.Join(m.Techniques, ", "))
	for name, v := range map[string]float64{"offset": m.Guess.Offset, "slope": m.Guess.Slope, "sigma0": m.Guess.Sigma0, "kappa": 100 * m.Guess.Kappa, "reader": m.Guess.Reader} {
		f.Set(of(name), form.Shown(v))
	}
}
