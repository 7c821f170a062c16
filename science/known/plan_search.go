package known

import (
	"math"
	"sort"

	"knownwater"
	"knownwater/science/errorpart"
)

// planner searches the chains from one stock.
type planner struct {
	shelf                   Shelf
	limits                  Limits
	background, uBackground float64 // mg/L
	sea, water, air         float64
	toBase                  float64
	tools                   []tool
	names                   ids
	root                    source
	fills                   map[Diluent][]step // ways to fill up a standard
	bulk                    map[Diluent][]step // ways to fill up an intermediate
	searched                int
	blocked                 [len(hurdles)]int // how many ways each hurdle stopped
	found                   []way             // what ways hands out, used again at every call
}

func newPlanner(s Shelf, stock int) *planner {
	f := s.toBase()
	p := &planner{
		shelf: s, limits: s.Limits, toBase: f, background: s.Matrix.Background * f, uBackground: s.Matrix.U * f,
		sea: s.water().Density(), water: pureWater(s.Room.Temperature), air: roomAir(s.Room.Temperature),
		names: ids{},
	}
	warmth := sq(s.expansion() * errorpart.RectangularU(s.Room.Within))
	for i, d := range s.Devices {
		p.tools = append(p.tools, newTool(i, d, p.names, warmth))
	}
	p.root = p.stockSource(s.Stocks[stock])
	p.fills = map[Diluent][]step{InMatrix: p.wholes(p.sea, []float64{p.limits.Volume, 2 * p.limits.Volume}, p.limits.Volume)}
	sizes := []float64{50, 100, 200, 500, 1000}
	for i := range p.tools { // and as much as a scale carries with its bottle
		if p.tools[i].device.Kind == Scale {
			sizes = append(sizes, 0.999*p.tools[i].device.Nominal/1.5*volumePerGram(p.sea, p.air))
		}
	}
	p.bulk = map[Diluent][]step{InMatrix: p.wholes(p.sea, sizes, 0), InWater: p.wholes(p.water, sizes, 0)}
	return p
}

// stockSource is a stock with its error parts: those of devices keep their
// names, for the same flask may serve twice.
func (p *planner) stockSource(st Stock) source {
	s := p.shelf
	s.Stocks = []Stock{st}
	m := build(s, nil)
	value := errorpart.Propagate(m.inputs, func(x []float64) []float64 { return []float64{m.run(x)[0].c} })[0]
	made := m.run(means(m.inputs))[0]
	_, uDensity := s.stockDensity(st)
	src := source{name: st.Name, c: value.Value, fresh: 1, density: made.density, volume: math.Inf(1), parent: -1}
	if st.Left > 0 {
		src.volume = st.Left
	}
	src.weight = term{p.names.of("density of " + st.Name), -uDensity / made.density}
	for _, part := range value.Parts {
		src.shared = append(src.shared, term{p.names.of(part.Name), part.Size()})
	}
	return src
}

// wholes are the ways to fill up to at least a volume: every flask, and the
// listed sizes on every scale that carries them with their bottle (taken to
// weigh half as much again; common practice, no source).
func (p *planner) wholes(density float64, sizes []float64, least float64) []step {
	perGram := volumePerGram(density, p.air)
	var out []step
	for i := range p.tools {
		t := &p.tools[i]
		switch t.device.Kind {
		case Flask:
			if t.device.Nominal >= least*(1-1e-9) {
				out = append(out, t.pour(t.device.Nominal, 1))
			}
		case Scale:
			for _, v := range sizes {
				amount := onStep(v/perGram, t.device.step())
				if amount*1.5 <= t.device.Nominal {
					out = append(out, t.weigh(amount, perGram))
				}
			}
		}
	}
	return out
}

// wholeVolume corrects the volume of a weighed whole for what was taken
// having another density than the diluent, and gives the damping of errors.
func (p *planner) wholeVolume(whole *step, part, density, diluent float64) (float64, damping) {
	if whole.kind != Scale {
		return whole.volume, damping{1, 1}
	}
	z, zp := volumePerGram(diluent, p.air), volumePerGram(density, p.air)
	volume := part + whole.volume - part/zp*z
	r := part / volume
	return volume, damping{1 - r*(1-z/zp), 1 - r}
}

// ways are all ways to make a target from a source, until the next call.
func (p *planner) ways(src *source, target float64) []way {
	p.found = p.found[:0]
	if src.c <= target {
		return nil
	}
	perGram := volumePerGram(src.density, p.air)
	goal := p.share(src, target)
	fills := p.fills[InMatrix]
	for i := range fills {
		whole := &fills[i]
		for j := range p.tools {
			if p.tools[j].device.Kind == Flask {
				continue
			}
			take, ok := p.tools[j].take(goal*whole.volume, p.limits.Deliveries, perGram, src.weight)
			p.searched++
			if !ok {
				p.blocked[noDevice]++
				continue
			}
			p.way(src, target, &take, whole)
		}
	}
	return p.found
}

// share is the share of the source in the whole that gives the target; where
// levels are what is added, the stock alone counts.
func (p *planner) share(src *source, target float64) float64 {
	if p.limits.Added {
		// added = r·(C − b·(1 − fresh)), the stock's part of C
		return target / (src.c - p.background*(1-src.fresh))
	}
	return (target - p.background) / (src.c - p.background)
}

// way weighs one way and adds it to those found, unless a limit forbids it.
func (p *planner) way(src *source, target float64, take, whole *step) {
	if take.kind != Scale && take.volume < p.limits.Smallest {
		p.blocked[tooSmall]++
		return
	}
	volume, damp := p.wholeVolume(whole, take.volume, src.density, p.sea)
	if take.volume >= volume {
		return
	}
	r := take.volume / volume
	c := r*src.c + (1-r)*p.background
	reached := c
	if p.limits.Added {
		reached = r * (src.c - p.background*(1-src.fresh))
	}
	if math.Abs(reached/target-1) > p.limits.LevelWithin {
		p.blocked[notClose]++
		return
	}
	if r*src.fresh > p.limits.SalinityCut {
		p.blocked[saltTooFar]++
		return
	}
	u := math.Sqrt(p.variance(src, take, whole, r, damp))
	measured := take.measured() + 1
	p.found = append(p.found, way{
		score: math.Log(u/c) + math.Abs(reached/target-1) + stepPrice*float64(measured) + volumePrice*volume/p.limits.Volume,
		c:     c, u: u, take: *take, whole: *whole, uses: take.volume, matrix: volume - take.volume, measured: measured,
	})
}

// measured is how many measurements a step is: drops are counted in one go.
func (s *step) measured() int {
	if s.kind == Dropper {
		return 1
	}
	return s.times
}

// search finds the best plan from this stock; nil and the reasons if none.
func (p *planner) search(levels []float64) (*Plan, knownwater.Faults) {
	var targets []float64
	for _, l := range levels {
		if l > 0 {
			targets = append(targets, l*p.toBase)
		}
	}
	f := &field{sources: []source{p.root}, targets: targets}
	if p.limits.Intermediates > 0 && len(targets) > 0 {
		lowest := targets[0]
		p.addIntermediates(f, 0, p.bulk, gridOf(p.root.c, lowest, p.finely(targets)), lowest)
		p.thin(f)
		p.refine(f)
	}
	best := p.choose(f)
	if best == nil && p.limits.Intermediates > 1 && len(targets) > 0 {
		p.deeper(f)
		best = p.choose(f)
	}
	if best == nil {
		return nil, p.why(f.sources, levels)
	}
	return p.plan(f.sources, levels, best), nil
}

// measure is a step as it is written into a preparation.
func (p *planner) measure(s *step) Measure {
	return Measure{Device: p.tools[s.tool].device.Name, Amount: s.amount, Times: s.times}
}

// addIntermediates adds all solutions that can be made from a source with the
// given ways to fill up and that are stronger than the lowest target; strengths
// are those to aim at where an amount can be chosen freely.
func (p *planner) addIntermediates(f *field, parent int, bulk map[Diluent][]step, strengths []float64, lowest float64) {
	type amount struct {
		tool, times int
		amount      float64
	}
	from := f.sources[parent]
	perGram := volumePerGram(from.density, p.air)
	seen := map[amount]bool{}
	for _, in := range []Diluent{InMatrix, InWater} {
		for i := range bulk[in] {
			whole := &bulk[in][i]
			clear(seen)
			for j := range p.tools {
				for _, volume := range p.trials(&p.tools[j], whole.volume, from.c, in, strengths) {
					take, ok := p.tools[j].take(volume, p.limits.Deliveries, perGram, from.weight)
					key := amount{take.tool, take.times, take.amount}
					if !ok || seen[key] {
						continue
					}
					seen[key] = true
					if src, ok := p.mix(parent, &from, in, &take, whole, lowest); ok {
						f.sources = append(f.sources, src)
					}
				}
			}
		}
	}
}

// trials are the volumes to try with one tool for an intermediate: whole
// deliveries, and where it can be set, what makes each strength.
func (p *planner) trials(t *tool, whole, c float64, in Diluent, strengths []float64) []float64 {
	var out []float64
	if t.device.Kind == OneMark || t.device.adjustable() {
		for n := 1; n <= p.limits.Deliveries; n++ {
			out = append(out, float64(n)*t.device.Nominal)
		}
	}
	if t.device.Kind == OneMark || t.device.Kind == Flask {
		return out
	}
	b := p.background
	if in == InWater {
		b = 0
	}
	for _, strength := range strengths {
		out = append(out, whole*(strength-b)/(c-b))
	}
	return out
}

// finely is how many strengths a decade are tried at first: fewer where many
// levels make each one dear. Refining makes up for it.
func (p *planner) finely(targets []float64) int {
	return max(12, min(48, 160/len(targets)))
}

// mostWays bounds the ways that are weighed: about a second of work. Usual
// shelves have a hundredth of it.
const mostWays = 5_000_000

// thin leaves out sources evenly where a large shelf makes too many.
func (p *planner) thin(f *field) {
	each := len(f.targets) * len(p.fills[InMatrix]) * len(p.tools)
	most := max(50, mostWays/max(1, each))
	if len(f.sources) <= most {
		return
	}
	kept := f.sources[:1]
	for i := 0; i < most; i++ {
		kept = append(kept, f.sources[1+i*(len(f.sources)-1)/most])
	}
	f.sources = kept
}

// gridOf are strengths by equal ratios from half of c down to the lowest.
func gridOf(c, lowest float64, perDecade int) []float64 {
	var out []float64
	factor := math.Pow(10, -1/float64(perDecade))
	for v := c / 2; v > lowest; v *= factor {
		out = append(out, v)
	}
	return out
}

// mix is the intermediate from a take and a whole; false where it is no use.
func (p *planner) mix(parent int, from *source, in Diluent, take, whole *step, lowest float64) (source, bool) {
	density, b, ub := p.sea, p.background, 1.0
	if in == InWater {
		density, b, ub = p.water, 0, 0
	}
	volume, damp := p.wholeVolume(whole, take.volume, from.density, density)
	small := take.kind != Scale && take.volume < p.limits.Smallest
	if take.volume >= volume || take.volume > from.volume || small {
		return source{}, false
	}
	r := take.volume / volume
	src := source{
		c: r*from.c + (1-r)*b, fresh: r*from.fresh + (1-r)*(1-ub), density: r*from.density + (1-r)*density, volume: volume,
		parent: parent, takes: take.volume, measured: take.measured() + 1,
	}
	if src.c <= lowest {
		return source{}, false
	}
	src.weight = term{from.weight.id, r * from.weight.size * from.density / src.density}
	k := (from.c - b) * r
	src.own = r*r*from.own + k*k*(sq(damp.amount)*take.own+whole.own)
	for _, t := range from.shared {
		src.shared = append(src.shared, term{t.id, r * t.size})
	}
	for _, t := range []term{
		{take.shared[0].id, k * damp.amount * take.shared[0].size}, {take.shared[1].id, k * damp.density * take.shared[1].size},
		{whole.shared[0].id, -k * whole.shared[0].size}, {whole.shared[1].id, -k * whole.shared[1].size},
	} {
		src.shared = addTerm(src.shared, t)
	}
	if in == InMatrix {
		src.matrix = volume - take.volume
	}
	src.price = stepPrice*float64(src.measured) + volumePrice*volume/p.limits.Volume
	src.made = &Solution{From: from.name, Take: p.measure(take), Make: p.measure(whole), In: in}
	return src, true
}

func addTerm(to []term, t term) []term {
	if t.id == 0 || t.size == 0 {
		return to
	}
	for i := range to {
		if to[i].id == t.id {
			to[i].size += t.size
			return to
		}
	}
	return append(to, t)
}

// deeper adds intermediates made from intermediates, where one alone does not
// reach: from the surest of the first kind, one a fifth of a decade.
func (p *planner) deeper(f *field) {
	best := map[int]int{}
	for i := 1; i < len(f.sources); i++ {
		bin := int(math.Floor(5 * math.Log10(f.sources[i].c)))
		if j, found := best[bin]; !found || spread(&f.sources[i]) < spread(&f.sources[j]) {
			best[bin] = i
		}
	}
	var parents []int
	for _, i := range best {
		parents = append(parents, i)
	}
	sort.Ints(parents)
	for _, i := range parents {
		p.addIntermediates(f, i, p.bulk, gridOf(f.sources[i].c, f.targets[0], 8), f.targets[0])
	}
}

// spread is a source's relative uncertainty without the background.
func spread(s *source) float64 {
	v := s.own
	for _, t := range s.shared {
		v += t.size * t.size
	}
	return math.Sqrt(v) / s.c
}
