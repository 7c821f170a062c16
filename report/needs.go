package report

import (
	"math"
	"strings"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/wording"
)

// needNames are the needs in the order of the trial, then any other judged.
func needNames(f assess.Findings, t knownwater.Trial) []string {
	var names []string
	seen := map[string]bool{}
	add := func(n string) {
		if !seen[n] {
			seen[n], names = true, append(names, n)
		}
	}
	for _, n := range t.Needs {
		add(n.Name)
	}
	for _, m := range f.Methods {
		for _, n := range m.Needs {
			add(n.Need)
		}
	}
	return names
}

// Picks say which method to use, a sentence for each need; none where no need
// was given.
func Picks(l *wording.Language, f assess.Findings, t knownwater.Trial) []string {
	var out []string
	all := speech{l}.usedOf(oneWater(f), t)
	for _, name := range needNames(f, t) {
		p := speech{l}.pickFor(name, all, t)
		said := p.sentence(all)
		out = append(out, strings.TrimSpace(l.Say("For “{1}”: {2}{3} {4}", clean(name), strings.ToLower(said[:1]), said[1:], p.more(all))))
	}
	return out
}

func needOf(t knownwater.Trial, name string) (knownwater.Need, bool) {
	for _, n := range t.Needs {
		if n.Name == name {
			return n, true
		}
	}
	return knownwater.Need{}, false
}

func newNeedView(name string, f assess.Findings, t knownwater.Trial, scale string) needView {
	v := needView{Name: clean(name)}
	if n, ok := needOf(t, name); ok {
		v.Range = english.Say("{1} to {2} {3}", typed(n.Low, 0), typed(n.High, 0), scale)
		v.Permitted = permittedWords(n)
	}
	for _, m := range f.Methods {
		for _, n := range m.Needs {
			if n.Need == name {
				v.Rows = append(v.Rows, newNeedRow(m, n))
			}
		}
	}
	return v
}

func verb(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

func permittedWords(n knownwater.Need) string {
	var parts []string
	for _, p := range n.Permitted {
		parts = append(parts, english.Say("±{1} at {2}", typed(p.Error, 0), typed(p.At, 0)))
	}
	if len(parts) > 6 {
		parts = append(parts[:5], "… "+parts[len(parts)-1])
	}
	return strings.Join(parts, ", ")
}

func newNeedRow(m assess.MethodFinding, n assess.NeedFinding) needRow {
	r := needRow{Method: nameOf(m), Verdict: verdictNow(n), Class: classOf(verdictNow(n))}
	var permitted string
	r.Raw, r.RawTo, permitted = within(n.Raw)
	r.Corrected, r.CorrectedTo, _ = within(n.Corrected)
	r.Permitted = none
	if n.Raw.Permitted.OK() {
		r.Permitted = english.Say("±{1} at {2}", permitted, short(n.Raw.WorstAt))
	}
	if n.Verdict == assess.Undecided {
		r.More = none
		if n.MoreTests.OK() {
			r.More = english.Say("about {1}", count(int(math.Ceil(float64(n.MoreTests)))))
		}
	}
	return r
}

// within is the error of single results: with its best value, and the interval alone; and what is permitted there.
func within(e assess.ErrorWithin) (whole, to, permitted string) {
	v, permitted := english.besidePermitted(e.Error95, e.Low, e.High, e.Permitted)
	if !v.OK() {
		return none, none, permitted
	}
	to = v.To
	if to == "" {
		to = "±" + v.Est
	}
	return v.plusMinus(""), to, permitted
}
