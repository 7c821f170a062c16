package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// pick is the method to use for a need: an index, or −1.
type pick struct {
	need      string
	use       int
	corrected bool  // it is fit only when corrected
	fit, corr []int // all that are, the one with most to spare first
	over      []int // fit, but beyond the minutes or the money of the need
	undecided []int
	untried   []int
	held      []int
	wanted    knownwater.Need
}

// pickFor chooses: what is fit as read before what is fit when corrected, and
// of those the one whose error leaves most of the permitted one to spare.
func pickFor(name string, all []used, t knownwater.Trial) pick {
	p := pick{need: name, use: -1}
	p.wanted, _ = needOf(t, name)
	for i, u := range all {
		n, ok := u.need(name)
		if !ok {
			continue
		}
		switch verdictNow(n) {
		case assess.Fit, assess.FitWhenCorrected:
			switch {
			case n.WithinLimits != nil && !*n.WithinLimits:
				p.over = append(p.over, i)
			case n.Verdict == assess.Fit:
				p.fit = append(p.fit, i)
			default:
				p.corr = append(p.corr, i)
			}
		case assess.Undecided:
			p.undecided = append(p.undecided, i)
		case assess.NotTried:
			p.untried = append(p.untried, i)
		case assess.HeldBack:
			p.held = append(p.held, i)
		}
	}
	bySpare := func(list []int) {
		slices.SortStableFunc(list, func(a, b int) int {
			x, _ := all[a].need(name)
			y, _ := all[b].need(name)
			switch sx, sy := spare(x), spare(y); {
			case sx < sy:
				return -1
			case sx > sy:
				return 1
			}
			return 0
		})
	}
	bySpare(p.fit)
	bySpare(p.corr)
	switch {
	case len(p.fit) > 0:
		p.use = p.fit[0]
	case len(p.corr) > 0:
		p.use, p.corrected = p.corr[0], true
	}
	return p
}

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

// beyond says by what a method that is not within a need's limits goes beyond them.
func beyond(m knownwater.Method, n knownwater.Need) string {
	if n.MinutesAtMost > 0 && m.Minutes > n.MinutesAtMost {
		return fmt.Sprintf("takes %s minutes; you asked for %s", brief(m.Minutes), brief(n.MinutesAtMost))
	}
	return "costs more than the " + brief(n.MoneyAYear) + " a year that you gave"
}

// sentence is the need's one line.
func (p pick) sentence(all []used) string {
	switch {
	case p.use >= 0:
		return "Use " + p.named(all) + "."
	case len(p.held) > 0:
		return "Answer the question first."
	case len(p.untried) > 0 && len(p.untried) == len(all):
		return "Not tried: no known lies there."
	case len(p.over) > 0:
		return "Nothing within your limits."
	case len(p.undecided) > 0:
		return "Nothing is shown to do it yet."
	}
	return "Nothing here does it."
}

// named is the chosen method with what must be done to its readings.
func (p pick) named(all []used) string {
	u := all[p.use]
	s := u.name
	switch n := p.wanted; {
	case u.over > 0 && n.Low >= u.over:
		s += ", diluted ×" + figureOf(u.factor, "")
	case u.over > 0 && n.High > u.over:
		s += ", diluted ×" + figureOf(u.factor, "") + " from " + figureOf(u.over, "") + " up"
	}
	if p.corrected {
		s += ", corrected by its record"
	}
	return s
}

// more is what else is worth knowing beside the choice.
func (p pick) more(all []used) string {
	names := func(list []int) string {
		out := make([]string, len(list))
		for i, j := range list {
			out[i] = all[j].name
		}
		return and(out)
	}
	var parts []string
	if others := slices.DeleteFunc(slices.Clone(p.fit), func(i int) bool { return i == p.use }); len(others) > 0 {
		parts = append(parts, names(others)+" would do too.")
	}
	if others := slices.DeleteFunc(slices.Clone(p.corr), func(i int) bool { return i == p.use }); len(others) > 0 {
		parts = append(parts, names(others)+" would do once corrected.")
	}
	for _, i := range p.over {
		parts = append(parts, all[i].name+" would, but "+beyond(all[i].method, p.wanted)+".")
	}
	return strings.Join(parts, " ")
}

// headOf is the verdict of the whole trial: what to use, and what nothing can do.
func headOf(picks []pick, all []used, open int) []string {
	if len(picks) == 0 {
		return []string{"No need was given, so nothing is judged fit or not fit."}
	}
	var out []string
	held := 0
	byMethod := map[string][]string{}
	var order []string
	var none, over []string
	for _, p := range picks {
		switch {
		case p.use >= 0:
			name := p.named(all)
			if byMethod[name] == nil {
				order = append(order, name)
			}
			byMethod[name] = append(byMethod[name], "“"+clean(p.need)+"”")
		case len(p.held) > 0:
			held++
		case len(p.over) > 0 && len(picks) > 1:
			over = append(over, "For “"+clean(p.need)+"” "+all[p.over[0]].name+" would do, but "+beyond(all[p.over[0]].method, p.wanted)+".")
		default:
			none = append(none, "“"+clean(p.need)+"”")
		}
	}
	if held > 0 {
		out = append(out, "Answer "+verb(open, "the open question", "the open questions")+" first.")
	}
	for _, name := range order {
		switch {
		case len(picks) == 1, len(order) == 1 && len(none) == 0 && held == 0:
			out = append(out, "Use "+name+".")
		case len(byMethod[name]) > 2:
			out = append(out, fmt.Sprintf("Use %s for %s of the needs.", name, numeral(len(byMethod[name]))))
		default:
			out = append(out, "Use "+name+" for "+and(byMethod[name])+".")
		}
	}
	if len(over) > 2 {
		over = []string{fmt.Sprintf("For %s of the needs there is something, but beyond your limits.", numeral(len(over)))}
	}
	out = append(out, over...)
	switch {
	case len(none) == 1 && len(picks) == 1:
		out = append(out, picks[0].nothing(all))
	case len(none) == len(picks):
		out = append(out, "Nothing here is shown to meet any of the needs yet.")
	case len(none) > 2:
		out = append(out, fmt.Sprintf("Nothing is shown to do the other %s.", numeral(len(none))))
	case len(none) > 0:
		out = append(out, "Nothing is shown to do "+and(none)+".")
	}
	return out
}

// nothing is the verdict where the only need finds no method.
func (p pick) nothing(all []used) string {
	switch {
	case len(p.over) > 0:
		return fmt.Sprintf("%s would do for “%s”, but %s.", all[p.over[0]].name, clean(p.need), beyond(all[p.over[0]].method, p.wanted))
	case len(p.undecided) > 0 && len(all) == 1:
		return fmt.Sprintf("Whether %s will do for “%s” is undecided.", all[0].name, clean(p.need))
	case len(p.undecided) > 0:
		return fmt.Sprintf("Nothing is shown to do for “%s” yet.", clean(p.need))
	case len(p.untried) > 0:
		return fmt.Sprintf("“%s” was not tried: no known lies in its range.", clean(p.need))
	case len(all) == 1:
		return fmt.Sprintf("%s will not do for “%s”.", all[0].name, clean(p.need))
	}
	return fmt.Sprintf("Nothing here will do for “%s”.", clean(p.need))
}
