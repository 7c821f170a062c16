package report

import (
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/assess"
)

// pick is the method to use for a need: an index, or −1.
type pick struct {
	speech
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
func (l speech) pickFor(name string, all []used, t knownwater.Trial) pick {
	p := pick{speech: l, need: name, use: -1}
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
func (l speech) beyond(u used, n knownwater.Need) string {
	_, most := n.TestsAnAnswer(u.over)
	if minutes := u.method.Minutes * most; n.MinutesAtMost > 0 && minutes > n.MinutesAtMost {
		return l.Say("takes {1} minutes; you asked for {2}", brief(minutes), brief(n.MinutesAtMost))
	}
	return l.Say("costs more than the {1} a year that you gave", brief(n.MoneyAYear))
}

// sentence is the need's one line.
func (p pick) sentence(all []used) string {
	switch {
	case p.use >= 0:
		return p.Say("Use {1}.", p.named(all))
	case len(p.held) > 0:
		return p.Say("Answer the question first.")
	case len(p.untried) > 0 && len(p.untried) == len(all):
		return p.Say("Not tried: no known lies there.")
	case len(p.over) > 0:
		return p.Say("Nothing within your limits.")
	case len(p.undecided) > 0:
		return p.Say("No method is shown to be good enough yet.")
	}
	return p.Say("Nothing here does it.")
}

// named is the chosen method with what must be done to its readings.
func (p pick) named(all []used) string {
	u := all[p.use]
	s := u.name
	switch n := p.wanted; {
	case u.over > 0 && n.Low >= u.over:
		s += ", " + p.Say("diluted ×{1}", figureOf(u.factor, ""))
	case u.over > 0 && n.High > u.over:
		s += ", " + p.Say("diluted ×{1} from {2} up", figureOf(u.factor, ""), figureOf(u.over, ""))
	}
	if p.corrected {
		s += ", " + p.Say("corrected by its record")
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
		return p.and(out)
	}
	var parts []string
	if others := slices.DeleteFunc(slices.Clone(p.fit), func(i int) bool { return i == p.use }); len(others) > 0 {
		parts = append(parts, p.Say("{1} would do too.", names(others)))
	}
	if others := slices.DeleteFunc(slices.Clone(p.corr), func(i int) bool { return i == p.use }); len(others) > 0 {
		parts = append(parts, p.Say("{1} would do once corrected.", names(others)))
	}
	for _, i := range p.over {
		parts = append(parts, p.Say("{1} would, but {2}.", all[i].name, p.beyond(all[i], p.wanted)))
	}
	return strings.Join(parts, " ")
}

// headOf is the verdict of the whole trial: what to use, and what nothing can do.
func (l speech) headOf(picks []pick, all []used, open int) []string {
	if len(picks) == 0 {
		return []string{l.Say("No need was given, so nothing is judged fit or not fit.")}
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
			byMethod[name] = append(byMethod[name], l.Say("“{1}”", clean(p.need)))
		case len(p.held) > 0:
			held++
		case len(p.over) > 0 && len(picks) > 1:
			over = append(over, l.Say("For “{1}” {2} would do, but {3}.", clean(p.need), all[p.over[0]].name, l.beyond(all[p.over[0]], p.wanted)))
		default:
			none = append(none, l.Say("“{1}”", clean(p.need)))
		}
	}
	if held > 0 {
		out = append(out, verb(open, l.Say("Answer the open question first."), l.Say("Answer the open questions first.")))
	}
	for _, name := range order {
		switch {
		case len(picks) == 1, len(order) == 1 && len(none) == 0 && held == 0:
			out = append(out, l.Say("Use {1}.", name))
		case len(byMethod[name]) > 2:
			out = append(out, l.Say("Use {1} for {2} of the needs.", name, l.numeral(len(byMethod[name]))))
		default:
			out = append(out, l.Say("Use {1} for {2}.", name, l.and(byMethod[name])))
		}
	}
	if len(over) > 2 {
		over = []string{l.Say("For {1} of the needs there is something, but beyond your limits.", l.numeral(len(over)))}
	}
	out = append(out, over...)
	switch {
	case len(none) == 1 && len(picks) == 1:
		out = append(out, picks[0].nothing(all))
	case len(none) == len(picks):
		out = append(out, l.Say("Nothing here is shown to meet any of the needs yet."))
	case len(none) > 2:
		out = append(out, l.Say("No method is shown to be good enough for the other {1}.", l.numeral(len(none))))
	case len(none) > 0:
		out = append(out, l.Say("No method is shown to be good enough for {1}.", l.and(none)))
	}
	return out
}

// nothing is the verdict where the only need finds no method.
func (p pick) nothing(all []used) string {
	switch {
	case len(p.over) > 0:
		return p.Say("{1} would do for “{2}”, but {3}.", all[p.over[0]].name, clean(p.need), p.beyond(all[p.over[0]], p.wanted))
	case len(p.undecided) > 0 && len(all) == 1:
		return p.Say("Whether {1} will do for “{2}” is undecided.", all[0].name, clean(p.need))
	case len(p.undecided) > 0:
		return p.Say("No method is shown to be good enough for “{1}” yet.", clean(p.need))
	case len(p.untried) > 0:
		return p.Say("“{1}” was not tried: no known lies in its range.", clean(p.need))
	case len(all) == 1:
		return p.Say("{1} will not do for “{2}”.", all[0].name, clean(p.need))
	}
	return p.Say("Nothing here will do for “{1}”.", clean(p.need))
}
