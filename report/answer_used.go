package report

import (
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// used is a method as it is used: all its dilutions together.
type used struct {
	speech
	name, how string
	no        int     // of its first branch in the report, from 1
	over      float64 // the reading above which it is diluted; 0: it is not
	factor    float64
	method    knownwater.Method
	branches  []assess.MethodFinding
	needs     []assess.NeedFinding
}

// usedOf lists the methods of a trial as they are used: a procedure that dilutes
// above a reading is one, and its branches stand under it.
func (l speech) usedOf(f assess.Findings, t knownwater.Trial) []used {
	var out []used
	at := map[[2]string]int{}
	for no, m := range f.Methods {
		p, whole := procedureWith(f, m)
		key := [2]string{m.Method, m.Matrix}
		if i, seen := at[key]; whole && seen {
			out[i].branches = append(out[i].branches, m)
			continue
		}
		u := used{speech: l, name: l.nameOf(m), no: no + 1, how: l.Say(clean(m.Kind)), branches: []assess.MethodFinding{m}, needs: m.Needs}
		if whole {
			at[key] = len(out)
			bare := m
			bare.Dilution = 1
			u.name, u.needs = l.nameOf(bare), p.Needs
			u.over, u.factor = p.Branches[1].From, p.Branches[1].Dilution
			u.how += ", " + l.Say("×{1} from {2}", figureOf(u.factor, ""), figureOf(u.over, ""))
		}
		if _, left := m.NeverDiluted(); left {
			u.name += " (" + l.Say("never diluted") + ")"
		}
		for _, x := range t.Methods {
			if x.Name == m.Method {
				u.method = x
			}
		}
		out = append(out, u)
	}
	return out
}

// procedureWith is the procedure of several branches that a finding is one of.
func procedureWith(f assess.Findings, m assess.MethodFinding) (assess.Procedure, bool) {
	for _, p := range f.Procedures {
		if p.Method != m.Method || p.Matrix != m.Matrix || len(p.Branches) < 2 {
			continue
		}
		for _, b := range p.Branches {
			if b.Dilution == m.Dilution {
				return p, true
			}
		}
	}
	return assess.Procedure{}, false
}

// need is what was found of a need; false where the method was not judged by it.
func (u used) need(name string) (assess.NeedFinding, bool) {
	for _, n := range u.needs {
		if n.Need == name {
			return n, true
		}
	}
	return assess.NeedFinding{}, false
}

// settles is what would settle a need by the branches of a procedure, where
// the procedure itself does not say: an undecided verdict never stands bare.
func (u used) settles(need string) string {
	for _, m := range u.branches {
		for _, n := range m.Needs {
			if n.Need == need && n.Verdict == assess.Undecided {
				if s := u.settleShort(n); s != "" {
					return s
				}
			}
		}
	}
	return u.Say("more tests, how many is not known")
}

// reads says where a method reads low or high; nothing where neither high nor low is shown.
func (u used) reads() string {
	var parts []string
	for _, m := range u.branches {
		for _, n := range m.Notes {
			if n.Code == "reads" || n.Code == "reads-singly" {
				parts = append(parts, offWords(told{n, u.speech})...)
			}
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return u.name + " " + strings.Join(parts, ", ")
}
