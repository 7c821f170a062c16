package known

import (
	"fmt"
	"math"
	"sort"
)

// choice is a set of intermediates with a way for every target.
type choice struct {
	score float64
	from  []int // source of each target
	ways  []way
	uses  []int // intermediates, parents first
}

// combo is a set of intermediates and the score if no bottle ran short.
type combo struct {
	score   float64
	members []int
}

// mostCombos are tried in turn where the best ones run short of something.
const mostCombos = 200

// usableShare of an intermediate can be poured out of its flask.
const usableShare = 0.95

// field is what a search goes over: the sources so far, the stock first, and
// the best score of each for each target.
type field struct {
	sources []source
	targets []float64
	scores  [][]float64 // as many rows as have been scored
	least   [][]float64 // least mL of the source that makes the target, row by row
}

// score fills in the scores of new sources, +∞ where a source cannot make a
// target.
func (p *planner) score(f *field) {
	for k := len(f.scores); k < len(f.sources); k++ {
		row, least := make([]float64, len(f.targets)), make([]float64, len(f.targets))
		for i, target := range f.targets {
			row[i], least[i] = math.Inf(1), math.Inf(1)
			for _, w := range p.ways(&f.sources[k], target) {
				row[i], least[i] = math.Min(row[i], w.score), math.Min(least[i], w.uses)
			}
		}
		f.scores, f.least = append(f.scores, row), append(f.least, least)
	}
}

// choose finds the best set of intermediates and the way of every target; nil
// if there is none.
func (p *planner) choose(f *field) *choice {
	p.score(f)
	var best *choice
	cheapest, ample := p.combos(f)
	for _, list := range [][]combo{ample, cheapest} {
		for _, c := range list {
			if best != nil && c.score >= best.score {
				break
			}
			if found := p.assign(f.sources, f.targets, c); found != nil && (best == nil || found.score < best.score) {
				best = found
			}
		}
	}
	return best
}

// combos are the best sets of intermediates within the limit, best first: by
// score alone, and among those whose bottles would last (see lasts).
func (p *planner) combos(f *field) (cheapest, ample []combo) {
	var all, lasting keeper
	keep := func(score float64, members []int) {
		all.add(score, members)
		if score < lasting.worst() && p.lasts(f, members) {
			lasting.add(score, members)
		}
	}
	keep(sum(f.scores[0]), nil)
	singles := make([]float64, len(f.sources))
	work := make([]float64, len(f.targets))
	for a := 1; a < len(f.sources); a++ {
		chain := lineage(f.sources, a)
		singles[a] = math.Inf(1)
		if len(chain) > p.limits.Intermediates {
			continue
		}
		price := 0.0
		copy(work, f.scores[0])
		for _, m := range chain {
			price += f.sources[m].price
			lower(work, f.scores[m])
		}
		singles[a] = sum(work) + price
		keep(singles[a], chain)
	}
	if p.limits.Intermediates > 1 {
		pairs(f, p.partners(f, singles), keep)
	}
	return all.kept, lasting.kept
}

// pairs keeps two intermediates, both from the stock.
func pairs(f *field, partners []int, keep func(float64, []int)) {
	work := make([]float64, len(f.targets))
	for i, a := range partners {
		copy(work, f.scores[0])
		lower(work, f.scores[a])
		for _, b := range partners[i+1:] {
			keep(sumOfLower(work, f.scores[b])+f.sources[a].price+f.sources[b].price, []int{a, b})
		}
	}
}

// Partners in pairs: the best for each target, and the best alone.
const (
	partnersEach  = 40
	partnersAlone = 100
)

// partners are the intermediates worth pairing. The members of the best pair
// are among the best for some target each, or they would not be in it; looking
// at the best 40 leaves room for what they cost.
func (p *planner) partners(f *field, singles []float64) []int {
	chosen := map[int]bool{}
	best := func(n int, score func(k int) float64) {
		var order []int
		for k := 1; k < len(f.sources); k++ {
			if f.sources[k].parent == 0 && !math.IsInf(score(k), 1) {
				order = append(order, k)
			}
		}
		sort.SliceStable(order, func(i, j int) bool { return score(order[i]) < score(order[j]) })
		for _, k := range order[:min(n, len(order))] {
			chosen[k] = true
		}
	}
	for i := range f.targets {
		best(partnersEach, func(k int) float64 { return f.scores[k][i] })
	}
	best(partnersAlone, func(k int) float64 { return singles[k] })
	var out []int
	for k := range chosen {
		out = append(out, k)
	}
	sort.Ints(out)
	return out
}

// lasts says whether the bottles last when each target is made in the most
// sparing way from the source that is best for it.
func (p *planner) lasts(f *field, members []int) bool {
	stock := f.sources[0].volume
	var left [3]float64
	for n, m := range members {
		left[n] = usableShare * f.sources[m].volume
	}
	for n, m := range members {
		if f.sources[m].parent == 0 {
			stock -= f.sources[m].takes
		} else {
			left[n-1] -= f.sources[m].takes // its parent stands before it
		}
	}
	for i := range f.targets {
		best, bottle := 0, &stock
		for n, m := range members {
			if f.scores[m][i] < f.scores[best][i] {
				best, bottle = m, &left[n]
			}
		}
		*bottle -= f.least[best][i]
	}
	return stock >= 0 && left[0] >= 0 && left[1] >= 0 && left[2] >= 0
}

// lineage are the intermediates that a source needs, itself last.
func lineage(sources []source, i int) []int {
	if i <= 0 {
		return nil
	}
	return append(lineage(sources, sources[i].parent), i)
}

func sum(xs []float64) float64 {
	s := 0.0
	for _, x := range xs {
		s += x
	}
	return s
}

func lower(a, b []float64) {
	for i := range a {
		a[i] = math.Min(a[i], b[i])
	}
}

func sumOfLower(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += math.Min(a[i], b[i])
	}
	return s
}

// keeper keeps the best mostCombos.
type keeper struct{ kept []combo }

func (k *keeper) worst() float64 {
	if len(k.kept) < mostCombos {
		return math.Inf(1)
	}
	return k.kept[len(k.kept)-1].score
}

func (k *keeper) add(score float64, members []int) {
	if math.IsInf(score, 1) || score >= k.worst() {
		return
	}
	i := sort.Search(len(k.kept), func(i int) bool { return k.kept[i].score > score })
	if len(k.kept) < mostCombos {
		k.kept = append(k.kept, combo{})
	}
	copy(k.kept[i+1:], k.kept[i:])
	k.kept[i] = combo{score, append([]int(nil), members...)}
}

// stores is what is left of everything while ways are chosen.
type stores struct {
	left   map[int]float64 // mL of each source
	matrix float64
	steps  int
}

func (p *planner) stores(sources []source, members []int) (stores, bool) {
	st := stores{left: map[int]float64{0: sources[0].volume}, matrix: math.Inf(1), steps: math.MaxInt32}
	if p.limits.MatrixLeft > 0 {
		st.matrix = p.limits.MatrixLeft
	}
	if p.limits.Steps > 0 {
		st.steps = p.limits.Steps
	}
	for _, m := range members {
		st.left[m] = usableShare * sources[m].volume
		st.left[sources[m].parent] -= sources[m].takes
		st.matrix -= sources[m].matrix
		st.steps -= sources[m].measured
	}
	ok := st.matrix >= 0 && st.steps >= 0
	for _, v := range st.left {
		ok = ok && v >= 0
	}
	return st, ok
}

// option is a way from one source.
type option struct {
	from int
	way  way
}

// mostNodes bounds the second search; with ten levels and ten ways each it is
// rarely reached, as the bound cuts early.
const mostNodes = 100_000

// assign picks a way for every target from the sources of a combo so that the
// score is least and nothing runs short; nil if that cannot be.
func (p *planner) assign(sources []source, targets []float64, c combo) *choice {
	st, ok := p.stores(sources, c.members)
	if !ok {
		return nil
	}
	price := 0.0
	for _, m := range c.members {
		price += sources[m].price
	}
	options := make([][]option, len(targets))
	for i, target := range targets {
		for _, k := range append([]int{0}, c.members...) {
			var mine []option
			for _, w := range p.ways(&sources[k], target) {
				mine = append(mine, option{k, w})
			}
			options[i] = append(options[i], frugal(mine)...)
		}
		if len(options[i]) == 0 {
			return nil
		}
		sort.SliceStable(options[i], func(a, b int) bool { return options[i][a].way.score < options[i][b].way.score })
	}
	s := assigner{options: options, stores: st, bestScore: math.Inf(1), picked: make([]int, len(targets))}
	s.rest = make([]float64, len(targets)+1)
	for i := len(targets) - 1; i >= 0; i-- {
		s.rest[i] = s.rest[i+1] + options[i][0].way.score
	}
	s.descend(0, 0)
	if s.best == nil {
		return nil
	}
	out := &choice{score: s.bestScore + price, uses: c.members}
	for i, k := range s.best {
		out.from = append(out.from, options[i][k].from)
		out.ways = append(out.ways, options[i][k].way)
	}
	return out
}

// frugal leaves out ways that another way of the same source beats in
// everything.
func frugal(ways []option) []option {
	sort.SliceStable(ways, func(a, b int) bool { return ways[a].way.score < ways[b].way.score })
	var out []option
	for _, w := range ways {
		beaten := false
		for _, o := range out {
			beaten = beaten || o.way.uses <= w.way.uses && o.way.matrix <= w.way.matrix && o.way.measured <= w.way.measured
		}
		if !beaten {
			out = append(out, w)
		}
	}
	return out
}

// assigner is the branch and bound over the ways of each target.
type assigner struct {
	options   [][]option
	rest      []float64 // least score from each target on
	stores    stores
	picked    []int
	best      []int
	bestScore float64
	nodes     int
}

func (s *assigner) descend(i int, score float64) {
	s.nodes++
	if s.nodes > mostNodes || score+s.rest[i] >= s.bestScore {
		return
	}
	if i == len(s.options) {
		s.bestScore, s.best = score, append(s.best[:0], s.picked...)
		return
	}
	for k := range s.options[i] {
		o := &s.options[i][k]
		if o.way.uses > s.stores.left[o.from] || o.way.matrix > s.stores.matrix || o.way.measured > s.stores.steps {
			continue
		}
		s.take(o, 1)
		s.picked[i] = k
		s.descend(i+1, score+o.way.score)
		s.take(o, -1)
	}
}

func (s *assigner) take(o *option, sign float64) {
	s.stores.left[o.from] -= sign * o.way.uses
	s.stores.matrix -= sign * o.way.matrix
	s.stores.steps -= int(sign) * o.way.measured
}

// plan writes a choice out as a preparation, intermediates first, standards
// rising, so that the weakest is made first.
func (p *planner) plan(sources []source, levels []float64, c *choice) *Plan {
	plan := &Plan{Stock: p.root.name, Score: c.score, Searched: p.searched}
	names := map[int]string{0: p.root.name}
	for n, k := range c.uses {
		names[k] = fmt.Sprintf("I%d", n+1)
		made := *sources[k].made
		made.Name, made.From = names[k], names[sources[k].parent]
		plan.Preparation = append(plan.Preparation, made)
	}
	next := 0
	for n, level := range levels {
		x := Solution{Name: fmt.Sprintf("S%d", n+1), Asked: level, Standard: true, In: InMatrix}
		if level > 0 {
			x.From, x.Take, x.Make = names[c.from[next]], p.measure(&c.ways[next].take), p.measure(&c.ways[next].whole)
			next++
		}
		plan.Preparation = append(plan.Preparation, x)
	}
	return plan
}
