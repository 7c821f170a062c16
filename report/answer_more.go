package report

import (
	"fmt"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/reading"
)

// untriedOf says of what the trial is silent.
func untriedOf(f assess.Findings, t knownwater.Trial, scale string) []pointView {
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
	water := fmt.Sprintf("salinity %s", typed(f.Salinity, 0))
	if s := listOr(matrix, ""); s != "" {
		water = s
	}
	add("Your tank’s water.", "All knowns were "+water+".")
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
		add("Another lot.", "No lot of reagent was noted.")
	case several == 0:
		add("Another lot", "of reagent than the one of each method here.")
	case several < len(lots):
		add("Another lot", "of "+and(onlyOneLot(lots))+".")
	}
	switch {
	case !eyes:
	case len(reader) == 0:
		add("Other eyes.", "No reader was noted.")
	default:
		add("Other eyes", "than "+and(cleanNames(keysOf(reader)))+".")
	}
	if low, high, n := knownRange(f); n > 1 {
		if low > 0 {
			add(fmt.Sprintf("Below %s and above %s", typed(low, 0), typed(high, 0)), scale+".")
		} else {
			add("Above "+typed(high, 0), scale+".")
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

const ownWater = "Try your own water:"

// nextOf is what to do with the answer.
func nextOf(a answer, picks []pick, all []used) []pointView {
	var out []pointView
	n := 0
	for _, q := range a.Open {
		if !q.Water {
			n++
		}
	}
	if n > 0 {
		out = append(out, pointView{"Settle " + verb(n, "the open question", "the open questions") + ".", ""})
	}
	var uses []string
	for _, p := range picks {
		if p.use >= 0 && !slices.Contains(uses, all[p.use].name) {
			uses = append(uses, all[p.use].name)
		}
	}
	if len(uses) > 0 {
		out = append(out, pointView{"Use " + and(uses) + ":", "this record turns every later reading round."})
	}
	for _, p := range picks {
		if p.use >= 0 {
			continue
		}
		if i, n := cheapest(p, all); i >= 0 {
			out = append(out, pointView{fmt.Sprintf("For “%s”:", clean(p.need)),
				fmt.Sprintf("%s of %s would settle it in 4 of 5 cases.", things(n, "more test"), all[i].name)})
		} else if n := len(p.untried); n > 0 && n == len(all) && p.wanted.High > 0 {
			out = append(out, pointView{fmt.Sprintf("For “%s”:", clean(p.need)),
				fmt.Sprintf("make knowns from %s to %s and test them.", typed(p.wanted.Low, 0), typed(p.wanted.High, 0))})
		}
	}
	if len(picks) == 0 {
		out = append(out, pointView{"State a need:", "the range, and the largest error that a single result may have. The same readings are then judged."})
	}
	if len(uses) > 0 {
		out = append(out, pointView{ownWater, "a few vials of it, known amounts added."})
	}
	return out
}

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
func cleanNames(names []string) []string {
	const most = 8
	var out []string
	for _, n := range names[:min(len(names), most)] {
		out = append(out, cut(clean(n), 40))
	}
	if n := len(names) - most; n > 0 {
		out = append(out, things(n, "other"))
	}
	return out
}
