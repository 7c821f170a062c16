package report

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/reading"
	"knownwater/science/unit"
	"knownwater/wording"
)

// untriedOf says of what the trial is silent.
func (l speech) untriedOf(f assess.Findings, t knownwater.Trial, to unit.Turn) []pointView {
	var out []pointView
	add := func(head, say string) { out = append(out, pointView{head, say}) }
	matrix, reader, lots := set{}, set{}, map[string]set{}
	eyes := false
	kinds := map[string]knownwater.Kind{}
	for _, m := range t.Methods {
		kinds[m.Name] = m.Kind
	}
	for _, o := range t.Observations {
		matrix.add(o.Matrix)
		if reading.Of(kinds[o.Method]).ByEye {
			eyes = true
			reader.add(o.Reader)
		}
		if lots[o.Method] == nil {
			lots[o.Method] = set{}
		}
		lots[o.Method].add(o.Lot)
	}
	water := l.Say("salinity {1}", typed(f.Salinity, 0))
	if s := l.listOr(matrix, ""); s != "" {
		water = s
	}
	add(l.Say("Your tank’s water."), l.Say("All knowns were {1}.", water))
	noted, several := 0, 0
	for _, l := range lots {
		if len(l) > 0 {
			noted++
		}
		if len(l) > 1 {
			several++
		}
	}
	switch {
	case len(lots) == 0:
	case noted == 0:
		add(l.Say("Another lot."), l.Say("No lot of reagent was noted."))
	case several == 0:
		add(l.Say("Another lot"), l.Say("of reagent than the one of each method here."))
	case several < len(lots):
		add(l.Say("Another lot"), l.Say("of {1}.", l.and(onlyOneLot(lots))))
	}
	switch {
	case !eyes:
	case len(reader) == 0:
		add(l.Say("Other eyes."), l.Say("No reader was noted."))
	default:
		add(l.Say("Other eyes"), l.Say("than {1}.", l.and(l.cleanNames(keysOf(reader)))))
	}
	for _, m := range f.Methods {
		if n, left := m.NeverDiluted(); left {
			as := told{n, l}
			over, factor := l.figureOf(at(as, "over", 0), ""), l.figureOf(at(as, "factor", 0), "")
			add(l.Say("{1} diluted ×{2}", l.nameOf(m), factor), l.Say("where it reads above {1}, as its sheet says.", over))
		}
	}
	if low, high, n := knownRange(f); n > 1 {
		scale := clean(to.To.String())
		low, high = low*to.K, high*to.K
		if low > 0 {
			add(l.Say("Below {1} and above {2}", chosenText(low, to), chosenText(high, to)), scale+".")
		} else {
			add(l.Say("Above {1}", chosenText(high, to)), scale+".")
		}
	}
	return out
}

func onlyOneLot(lots map[string]set) []string {
	var out []string
	for _, m := range keysOf(lots) {
		if len(lots[m]) < 2 {
			out = append(out, clean(m))
		}
	}
	return out
}

var ownWater = wording.Key("Try your own water:")

// nextOf is what to do with the answer.
func (l speech) nextOf(a answer, picks []pick, all []used) []pointView {
	var out []pointView
	n := 0
	for _, q := range a.Open {
		if !q.Water {
			n++
		}
	}
	if n > 0 {
		out = append(out, pointView{verb(n, l.Say("Settle the open question."), l.Say("Settle the open questions.")), ""})
	}
	var uses []string
	for _, p := range picks {
		if p.use >= 0 && !slices.Contains(uses, all[p.use].name) {
			uses = append(uses, all[p.use].name)
		}
	}
	if len(uses) > 0 {
		out = append(out, pointView{l.Say("Use {1}:", l.and(uses)), l.Say("this record turns every later reading round.")})
	}
	for _, p := range picks {
		if p.use >= 0 {
			continue
		}
		if i, n := cheapest(p, all); i >= 0 && n <= mostNext {
			out = append(out, pointView{l.Say("For “{1}”:", clean(p.need)),
				l.Say("{1} of {2} would settle it in 4 of 5 cases.", l.things(n, "more test"), all[i].name)})
		} else if n := len(p.untried); n > 0 && n == len(all) && p.wanted.High > 0 {
			out = append(out, pointView{l.Say("For “{1}”:", clean(p.need)),
				l.Say("make knowns from {1} to {2} and test them.", typed(p.wanted.Low, 0), typed(p.wanted.High, 0))})
		}
	}
	if len(picks) == 0 {
		out = append(out, pointView{l.Say("State a need:"), l.Say("the range, and the largest error that a single result may have. The same readings are then judged.")})
	}
	if len(uses) > 0 {
		out = append(out, pointView{l.Say(ownWater), l.Say("a few vials of it, known amounts added.")})
	}
	return out
}

// mostNext is how many more tests are still a next step: an evening or two. What more would
// do stands beside the method.
const mostNext = 60

// cheapest is the undecided method that fewest more tests would settle.
func cheapest(p pick, all []used) (best, tests int) {
	best = -1
	for _, i := range p.undecided {
		n, _ := all[i].need(p.need)
		if !n.MoreTests.OK() {
			continue
		}
		if k := int(math.Ceil(float64(n.MoreTests))); best < 0 || k < tests {
			best, tests = i, k
		}
	}
	return best, tests
}

// cleanNames are names as they may stand on a page, a few of them.
func (l speech) cleanNames(names []string) []string {
	const most = 8
	var out []string
	for _, n := range names[:min(len(names), most)] {
		out = append(out, cut(clean(n), 40))
	}
	if n := len(names) - most; n > 0 {
		out = append(out, l.things(n, "other"))
	}
	return out
}
