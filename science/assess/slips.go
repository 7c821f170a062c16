package assess

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"knownwater/science/record"
	"knownwater/science/unit"
)

// Slips are asked about, never corrected. The questions come in this order:
// another basis, a dilution forgotten or applied twice, two vials swapped.

// near says whether a ratio is as good as a factor: within 12 %, about the
// scatter of a careful colour chart.
func near(ratio, factor float64) bool { return math.Abs(math.Log(ratio/factor)) < 0.12 }

func (st *study) slips() {
	if st.rec == nil {
		return
	}
	whole, parts := st.recoveries()
	st.askBasis(whole, parts)
	st.askDilution(whole, parts)
	st.askSwap()
}

// recoveries are the slope as a share of 1 and each level's reading as a share
// of what the other levels let expect (the response fitted without it).
func (st *study) recoveries() (whole float64, parts map[int]float64) {
	whole, parts = float64(st.finding.Line.Slope), map[int]float64{}
	for i, l := range st.levels {
		if i == 0 && l.value == 0 || l.value == 0 || len(st.levels) < 4 {
			continue
		}
		t, ok := st.turnWithout(i)
		if !ok {
			continue
		}
		if expected := t.at(l.value); expected > 0 && st.know.Mean[i] > 0 {
			parts[i] = st.know.Mean[i] / expected
		}
	}
	return whole, parts
}

// otherBases are the factors that counting on another basis brings, by name.
func (st *study) otherBases() map[string]float64 {
	out := map[string]float64{}
	here := st.scale
	for _, b := range unit.Bases(here.Analyte) {
		other, err := unit.Parse(here.Analyte, here.Unit, b)
		if err != nil || other.Basis == here.Basis {
			continue
		}
		if f, err := unit.Factor(here, other, unit.StandardSea); err == nil && math.Abs(math.Log(f)) > 0.3 {
			out[b] = f
		}
	}
	return out
}

func (st *study) askBasis(whole float64, parts map[int]float64) {
	for name, f := range st.otherBases() {
		for _, factor := range []float64{f, 1 / f} {
			verb := "as " + name + " while the levels are as " + st.scale.Basis
			if factor == 1/f {
				verb = "as " + st.scale.Basis + " while the levels are as " + name
			}
			if near(whole, factor) {
				st.slip("basis", "Were the readings "+verb+"?",
					fmt.Sprintf("all levels read about %s of the known; %s is the factor between the two", short(whole), short(factor)))
				return
			}
			for _, i := range sortedKeys(parts) {
				if near(parts[i], factor) && st.standsOut(i) {
					st.slip("basis", fmt.Sprintf("Was level %s read or written %s?", short(st.levels[i].value), verb),
						fmt.Sprintf("it reads %s of what the other levels let expect; %s is the factor between the two", short(parts[i]), short(factor)))
				}
			}
		}
	}
}

func (st *study) askDilution(whole float64, parts map[int]float64) {
	d := st.dilution
	if d != 1 && near(whole, 1/d) {
		st.slip("dilution", fmt.Sprintf("Was the sample really diluted, or were the readings already multiplied by %s?", short(d)),
			fmt.Sprintf("all levels read about %s of the known, which is 1/%s", short(whole), short(d)))
		return
	}
	if d != 1 && near(whole, d) {
		st.slip("dilution", fmt.Sprintf("Were the readings multiplied by %s twice?", short(d)),
			fmt.Sprintf("all levels read about %s times the known", short(whole)))
		return
	}
	factor := d
	if factor == 1 {
		factor = st.method.DilutionFactor
	}
	if factor == 0 || factor == 1 {
		return
	}
	for _, i := range sortedKeys(parts) {
		for _, f := range []float64{1 / factor, factor} {
			if near(parts[i], f) && st.standsOut(i) {
				st.slip("dilution", fmt.Sprintf("Was a dilution by %s forgotten, or counted twice, at level %s?", short(factor), short(st.levels[i].value)),
					fmt.Sprintf("it reads %s of what the other levels let expect", short(parts[i])))
			}
		}
	}
}

// standsOut says whether a level's reading is outside what a single reading
// there could well be, by the response fitted without it.
func (st *study) standsOut(i int) bool {
	t, ok := st.turnWithout(i)
	if !ok {
		return false
	}
	expected := t.at(st.levels[i].value)
	return math.Abs(st.know.Mean[i]-expected) > 3*st.typicalSD(expected)
}

func (st *study) slip(kind, question, evidence string) {
	st.finding.Slips = append(st.finding.Slips, Slip{Kind: kind, Method: st.name(), Question: question, Evidence: evidence})
}

func sortedKeys(m map[int]float64) []int {
	keys := make([]int, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Ints(keys)
	return keys
}

// vialReading is one vial's middle reading.
type vialReading struct {
	name, session string
	level         int
	y             float64
}

// mostVials bounds the search for swapped vials, which looks at every pair.
const mostVials = 600

// askSwap looks for two vials of different levels, tested in one session, each
// of which reads like the other's level and not like its own. Each level is
// judged by its other vials (median), with the scatter of vials within levels
// taken robustly (1.483·MAD of the relative residuals).
func (st *study) askSwap() {
	vials := st.vialReadings()
	if len(vials) > mostVials || len(st.levels) < 2 {
		return
	}
	byLevel := map[int][]float64{}
	for _, v := range vials {
		byLevel[v.level] = append(byLevel[v.level], v.y)
	}
	centre := map[int]float64{}
	for i, ys := range byLevel {
		if len(ys) < 3 { // two vials alone do not say which of them is the odd one
			continue
		}
		centre[i] = quantile(ys, 0.5)
	}
	scatter := st.vialScatter(vials, centre)
	for a := range vials {
		for b := a + 1; b < len(vials); b++ {
			va, vb := vials[a], vials[b]
			ca, okA := centre[va.level]
			cb, okB := centre[vb.level]
			if !okA || !okB || va.level == vb.level || va.session != vb.session {
				continue
			}
			sa, sb := scatter(ca), scatter(cb)
			if math.Abs(ca-cb) < 3.5*math.Max(sa, sb) {
				continue
			}
			za, zb := math.Abs(va.y-ca)/sa, math.Abs(vb.y-cb)/sb
			xa, xb := (va.y-cb)/sb, (vb.y-ca)/sa
			if own := za*za + zb*zb; math.Min(za, zb) > 3 && own > 40 && xa*xa+xb*xb < own/6 {
				st.slip("swap", fmt.Sprintf("Were vials %s (level %s) and %s (level %s) swapped?", va.name, short(st.levels[va.level].value), vb.name, short(st.levels[vb.level].value)),
					fmt.Sprintf("they read %s and %s; the other vials of those levels read %s and %s", short(va.y), short(vb.y), short(ca), short(cb)))
			}
		}
	}
}

// vialScatter is the scatter of vials about their level's centre, as a
// function of the centre: a floor from the lower half of the levels and a
// proportional part from the upper half.
func (st *study) vialScatter(vials []vialReading, centre map[int]float64) func(y float64) float64 {
	var centres, low, high []float64
	for _, c := range centre {
		centres = append(centres, c)
	}
	half := quantile(append(centres, 0), 0.5)
	for _, v := range vials {
		switch c, ok := centre[v.level]; {
		case !ok:
		case c <= half:
			low = append(low, math.Abs(v.y-c))
		default:
			high = append(high, math.Abs(v.y-c)/c)
		}
	}
	floor := 1.483 * quantile(append(low, 0), 0.5)
	share := math.Max(0.05, 1.483*quantile(append(high, 0), 0.5))
	return func(y float64) float64 {
		return math.Max(math.Hypot(floor, share*math.Abs(y)), st.rec.Shown.StepAt(y)/2)
	}
}

func (st *study) vialReadings() []vialReading {
	type key struct{ vial, session string }
	sums := map[key]*vialReading{}
	counts := map[key]float64{}
	for _, o := range st.obs {
		if o.Vial == "" {
			continue
		}
		k := key{vialKey(o), o.Session}
		v := sums[k]
		if v == nil {
			i := slices.IndexFunc(st.levels, func(l level) bool { return l.value == o.Level })
			v = &vialReading{name: o.Vial, session: o.Session, level: i}
			sums[k] = v
		}
		on := o.On()
		v.y += float64(o.Count) * middle([2]float64{on.Low, on.High})
		counts[k] += float64(o.Count)
	}
	out := make([]vialReading, 0, len(sums))
	for k, v := range sums {
		v.y /= counts[k]
		out = append(out, *v)
	}
	sort.Slice(out, func(i, j int) bool {
		return out[i].level < out[j].level || out[i].level == out[j].level && out[i].name < out[j].name
	})
	return out
}

// oddLevels asks about a known that several methods read off in the same
// direction, each beyond its own doubt: then the known is the likelier culprit.
func oddLevels(studies []*study) []Slip {
	type vote struct {
		up, down, all int
		shift         []float64
	}
	votes := map[float64]*vote{}
	for _, st := range studies {
		if st.rec == nil || st.post == nil {
			continue
		}
		for i := 1; i < len(st.levels)-1; i++ {
			t, ok := st.turnWithout(i)
			if !ok {
				continue
			}
			c := st.levels[i].value
			if votes[c] == nil {
				votes[c] = &vote{}
			}
			v := votes[c]
			v.all++
			draws := make([]float64, 0, len(st.know.Draw))
			for _, d := range record.Thin(len(st.know.Draw)) {
				draws = append(draws, record.InvertOn(t.grid, t.mean, st.know.Draw[d][i])-c)
			}
			low, high := quantile(draws, 0.005), quantile(draws, 0.995)
			v.shift = append(v.shift, quantile(draws, 0.5))
			if low > 0.03*c {
				v.up++
			}
			if high < -0.03*c {
				v.down++
			}
		}
	}
	var slips []Slip
	levels := make([]float64, 0, len(votes))
	for c := range votes {
		levels = append(levels, c)
	}
	sort.Float64s(levels)
	for _, c := range levels {
		v := votes[c]
		if n := max(v.up, v.down); n >= 2 && min(v.up, v.down) == 0 && 2*n > v.all {
			slips = append(slips, Slip{Kind: "level",
				Question: fmt.Sprintf("Is the known at %s really %s?", short(c), short(c)),
				Evidence: fmt.Sprintf("%d of %d methods read it off in the same direction, as if it were %s", n, v.all, short(c+quantile(v.shift, 0.5)))})
		}
	}
	return slips
}

// compareBranches looks where two dilutions of one method meet, and says in
// both findings whether they agree there.
func compareBranches(studies []*study, findings []MethodFinding) {
	for i, a := range studies {
		for j := i + 1; j < len(studies); j++ {
			b := studies[j]
			if a.method.Name != b.method.Name || a.matrix != b.matrix || a.dilution == b.dilution {
				continue
			}
			for ia, l := range a.levels {
				ib := slices.IndexFunc(b.levels, func(m level) bool { return m.value == l.value })
				if ib < 0 || l.value == 0 {
					continue
				}
				text := joinAt(a, b, ia, ib)
				findings[i].Notes = append(findings[i].Notes, text)
				findings[j].Notes = append(findings[j].Notes, text)
			}
		}
	}
}

// joinAt compares two branches at a level that both were tried at.
func joinAt(a, b *study, ia, ib int) string {
	c := short(a.levels[ia].value)
	branch := func(s *study) string {
		if s.dilution == 1 {
			return "undiluted"
		}
		return "diluted ×" + short(s.dilution)
	}
	ma, mb := a.centreAt(ia), b.centreAt(ib)
	says := fmt.Sprintf("where the branches meet, at %s, %s reads %s and %s reads %s", c, branch(a), short(ma), branch(b), short(mb))
	if a.post == nil || b.post == nil {
		return fmt.Sprintf("%s: %.0f %% apart, and without repeats nothing says how much of that is chance; the branches disagree as they stand", says, 100*math.Abs(mb/ma-1))
	}
	ga, gb := a.groupAt(ia), b.groupAt(ib)
	n := min(a.post.Draws(), b.post.Draws())
	ratio := make([]float64, n)
	for k := range ratio {
		ratio[k] = 100 * (b.post.Mean[gb][k]/a.post.Mean[ga][k] - 1)
	}
	low, high := quantile(ratio, 0.025), quantile(ratio, 0.975)
	word := "that could be chance, which does not make them equal"
	if low > 0 || high < 0 {
		word = "the branches disagree"
	}
	return fmt.Sprintf("%s: %+.0f %% (%+.0f to %+.0f); %s", says, quantile(ratio, 0.5), low, high, word)
}

func (st *study) centreAt(i int) float64 {
	if len(st.know.Mean) > i {
		return st.know.Mean[i]
	}
	return middle(st.groups[st.groupAt(i)].interval)
}
