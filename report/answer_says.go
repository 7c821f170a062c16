package report

import (
	"fmt"
	"html/template"
	"math"
	"sort"
	"strings"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// scaleSpan is the scale of a short row of read-backs.
func scaleSpan(backs []assess.ReadBack) chart.Scale {
	var ends []float64
	for _, r := range backs {
		for _, n := range []num.Number{r.Low, r.High} {
			if n.OK() {
				ends = append(ends, float64(n))
			}
		}
	}
	s := chart.ScaleFor(ends...)
	s.Top *= 1.15
	return s
}

// saysView is what a few numbers of one method say.
type saysView struct {
	Name string
	Rows []saysRow
	More string // address of all of them
}

type saysRow struct {
	Reading, Says string
	SVG           template.HTML
}

// mostSays is how many readings the first screen turns round.
const mostSays = 5

// newSays takes the chosen method's readings, spread over what they say; the
// first method's where none is chosen.
func newSays(l speech, f assess.Findings, picks []pick, all []used, t knownwater.Trial, to unit.Turn) *saysView {
	scale := clean(to.To.String())
	if len(all) == 0 {
		return nil
	}
	i, need := 0, knownwater.Need{}
	for _, p := range picks {
		if p.use >= 0 {
			i, need = p.use, p.wanted
			break
		}
	}
	var backs []assess.ReadBack
	for _, m := range all[i].branches { // the same number means another thing once diluted
		backs = append(backs, all[i].asUsed(m)...)
	}
	backs = spreadOut(backs, mostSays)
	if len(backs) == 0 {
		return nil
	}
	backs, need = turnedBacks(backs, to.K), need.Times(to.K)
	out := &saysView{Name: all[i].name}
	s := scaleSpan(backs)
	for j, r := range backs {
		row := chart.Row{ID: fmt.Sprintf("says-%d", j), Scale: &s, Slim: true, Bars: setBars(r)}
		if need.High > need.Low {
			row.Need = &chart.Stretch{Low: need.Low, High: need.High}
		}
		words := strings.TrimSuffix(strings.Replace(l.readBackWords(r, scale), " "+scale, "", 1), ", "+l.Say("best {1}", bestOf(r)))
		out.Rows = append(out.Rows, saysRow{clean(r.Reading), words, figure(row.SVG())})
	}
	return out
}

// asUsed are the readings of a branch that its procedure leads to, those of a
// dilution marked with it.
func (u used) asUsed(m assess.MethodFinding) []assess.ReadBack {
	if u.over == 0 {
		return m.ReadBack
	}
	var out []assess.ReadBack
	for _, r := range m.ReadBack {
		switch v := float64(r.Level); {
		case m.Dilution == 1 && v > u.over, m.Dilution != 1 && v < u.over:
			continue
		case m.Dilution != 1:
			r.Reading += " ×" + figureOf(m.Dilution, "")
		}
		out = append(out, r)
	}
	return out
}

func bestOf(r assess.ReadBack) string { return number(r.Level, r.Low, r.High).Est }

// spreadOut are readings that say something, evenly over what they say (in
// ratios, small ones alike).
func spreadOut(all []assess.ReadBack, most int) []assess.ReadBack {
	type placed struct {
		r  assess.ReadBack
		at float64
	}
	var list []placed
	for _, r := range all {
		if r.Open == nil && r.Low.OK() && r.High.OK() && r.High > r.Low {
			list = append(list, placed{r, math.Asinh(float64(r.Low+r.High) / 2)})
		}
	}
	if len(list) == 0 {
		return nil
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].at < list[j].at })
	first, last := list[0].at, list[len(list)-1].at
	var out []assess.ReadBack
	next := 0
	for k := range most {
		want := first + (last-first)*(float64(k)+.5)/float64(most)
		best := -1
		for i := next; i < len(list); i++ {
			if best < 0 || math.Abs(list[i].at-want) < math.Abs(list[best].at-want) {
				best = i
			}
		}
		if best < 0 {
			break
		}
		out, next = append(out, list[best].r), best+1
	}
	return out
}
