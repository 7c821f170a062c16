package trials

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"knownwater/bench/standards"
	"knownwater/bench/trials"
	"knownwater/web/form"
	"knownwater/web/page"
	"knownwater/web/render"
)

// pickedView is the set that a trial's plan took its levels from.
type pickedView struct {
	Set       standards.PreparedSet
	Standards []pickedStandard
	Shared    string // of the uncertainties, in words
}

// pickedStandard is one of its standards in the plan.
type pickedStandard struct {
	trials.Known
	Field string // of its number of vials
	Words string
	Made  bool
}

func standardVials(name string) string { return "standard_vials_" + name }

// pickable are the sets that a plan may take its levels from, in versions: the
// latest ones, and the one that it has.
func (s *Pages) pickable(ctx context.Context, p trials.Plan) ([]standards.PreparedSet, *pickedView, error) {
	sets, err := s.Bench.Sets(ctx)
	if err != nil {
		return nil, nil, err
	}
	var out []standards.PreparedSet
	for _, x := range sets {
		if !x.Retired && x.Spec.Shelf.Scale.Analyte == p.Scale.Analyte || x.VersionID == p.Set {
			out = append(out, x)
		}
	}
	if p.Set == 0 {
		return out, nil, nil
	}
	picked, err := s.Bench.SetVersion(ctx, p.Set)
	if err != nil {
		return nil, nil, err
	}
	if !picked.Latest {
		out = append(out, picked)
	}
	v := &pickedView{Set: picked}
	made := map[string]bool{}
	for _, x := range picked.Spec.Solutions {
		made[x.Name] = x.IsMade()
	}
	for _, k := range p.Knowns {
		if k.Standard != "" {
			v.Standards = append(v.Standards, pickedStandard{Known: k, Field: standardVials(k.Standard), Words: render.Value(k.Level, k.U), Made: made[k.Standard]})
		}
	}
	return out, v, nil
}

// pickSet puts the chosen set's standards into a plan that was read from its
// form, with the vials that were typed beside each.
func (s *Pages) pickSet(ctx context.Context, f *form.Form, p trials.Plan) (trials.Plan, error) {
	ids := f.IDs("set")
	if len(ids) == 0 {
		return p.WithoutSet(), nil
	}
	x, err := s.Bench.SetVersion(ctx, ids[0])
	if err != nil {
		return p, err
	}
	for _, sol := range x.Spec.Solutions {
		if sol.Level != nil {
			p.Knowns = append(p.Knowns, trials.Known{Standard: sol.Name, Label: sol.Code, Vials: f.Whole(standardVials(sol.Name), 999)})
		}
	}
	return p.WithSet(x.Standards()), nil
}

// typedKnowns are the knowns that were typed in; those of a set bring their number of
// vials into the form.
func typedKnowns(f *form.Form, knowns []trials.Known) (out []trials.Known) {
	for _, k := range knowns {
		if k.Standard == "" {
			out = append(out, k)
			continue
		}
		f.Set(standardVials(k.Standard), form.Shown(float64(k.Vials)))
	}
	return out
}

// makeLevels is where standards of a plan's typed levels are planned.
func makeLevels(p trials.Plan) string {
	var levels []string
	for _, k := range p.Knowns {
		if k.Standard == "" && k.Nitrite == 0 {
			levels = append(levels, form.Exactly(k.Level))
		}
	}
	if len(levels) == 0 {
		return "/knowns/plan"
	}
	q := url.Values{"levels": {strings.Join(levels, " ")}, "name": {p.Title}, "analyte": {p.Scale.Analyte}, "unit": {p.Scale.Unit}, "basis": {p.Scale.Basis}}
	return "/knowns/plan?" + q.Encode()
}

// sourceWords tell where a trial's known water came from.
func sourceWords(p *trials.Provenance) string {
	words := english.Say("Known water: the standards “{1}”, version {2}, from {3}", p.Set, strconv.Itoa(p.Version), strings.Join(p.Stocks, "; "))
	if p.UseBy != "" {
		words = english.Say("{1}, to be used by {2}", words, p.UseBy)
	}
	return words + "."
}

// trialWithSet begins a trial that takes its levels from a set.
func (s *Pages) trialWithSet(w http.ResponseWriter, r *http.Request) {
	x, err := s.Bench.Set(r.Context(), form.PathID(r, "id"))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	p := startingPlan(page.Reader(r).Language.Say("With the standards {1}", x.Spec.Name))
	p.Scale = x.Spec.Shelf.Scale
	if water := x.Spec.Shelf.Water.Spec.Water; water != nil {
		p.Water.Salinity, p.Water.Temperature = water.Salinity, x.Spec.Shelf.Temperature
	}
	t, err := s.Bench.NewTrial(r.Context(), page.WhoIs(r), p.WithSet(x.Standards()))
	if err != nil {
		s.Fail(w, r, err)
		return
	}
	http.Redirect(w, r, "/trials/"+render.ID(t.ID)+"/plan", http.StatusSeeOther)
}
