package trials

import (
	"context"
	"math"
	"slices"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/note"
	"knownwater/science/plan"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// FewestBlanks is how many blanks a plan should have: fewer cannot tell how far
// zero scatters.
const FewestBlanks = 6

// ExaminePlan lists all that keeps a plan from being sealed (Column names the
// form field) and doubts that do not.
func (b *Operations) ExaminePlan(ctx context.Context, p Plan) (faults knownwater.Faults, doubts []note.Note, err error) {
	err = b.read(ctx, func(t tx) error {
		whole, err := t.named(p)
		if err != nil {
			return err
		}
		faults, doubts = whole.faults(t.Now.Format("2006-01-02")), whole.doubts()
		return nil
	})
	return faults, doubts, err
}

func (p fullPlan) faults(today string) knownwater.Faults {
	var fs knownwater.Faults
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	if _, err := unit.Parse(p.Scale.Analyte, p.Scale.Unit, p.Scale.Basis); err != nil {
		wrong("scale", err.Error(), "an analyte, a unit and a basis that belong together")
	}
	if len(p.methods) == 0 {
		wrong("methods", "no method", "at least one")
	}
	if len(p.Knowns) == 0 {
		wrong("knowns", "no known", "at least one level, and a blank")
	}
	if len(p.readers) == 0 {
		wrong("readers", "no reader", "at least one")
	}
	for _, n := range []struct {
		column    string
		v, lo, hi int
	}{
		{"sessions", p.Sessions, 1, 1000}, {"replicates", p.Replicates, 1, 1000}, {"blanks", p.Blanks, 0, 1000},
		{"duplicates", p.Duplicates, 0, 1000}, {"check_every", p.CheckEvery, 0, 100000}, {"stop_after", p.StopAfter, 0, math.MaxInt32},
	} {
		if n.v < n.lo || n.v > n.hi {
			wrong(n.column, "%v", "from %d to %d", n.v, n.lo, n.hi)
		}
	}
	if p.Check != "" && p.check < 0 {
		wrong("check", "no known is called %q", "the label of one of the knowns, or nothing", p.Check)
	}
	fs = append(fs, p.setFaults()...)
	fs = append(fs, p.knownFaults()...)
	fs = append(fs, p.methodFaults(today)...)
	if len(fs) == 0 && p.design().Vials() > plan.MostVials {
		wrong("replicates", "a trial of very many vials", "at most %d", plan.MostVials)
	}
	return append(fs, p.peopleFaults()...)
}

func (p fullPlan) knownFaults() knownwater.Faults {
	var fs knownwater.Faults
	labels := map[string]bool{}
	for i, k := range p.Knowns {
		wrong := func(found, want string, values ...any) {
			fs = append(fs, knownwater.Fault{Column: "knowns", Row: i + 1, Found: found, Want: want}.Of(values...))
		}
		if !(k.Level >= 0) || math.IsInf(k.Level, 0) {
			wrong("level %g", "a concentration from 0 up", k.Level)
		}
		if !(k.U >= 0) || math.IsInf(k.U, 0) || !(math.Abs(k.UShared) <= k.U*(1+1e-12)) {
			wrong("uncertainty %g, of which %g shared", "an uncertainty from 0 up, and a shared part that is no larger", k.U, k.UShared)
		} else if !(k.UBackground >= 0 && k.UBackground <= k.U*(1+1e-12) && math.Hypot(k.UShared, k.UBackground) <= k.U*knownwater.PartsRounded) {
			wrong("uncertainty %g, of which %g shared and %g of the background", "parts from 0 up whose squares add up to no more than its square", k.U, k.UShared, k.UBackground)
		}
		if !(k.Nitrite >= 0 && k.Nitrite < knownwater.MostNitrite && k.UNitrite >= 0 && k.UNitrite < knownwater.MostNitrite) || k.Nitrite == 0 && k.UNitrite > 0 {
			wrong("nitrite %g ± %g", "nitrite in mg/L NO2 with its standard uncertainty; empty: none", k.Nitrite, k.UNitrite)
		}
		if k.Nitrite > 0 && p.Scale.Analyte != "nitrate" {
			wrong("nitrite in a known of %s", "knowns of nitrate: nitrite reads as nitrate, and no other test is asked about it", p.Scale.Analyte)
		}
		if k.Nitrite > 0 && i == p.check {
			wrong("a check standard that holds nitrite", "a known without it, which reads its level")
		}
		if k.Label == "" || labels[k.Label] {
			wrong("label %q", "a label of its own, for the preparation list", k.Label)
		}
		if k.Vials < 0 || k.Vials > 1000 {
			wrong("%d vials", "0 (as the rest of the plan) to 1000", k.Vials)
		}
		labels[k.Label] = true
	}
	if len(p.Knowns) > 0 && !slices.ContainsFunc(p.Knowns, func(k Known) bool { return k.Nitrite == 0 }) {
		fs = append(fs, knownwater.Fault{Column: "knowns", Row: 1, Found: "all knowns hold nitrite", Want: "knowns without it, too: they turn the others round"})
	}
	return fs
}

func (p fullPlan) methodFaults(today string) knownwater.Faults {
	var fs knownwater.Faults
	names := map[string]bool{}
	for i, m := range p.methods {
		wrong := func(found, want string, values ...any) {
			fs = append(fs, knownwater.Fault{Column: "methods", Row: i + 1, Found: found, Want: want}.Of(values...))
		}
		if names[m.Spec.Name] {
			wrong("method %s twice", "each method once: techniques are for the same method done in two ways", m.Spec.Name)
		}
		names[m.Spec.Name] = true
		if _, err := p.factor(m); err != nil {
			wrong(m.Spec.Name+": "+err.Error(), "a method of the plan's analyte")
		}
		techniques := map[string]bool{}
		for _, t := range p.Methods[i].Techniques {
			if techniques[t] {
				wrong("technique %q twice", "each technique once", t)
			}
			techniques[t] = true
		}
		for _, l := range p.lots[i] {
			if l.MethodID != m.ID {
				wrong("lot %s of another method", "lots of %s", l.Code, m.Spec.Name)
			}
			if l.ExpiresOn != "" && l.ExpiresOn < today {
				wrong("lot %s expired on %s", "a lot that has not expired", l.Code, l.ExpiresOn)
			}
		}
	}
	for i, n := range p.needs {
		if _, err := p.Need(n); err != nil {
			fs = append(fs, knownwater.Fault{Column: "needs", Row: i + 1, Found: n.Need.Name + ": " + err.Error(), Want: "a need of the plan's analyte"})
		}
	}
	return fs
}

func (p fullPlan) peopleFaults() knownwater.Faults {
	var fs knownwater.Faults
	seen := map[int64]bool{}
	for i, r := range p.readers {
		switch {
		case seen[r.ID]:
			fs = append(fs, knownwater.Fault{Column: "readers", Row: i + 1, Found: "%s twice", Want: "each reader once"}.Of(r.Name))
		case r.Gone:
			fs = append(fs, knownwater.Fault{Column: "readers", Row: i + 1, Found: "%s is marked as gone", Want: "readers who are here"}.Of(r.Name))
		}
		seen[r.ID] = true
	}
	return fs
}

// doubts are what a planner should think about.
func (p fullPlan) doubts() []note.Note {
	var out []note.Note
	say := func(n note.Note) { out = append(out, n) }
	blanks, levels, exact, beside := 0, 0, 0, 0
	lowest, highest := math.Inf(1), 0.0
	for i, k := range p.Knowns {
		if k.Nitrite > 0 { // it judges no level
			beside++
			continue
		}
		if k.isBlank() {
			blanks += p.design().Knowns[i].Vials
			if k.Vials == 0 {
				blanks += p.Blanks
			}
		} else {
			levels++
		}
		lowest, highest = min(lowest, k.Level), max(highest, k.Level)
		if k.U == 0 {
			exact++
		}
	}
	switch {
	case exact == len(p.Knowns)-beside && exact > 1:
		say(note.New("plan-knowns-exact"))
	case exact > 0:
		for _, k := range p.Knowns {
			if k.U == 0 && k.Nitrite == 0 {
				say(note.New("plan-known-exact").Name("known", k.Label))
			}
		}
	}
	if blanks < FewestBlanks && lowest < highest/2 { // far from zero nobody asks what shows above it
		say(note.New("plan-few-blanks").Number("blanks", float64(blanks)).Number("wanted", FewestBlanks))
	}
	if levels < 3 {
		say(note.New("plan-few-levels").Number("levels", float64(levels)))
	}
	if p.Replicates < 3 && p.Duplicates == 0 {
		say(note.New("plan-few-vials"))
	}
	if p.check < 0 {
		say(note.New("plan-no-check"))
	}
	if len(p.needs) == 0 {
		say(note.New("plan-no-need"))
	}
	for i, m := range p.methods {
		if m.Retired {
			say(note.New("plan-method-retired").Name("method", m.Spec.Name))
		}
		if !m.Latest {
			say(note.New("plan-method-newer").Name("method", m.Spec.Name))
		}
		if reading.Of(m.Spec.Kind).ByEye && len(p.readers) == 1 {
			say(note.New("plan-one-reader").Name("method", m.Spec.Name))
		}
		if len(p.lots[i]) == 0 {
			say(note.New("plan-no-lot").Name("method", m.Spec.Name))
		}
		if n := p.dilutedLevels(i); n > 0 && n < 3 {
			say(note.New("plan-few-diluted").Name("method", m.Spec.Name).Number("levels", float64(n)))
		}
		if onSwatch := p.levelsOnSwatches(m); onSwatch != nil {
			say(note.New("plan-level-on-swatch").Name("method", m.Spec.Name).Number("levels", onSwatch...))
		}
	}
	return append(out, p.setDoubts()...)
}

// dilutedLevels is at how many levels a method is diluted.
func (p fullPlan) dilutedLevels(method int) (n int) {
	m := p.design().Methods[method]
	for _, k := range p.Knowns {
		if m.Dilution > 1 && k.Level > m.DilutionOver {
			n++
		}
	}
	return n
}

// levelsOnSwatches are the levels that lie on a swatch.
func (p fullPlan) levelsOnSwatches(m knownwater.MethodVersion) (found []float64) {
	n, err := p.onScale(m)
	if err != nil {
		return nil
	}
	for _, k := range p.Knowns {
		for _, s := range n.Swatches {
			if k.Level > 0 && k.Nitrite == 0 && math.Abs(k.Level-s) <= 0.02*s {
				found = append(found, k.Level)
			}
		}
	}
	return found
}

// sealable looks up all that a plan names; its faults are an error.
func (t tx) sealable(p Plan) (fullPlan, error) {
	whole, err := t.named(p)
	if err != nil {
		return whole, err
	}
	return whole, store.OrNil(whole.faults(t.Now.Format("2006-01-02")))
}
