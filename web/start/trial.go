package start

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// mostMethods is how many methods the second door can describe; the method pages
// take any number.
const mostMethods = 3

// startingTrial is the second door as it opens.
func startingTrial() *form.Form { return form.New("analyte", "nitrate", "kind_0", "chart") }

// methodRow is one method as the second door takes it.
type methodRow struct {
	Field, Name, Kind, Detail string
	WrongName, WrongDetail    knownwater.Faults
	Kinds                     []reading.Kind
	Last                      bool
}

func methodRows(f *form.Form) []methodRow {
	var out []methodRow
	for i := range mostMethods {
		name, detail := fmt.Sprint("name_", i), fmt.Sprint("detail_", i)
		out = append(out, methodRow{fmt.Sprint(i), f.Get(name), f.Get(fmt.Sprint("kind_", i)), f.Get(detail),
			f.Wrong(name), f.Wrong(detail), reading.Kinds(), i == mostMethods-1})
	}
	return out
}

// trial makes a plan of a few words: the methods, the need and the people that are
// not on the bench yet, and a trial with levels that suit the need. All of it can
// still be changed.
func (s *Pages) trial(w http.ResponseWriter, r *http.Request) {
	f, err := form.Parse(r)
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	scale, err := unit.Usual(f.Text("analyte"))
	if err != nil {
		f.Reject("analyte", err.Error(), "")
	}
	specs := readMethods(f, scale)
	need, ok := needOf(page.Reader(r), f)
	if !ok {
		f.Reject("low", "nobody said what it is needed for", "the range in which it must be right, and how nearly")
	}
	if f.Bad() {
		s.Doors(w, r, http.StatusUnprocessableEntity, form.New("analyte", "nitrate"), f)
		return
	}
	made, err := s.begin(r.Context(), page.Reader(r), page.WhoIs(r), scale, specs, need, names(f.Text("readers")))
	if f.Refused(err) {
		s.Doors(w, r, http.StatusUnprocessableEntity, form.New("analyte", "nitrate"), f)
		return
	}
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/trials/"+render.ID(made.ID)+"/plan?outlook=1#outlook", http.StatusSeeOther)
}

// readMethods are the methods that have a name.
func readMethods(f *form.Form, scale unit.Scale) []knownwater.MethodSpec {
	var out []knownwater.MethodSpec
	for i := range mostMethods {
		of := func(what string) string { return what + "_" + strconv.Itoa(i) }
		name := f.Text(of("name"))
		if name == "" {
			continue
		}
		m := knownwater.Method{Name: name, Kind: knownwater.Kind(f.Text(of("kind")))}
		readDetail(f, of("detail"), &m)
		spec := knownwater.SpecOf(m)
		spec.Scale = scale
		out = append(out, spec)
	}
	if len(out) == 0 {
		f.Reject("name_0", "no method was named", "what you call the test that you use")
	}
	return out
}

// names are people's names, with commas or “and” between them.
func names(text string) []string {
	text = strings.NewReplacer(" and ", ",", ";", ",", "&", ",").Replace(text)
	var out []string
	for _, n := range strings.Split(text, ",") {
		if n = strings.TrimSpace(n); n != "" {
			out = append(out, n)
		}
	}
	return out
}

// begin makes what is not there yet and the trial that needs it. What is there under
// the same name is used as it is, so that a second try after a fault finds its own.
func (s *Pages) begin(ctx context.Context, as render.Reader, by knownwater.Who, scale unit.Scale, specs []knownwater.MethodSpec, need knownwater.Need, readers []string) (made trials.Trial, err error) {
	p := trials.Plan{Title: as.Language.Say("How right is our {1}?", as.Language.Say(scale.Analyte)), Scale: scale, Water: unit.StandardSea, NoWater: true,
		Sessions: 2, Replicates: 3, Blanks: 6, Duplicates: 1}
	for _, spec := range specs {
		v, err := s.methodOf(ctx, by, spec)
		if err != nil {
			return made, err
		}
		p.Methods = append(p.Methods, trials.PlanMethod{VersionID: v.VersionID})
	}
	n, err := s.Bench.NeedLike(ctx, by, knownwater.NeedEntry{Scale: scale, Need: need})
	if err != nil {
		return made, err
	}
	p.Needs = []int64{n.ID}
	if p.Readers, err = s.readersOf(ctx, by, readers); err != nil {
		return made, err
	}
	proposal, err := s.Bench.ProposeKnowns(ctx, p)
	if err != nil {
		return made, err
	}
	p.Knowns = proposal.Knowns
	return s.Bench.NewTrial(ctx, by, p)
}

func (s *Pages) methodOf(ctx context.Context, by knownwater.Who, spec knownwater.MethodSpec) (knownwater.MethodVersion, error) {
	if m, ok, err := s.Bench.MethodNamed(ctx, spec.Name); ok || err != nil {
		return m, err
	}
	return s.Bench.SaveMethod(ctx, by, 0, spec, "")
}

// readersOf finds people by name or puts them on the list; with nobody named, the
// owner at the bench reads.
func (s *Pages) readersOf(ctx context.Context, by knownwater.Who, readers []string) ([]int64, error) {
	people, err := s.Bench.People(ctx)
	if err != nil {
		return nil, err
	}
	var out []int64
	for _, name := range readers {
		id := int64(0)
		for _, x := range people {
			if x.Name == name && !x.Gone {
				id = x.ID
			}
		}
		if id == 0 {
			x, err := s.Bench.SavePerson(ctx, by, knownwater.Person{Name: name, Role: knownwater.Reader})
			if err != nil {
				return nil, err
			}
			id = x.ID
		}
		out = append(out, id)
	}
	return out, nil
}
