package report

import (
	"fmt"
	"slices"

	"knownwater"
	"knownwater/science/unit"
)

// RepeatPlan is what it takes to plan the same trial again.
type RepeatPlan struct {
	Scale   unit.Scale     `json:"scale"`
	Knowns  []RepeatKnown  `json:"knowns"`
	Methods []RepeatMethod `json:"methods"`
	Readers int            `json:"readers"`  // people who read
	Session int            `json:"sessions"` // sittings
}

// RepeatKnown is one known of a trial.
type RepeatKnown struct {
	Level       float64 `json:"level"`
	U           float64 `json:"u"`
	UShared     float64 `json:"u_shared"`
	UBackground float64 `json:"u_background,omitempty"`
	Matrix      string  `json:"matrix"`
	// Nitrite that it holds beside, mg/L NO2, with its standard uncertainty.
	Nitrite  float64 `json:"nitrite,omitempty"`
	UNitrite float64 `json:"u_nitrite,omitempty"`
	Vials    int     `json:"vials"` // the most that a method read of it
}

// RepeatMethod is one method's part.
type RepeatMethod struct {
	Method     string   `json:"method"`
	Techniques []string `json:"techniques"`
	Lots       int      `json:"lots"`
	Together   bool     `json:"together"` // vials were read by several people
	Vials      int      `json:"vials"`
}

// PlanOf is the plan that a trial's readings show: it has no seed and no codes, so that who
// repeats it draws their own.
func PlanOf(t knownwater.Trial) RepeatPlan {
	p := RepeatPlan{Scale: t.Scale, Knowns: []RepeatKnown{}, Methods: []RepeatMethod{}}
	type at struct {
		level, nitrite float64
		matrix         string
	}
	vials := map[at]map[branchKey]map[string]int{} // known → branch → vial → readings
	readers, sessions := map[string]bool{}, map[string]bool{}
	lots, techniques := map[string]map[string]bool{}, map[string][]string{}
	for o := range t.Every() {
		k := at{o.Level, o.Nitrite, o.Matrix}
		if vials[k] == nil {
			vials[k] = map[branchKey]map[string]int{}
			p.Knowns = append(p.Knowns, RepeatKnown{Level: o.Level, U: o.ULevel, UShared: o.UShared, UBackground: o.UBackground, Matrix: o.Matrix, Nitrite: o.Nitrite, UNitrite: o.UNitrite})
		}
		branch := branchKey{o.Method, o.Dilution}
		if vials[k][branch] == nil {
			vials[k][branch] = map[string]int{}
		}
		if lots[o.Method] == nil {
			lots[o.Method] = map[string]bool{}
		}
		vial := o.Vial + "\x00" + o.Technique
		if o.Vial == "" { // a reading is a vial where nobody says
			vial = fmt.Sprint(len(vials[k][branch]))
		}
		vials[k][branch][vial] += o.Count
		readers[o.Reader], sessions[o.Session], lots[o.Method][o.Lot] = true, true, true
		if !slices.Contains(techniques[o.Method], o.Technique) {
			techniques[o.Method] = append(techniques[o.Method], o.Technique)
		}
	}
	for i := range p.Knowns {
		for m, v := range vials[at{p.Knowns[i].Level, p.Knowns[i].Nitrite, p.Knowns[i].Matrix}] {
			p.Knowns[i].Vials = max(p.Knowns[i].Vials, (len(v)+len(techniques[m.method])-1)/max(1, len(techniques[m.method])))
		}
		p.Knowns[i].Vials = max(1, p.Knowns[i].Vials)
	}
	slices.SortStableFunc(p.Knowns, func(a, b RepeatKnown) int {
		if a.Level < b.Level {
			return -1
		}
		return b2i(a.Level > b.Level)
	})
	for _, m := range t.Methods {
		r := RepeatMethod{Method: m.Name, Techniques: techniques[m.Name], Lots: len(lots[m.Name])}
		for _, of := range vials {
			for branch, all := range of {
				if branch.method != m.Name {
					continue
				}
				for _, n := range all {
					r.Vials++
					r.Together = r.Together || n > 1
				}
			}
		}
		slices.Sort(r.Techniques)
		p.Methods = append(p.Methods, r)
	}
	p.Readers, p.Session = len(readers), len(sessions)
	return p
}

// branchKey is a method at a dilution.
type branchKey struct {
	method   string
	dilution float64
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
