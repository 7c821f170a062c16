package report

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"knownwater"
	"knownwater/science/assess"
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
func Picks(f assess.Findings, t knownwater.Trial) []string {
	var out []string
	f, scale := oneWater(f), scaleOf(f)
	for _, name := range needNames(f, t) {
		out = append(out, newNeedView(name, f, t, scale).Pick)
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
		v.Range = fmt.Sprintf("%s to %s %s", typed(n.Low, 0), typed(n.High, 0), scale)
		v.Permitted = permittedWords(n)
	}
	type judged struct {
		name  string
		n     assess.NeedFinding
		spare float64
	}
	by := map[string][]judged{}
	for _, m := range f.Methods {
		for _, n := range m.Needs {
			if n.Need != name {
				continue
			}
			v.Rows = append(v.Rows, newNeedRow(m, n))
			verdict := n.Verdict
			switch {
			case verdict == assess.Undecided && n.Raw.Verdict == assess.NotFit:
				verdict = onlyCorrected
			case verdict == assess.Undecided && !number(n.Raw.Error95, n.Raw.Low, n.Raw.High).OK() && !number(n.Corrected.Error95, n.Corrected.Low, n.Corrected.High).OK():
				verdict = untried
			}
			by[verdict] = append(by[verdict], judged{nameOf(m), n, spare(n)})
		}
	}
	names := func(verdict string) []string {
		list := by[verdict]
		sort.SliceStable(list, func(i, j int) bool { return list[i].spare < list[j].spare })
		out := make([]string, len(list))
		for i, j := range list {
			out[i] = j.name
		}
		return out
	}
	v.Pick = pick(v.Name, names(assess.Fit), names(assess.FitWhenCorrected), names(assess.NotFit), names(assess.Undecided), names(onlyCorrected))
	if list := names(assess.HeldBack); len(list) > 0 {
		v.Pick += " The verdict on " + and(list) + " is held back until the questions above are answered."
	}
	if list := names(untried); len(list) > 0 {
		v.Pick += " About " + and(list) + " these readings say nothing here."
	}
	return v
}

// Among the undecided: what is settled as not fit as it is read, so that only
// a correction could help, and what these readings say nothing about.
const (
	onlyCorrected = "undecided when corrected"
	untried       = assess.NotTried
)

// spare is how much of the permitted error the upper limit of a method's error
// uses: the smaller, the more is to spare.
func spare(n assess.NeedFinding) float64 {
	e := n.Raw
	if n.Verdict == assess.FitWhenCorrected {
		e = n.Corrected
	}
	if e.High.OK() && e.Permitted > 0 {
		return float64(e.High / e.Permitted)
	}
	return math.Inf(1)
}

// pick says which method to use for a need, first.
func pick(need string, fit, corrected, not, undecided, onlyIf []string) string {
	s := "For “" + need + "”: "
	switch {
	case len(fit) > 0:
		s += "use " + fit[0] + " as it is read"
		if len(fit) > 1 {
			s += "; " + and(fit[1:]) + verb(len(fit)-1, " meets it too", " meet it too")
		}
		if len(corrected) > 0 {
			s += "; " + and(corrected) + verb(len(corrected), " meets it", " meet it") + " once corrected"
		}
	case len(corrected) > 0:
		s += "no method meets it as read; use " + corrected[0] + ", corrected through its record"
		if len(corrected) > 1 {
			s += "; " + and(corrected[1:]) + verb(len(corrected)-1, " meets it", " meet it") + " once corrected too"
		}
	case len(undecided)+len(onlyIf) > 0:
		s += "no method is shown to meet it yet"
	case len(not) > 0:
		s += "no method here meets it"
	default:
		return s + "no method was judged."
	}
	s += "."
	if len(undecided) > 0 {
		s += " " + and(undecided) + verb(len(undecided), " is undecided.", " are undecided.")
	}
	if len(onlyIf) > 0 {
		s += " " + and(onlyIf) + verb(len(onlyIf), " is not fit as read, and undecided when corrected.", " are not fit as read, and undecided when corrected.")
	}
	if len(not) > 0 && len(fit)+len(corrected)+len(undecided)+len(onlyIf) > 0 {
		s += " " + and(not) + verb(len(not), " is not fit.", " are not fit.")
	}
	return s
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
		parts = append(parts, fmt.Sprintf("±%s at %s", typed(p.Error, 0), typed(p.At, 0)))
	}
	if len(parts) > 6 {
		parts = append(parts[:5], "… "+parts[len(parts)-1])
	}
	return strings.Join(parts, ", ")
}

func newNeedRow(m assess.MethodFinding, n assess.NeedFinding) needRow {
	r := needRow{Method: nameOf(m), Verdict: n.Verdict, Class: classOf(n.Verdict)}
	r.Raw, r.RawTo = within(n.Raw)
	r.Corrected, r.CorrectedTo = within(n.Corrected)
	r.Permitted = none
	if n.Raw.Permitted.OK() {
		r.Permitted = "±" + brief(float64(n.Raw.Permitted)) + " at " + short(n.Raw.WorstAt)
	}
	if n.Verdict == assess.Undecided {
		r.More = none
		if n.MoreTests.OK() {
			r.More = "about " + count(int(math.Ceil(float64(n.MoreTests))))
		}
	}
	return r
}

// within is the error of single results: with its best value, and the interval alone.
func within(e assess.ErrorWithin) (whole, to string) {
	v := number(e.Error95, e.Low, e.High)
	if !v.OK() {
		return none, none
	}
	to = v.To
	if to == "" {
		to = "±" + v.Est
	}
	return v.plusMinus(""), to
}
