package posterior

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"knownwater/science/num"
)

// Everything that the chain does, at once: readings drawn from where it stands, a sweep
// given them, readings drawn anew, and so on, is a walk through the prior, whatever the
// moves are (J. Geweke, J. Am. Stat. Assoc. 99 (2004) 799). So what it passes on the way has the
// averages of draws from the prior itself, which are made without any chain. A wrong sign or factor
// in the chance of taking any of the moves shifts some of them.
//
// The prior is kept small, so that the walk sees all of it: spreads lie within a factor of six, and
// means, which have no prior of their own, are moved by whole units into −½ … ½ after each sweep: answers
// repeat themselves from unit to unit.

// world is a prior that can be drawn from, and what reads off readings.
type world struct {
	l     *layout
	c     *chain
	tiles [][][2]float64 // [answer][sharing]; nil: readings are exact
	names []string       // of what is told
	mix   []float64      // cumulated prior of kind, shape and ω
}

// chartOf is a row of answers "at" and "between" a unit apart under each share, open at both ends.
func chartOf(shares []float64) (tiles [][][2]float64) {
	const first, last = -12.0, 12.0
	ends := func(k int, share float64) float64 { // the upper end of answer k
		return first + math.Floor(float64(k)/2) + map[bool]float64{true: share, false: 1 - share}[k%2 == 0]
	}
	n := int(2*(last-first)) + 1
	for k := range n {
		var t [][2]float64
		for _, s := range shares {
			e := [2]float64{ends(k-1, s), ends(k, s)}
			if k == 0 {
				e[0] = math.Inf(-1)
			}
			if k == n-1 {
				e[1] = math.Inf(1)
			}
			t = append(t, e)
		}
		tiles = append(tiles, t)
	}
	return tiles
}

func (w *world) answer(y float64, share int) [][2]float64 {
	if w.tiles == nil {
		return [][2]float64{{y, y}}
	}
	i, _ := slices.BinarySearchFunc(w.tiles, y, func(t [][2]float64, y float64) int {
		if t[share][1] < y {
			return -1
		}
		return 1
	})
	return w.tiles[i]
}

// newWorld lays the cells out, draws the bounds of the spreads together, bounds the means of some
// groups, and starts a chain.
func newWorld(t *testing.T, d Data, tiles [][][2]float64, bounded ...int) *world {
	t.Helper()
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	l.floor, l.points = math.Log(0.5), int(math.Log(6)/step)
	for g := range l.group {
		l.group[g].guess = 0
	}
	for _, g := range bounded { // to where the others are moved by whole units
		l.group[g].low, l.group[g].high = -0.5, 0.5
	}
	w := &world{l: l, c: newChain(l, l.units(), 77, 1), tiles: tiles}
	w.c.adapting = true // the steps of a like posterior
	for range 300 {
		w.c.sweep()
		w.read(w.c.rng)
	}
	w.c.adapting = false
	return w
}

// read moves the means by whole units, and draws all readings anew from there.
func (w *world) read(rng *rand.Rand) {
	c := w.c
	for g := range c.m {
		c.m[g] -= math.Round(c.m[g])
	}
	sc := scatters()[c.at.kind]
	for i := range c.units {
		u := &c.units[i]
		sum, off := c.shared(i)
		y := c.m[u.group] + off + math.Exp(c.u[u.group])*(sum+sc.component[pickOf(sc.weight, rng)]*rng.NormFloat64())
		u.seen = w.answer(y, c.at.share)
		w.l.Cells[u.cell].Seen = u.seen
		if c.exact[i] {
			c.z[i] = y
		}
	}
	c.edges, c.order = nil, nil
	c.layEdges()
}

func pickOf(weight []float64, rng *rand.Rand) int {
	total := 0.0
	for _, w := range weight {
		total += w
	}
	p := rng.Float64() * total
	for i, w := range weight {
		if p -= w; p <= 0 {
			return i
		}
	}
	return len(weight) - 1
}

// stand is where a chain may stand.
type stand struct {
	at         place
	x          float64 // log φ
	m, u, logT []float64
	tau, a, v  []float64
	way        []int
}

func (w *world) stands() stand {
	c := w.c
	return stand{c.at, c.x, c.m, c.u, c.logT, c.tau, c.a, c.v, c.way}
}

// put makes the chain stand there.
func (w *world) put(s stand) {
	c := w.c
	c.at, c.x = s.at, s.x
	copy(c.m, s.m)
	copy(c.u, s.u)
	copy(c.logT, s.logT)
	copy(c.tau, s.tau)
	copy(c.a, s.a)
	copy(c.v, s.v)
	for f, way := range s.way {
		if c.l.Factors[f].Along != nil {
			c.setWay(f, way)
		}
	}
}

// drawn is a draw from the prior, by rejection of spreads beyond their bounds.
func (w *world) drawn(rng *rand.Rand) stand {
	c, l := w.c, w.l
	n := len(c.shapes) * len(freedoms)
	if w.mix == nil {
		total := 0.0
		for i := range int(kinds) * n {
			total += c.mixed(Kind(i/n), i%n/len(freedoms), i%len(freedoms))
			w.mix = append(w.mix, total)
		}
	}
	top := l.floor + float64(l.points)*step
	s := stand{m: make([]float64, l.Groups), u: make([]float64, l.Groups), logT: make([]float64, l.techs), v: make([]float64, len(c.blockOf))}
	for {
		i, _ := slices.BinarySearch(w.mix, rng.Float64()*w.mix[len(w.mix)-1])
		s.at = place{kind: Kind(i / n), shape: i % n / len(freedoms), omega: i % len(freedoms), share: pickOf(l.Shares, rng)}
		for t := 1; t < l.techs; t++ {
			s.logT[t] = techniqueSD * rng.NormFloat64()
		}
		const beyond = 9
		s.x = l.floor - beyond + (top-l.floor+2*beyond)*rng.Float64()
		inside, log := true, 0.0
		for g := range s.u {
			s.u[g] = s.x + c.shapes[s.at.shape].logH[g] + s.logT[l.Technique[g]] + freedoms[s.at.omega]*rng.NormFloat64()
			if inside = inside && s.u[g] >= l.floor && s.u[g] <= top; inside {
				log += l.priorSpread(g, s.u[g])
			}
		}
		if inside && math.Log(rng.Float64()) < log {
			break
		}
	}
	for g := range s.m {
		s.m[g] = rng.Float64() - 0.5
	}
	for _, fac := range l.Factors {
		square := 0.0 // of t with 3 degrees of freedom
		for range 3 {
			z := rng.NormFloat64()
			square += z * z
		}
		tau := fac.Scale * math.Abs(rng.NormFloat64()) / math.Sqrt(square/3)
		ways := []float64{1} // as likely as these are beforehand
		for way := range fac.Along {
			ways = append(ways[:way], math.Exp(fac.logPrior(way)))
		}
		s.tau, s.way = append(s.tau, tau), append(s.way, pickOf(ways, rng))
		if fac.inside() {
			for b := range s.v {
				if c.blockOf[b].vial {
					s.v[b] = tau * rng.NormFloat64()
				}
			}
			continue
		}
		for range fac.Members {
			s.a = append(s.a, tau*rng.NormFloat64())
		}
	}
	return s
}

// tells are the quantities whose averages are compared, none with a long tail.
func (w *world) tells(s stand) (out []float64) {
	naming := w.names == nil
	say := func(v float64, name string, of int) {
		out = append(out, v)
		if naming {
			w.names = append(w.names, fmt.Sprint(name, " ", of))
		}
	}
	bend := func(x float64) float64 { return x / (1 + math.Abs(x)) }
	is := func(yes bool, name string, of int) {
		if yes {
			say(1, name, of)
		} else {
			say(0, name, of)
		}
	}
	for g, m := range s.m {
		say(m, "mean", g)
		say(m*m, "mean²", g)
		say(s.u[g], "log s", g)
		say(s.u[g]*s.u[g], "log² s", g)
		say(m*s.u[g], "mean × log s", g)
		say(s.u[g]*s.u[(g+1)%len(s.u)], "log s and the next", g)
		for j, a := range s.a {
			say(m*bend(a), "mean × effect", j)
		}
	}
	for f, tau := range s.tau {
		log := bend(math.Log(tau / w.l.Factors[f].Scale))
		say(log, "log τ", f)
		say(log*log, "log² τ", f)
		say(log*s.u[0], "log τ × log s", f)
		for way := range w.l.Factors[f].Along {
			is(s.way[f] == way, fmt.Sprint("way ", way, " of"), f)
		}
	}
	for j, a := range s.a {
		say(bend(a), "effect", j)
		say(math.Abs(bend(a)), "|effect|", j)
		say(bend(a)*bend(s.a[0]), "effect × the first", j)
		say(math.Abs(bend(a))*s.u[0], "|effect| × log s", j)
	}
	for b, v := range s.v {
		if w.c.blockOf[b].vial {
			say(bend(v), "vial", b)
			say(math.Abs(bend(v)), "|vial|", b)
			say(math.Abs(bend(v))*s.u[w.c.blockOf[b].group], "|vial| × log s", b)
			say(bend(v)*s.m[w.c.blockOf[b].group], "vial × mean", b)
		}
	}
	for t := 1; t < len(s.logT); t++ {
		say(s.logT[t], "technique", t)
		say(s.logT[t]*s.logT[t], "technique²", t)
	}
	for k := range kinds {
		is(s.at.kind == k, "kind", int(k))
	}
	for k := range w.l.Shares {
		is(s.at.share == k, "share", k)
	}
	for k := range freedoms {
		is(s.at.omega == k, "ω", k)
	}
	h := w.c.shapes[s.at.shape].logH
	for g := range h {
		d := h[(g+1)%len(h)] - h[g]
		say(d, "shape to the next", g)
		say(d*d, "shape to the next²", g)
	}
	return out
}

// walksThePrior compares the averages on a walk of so many sweeps with those of draws, in
// standard errors: the walk's from 40 batches.
func walksThePrior(t *testing.T, name string, w *world, sweeps int) {
	t.Helper()
	rng := num.Source(78)
	const batches, draws = 40, 10000
	var batch [batches][]float64
	n := len(w.tells(w.stands()))
	for b := range batch {
		batch[b] = make([]float64, n)
		for range sweeps / batches {
			w.c.sweep()
			w.read(rng)
			for i, v := range w.tells(w.stands()) {
				batch[b][i] += v / float64(sweeps/batches)
			}
		}
	}
	sum, square := make([]float64, n), make([]float64, n)
	for range draws {
		for i, v := range w.tells(w.drawn(rng)) {
			sum[i] += v / draws
			square[i] += v * v / draws
		}
	}
	worst := 0.0
	for i, what := range w.names {
		var of [batches]float64
		for b := range batch {
			of[b] = batch[b][i]
		}
		mean, sd := num.MeanSD(of[:])
		se := math.Sqrt(sd*sd/batches + max(0, square[i]-sum[i]*sum[i])/draws)
		if se == 0 && mean == sum[i] {
			continue
		}
		z := (mean - sum[i]) / se
		worst = math.Max(worst, math.Abs(z))
		if !(math.Abs(z) <= 4.5) { // of some hundred averages, with 39 degrees of freedom
			t.Errorf("%s, %s: %.4f on the walk, %.4f in the prior, %.1f standard errors", name, what, mean, sum[i], z)
		}
	}
	t.Logf("%s: %d averages, the worst %.1f standard errors off", name, n, worst)
}

// moves are those of a sweep, each with what it needs to have been done before it.
func (w *world) moves() map[string]func() {
	c := w.c
	around := func(move func()) func() { return func() { c.share(); move() } }
	given := func(move func()) func() {
		return func() { c.share(); c.drawLatent(); c.blockSums(); c.groupSums(); move() }
	}
	all := map[string]func(){
		"shape": around(c.moveShape), "form": around(c.moveForm), "scales": around(func() { c.turn++; c.moveScales() }), "kind": around(c.moveKind),
		"shared": around(c.shiftShared), "the form given spreads": given(c.drawForm), "means": given(c.drawMeans),
		// moved with the means integrated out: only right together with their draw
		"spreads against what is shared, and the means": given(func() { c.moveTrade(); c.groupSums(); c.drawMeans() }),
		"effects, and the means":                        given(func() { c.ways = c.anyFlat; c.drawEffects(); c.drawMeans() }), "spreads, and the means": given(func() { c.drawSpreads(); c.drawMeans() }),
	}
	for f := range c.tau {
		if f != c.l.vial {
			all[fmt.Sprint("size of ", c.l.Factors[f].Name)] = given(func() { c.moveTau(f) })
		}
	}
	if c.l.vial != None {
		all["vials"] = around(c.moveVials)
	}
	if len(c.l.Shares) > 1 {
		all["sharing"] = around(c.moveShare)
	}
	for g, coarse := range c.coarse {
		if coarse {
			all[fmt.Sprint("coarse level ", g)] = around(func() { c.turn++; c.moveCoarse(g) })
			all[fmt.Sprint("coarse level ", g, " out of its form")] = around(func() { c.moveOut(g) })
		}
	}
	return all
}

// fit is how well the readings are met, on average: a move that forgets them shows here.
func (w *world) fit() float64 {
	c := w.c
	c.share()
	sum := 0.0
	for g := range c.m {
		sum += c.chances(g, c.m[g], c.u[g], c.at, 1)
	}
	return sum / float64(len(c.units))
}

// keepsThePrior makes one move from a draw of the prior, readings drawn from it, and again and again:
// what comes out has the averages of what went in. Each is taken often enough to be worth its time.
func keepsThePrior(t *testing.T, name string, w *world, draws int) {
	t.Helper()
	rng := num.Source(79)
	for move, make := range w.moves() {
		var sum, square []float64
		taken := 0
		for range draws {
			w.put(w.drawn(rng))
			w.read(rng)
			before := append(w.tells(w.stands()), w.fit())
			if sum == nil {
				sum, square = append(sum, before...), append(square, before...)
				clear(sum)
				clear(square)
			}
			make()
			fit := w.fit()
			for g := range w.c.m {
				w.c.m[g] -= math.Round(w.c.m[g])
			}
			after := append(w.tells(w.stands()), fit)
			for i, v := range after {
				sum[i] += v - before[i]
				square[i] += (v - before[i]) * (v - before[i])
			}
			if !slices.Equal(before, after) {
				taken++
			}
		}
		if share := float64(taken) / float64(draws); share < 0.05 { // a seventh is the least of all
			t.Errorf("%s, %s: taken in %.3f of tries", name, move, share)
		}
		for i, what := range append(slices.Clone(w.names), "fit") {
			if z := sum[i] / math.Sqrt(square[i]+1e-300); !(math.Abs(z) <= 4.5) {
				t.Errorf("%s, %s, %s: changed by %.4f on average, %.1f standard errors", name, move, what, sum[i]/float64(draws), z)
			}
		}
	}
}

// A chart under three sharings, three levels, two readers of two vials each; one level with
// two answers, one with three, so that the moves for coarse levels are made.
func TestChainWalksThePriorOfAChart(t *testing.T) {
	shares := []float64{0.15, 0.25, 0.4}
	tiles := chartOf(shares)
	at := func(y float64) [][2]float64 { return (&world{tiles: tiles}).answer(y, 1) }
	d := open(Data{Groups: 3, Level: []float64{1, 3, 9}, Coarse: true, Shares: []float64{0.5, 0.3, 0.2},
		Factors: []Factor{{Name: "reader", Members: 2, Scale: 1}, {Name: "vial", Members: 6, Scale: 1, Nested: true}}})
	for g, ys := range [][]float64{{0, 0.5, 0, 0.5}, {0, 0.5, 1, 0.5}, {0, 0.5, 1, 1.5}} {
		for i, y := range ys {
			d.Cells = append(d.Cells, Cell{Group: g, Seen: at(y), Member: []int{i % 2, 2*g + i/2}, Count: 1})
		}
	}
	w := newWorld(t, d, tiles, 0, 2)
	if !w.c.loose[0] || !w.c.coarse[1] || w.c.loose[1] || w.c.coarse[2] {
		t.Fatalf("coarse %v, loose %v", w.c.coarse, w.c.loose)
	}
	walksThePrior(t, "chart", w, 12000)
	keepsThePrior(t, "chart", w, 1500)
}

// Exact readings by two techniques, readers and lots crossed, some readings by nobody
// who was noted.
func TestChainWalksThePriorOfADisplay(t *testing.T) {
	d := open(Data{Groups: 4, Level: []float64{1, 3, 1, 3}, Factors: []Factor{{Name: "reader", Members: 3, Scale: 1}, {Name: "lot", Members: 2, Scale: 0.5}}})
	d.Technique = []int{0, 0, 1, 1}
	for i, z := range normals(20, 5) {
		member := []int{i % 3, i / 3 % 2}
		if i%5 == 0 {
			member[0] = None
		}
		d.Cells = append(d.Cells, Cell{Group: i % 4, Seen: [][2]float64{{z, z}}, Member: member, Count: 1})
	}
	w := newWorld(t, d, nil, 1, 2)
	walksThePrior(t, "display", w, 30000)
	keepsThePrior(t, "display", w, 1500)
}

// The same with readers whose differences do not go along with the scatter but with something else, nothing of it in one group,
// and vials, of which some readings name none.
func TestChainWalksThePriorOfFlatEffects(t *testing.T) {
	d := open(Data{Groups: 3, Level: []float64{0, 3, 9}, Factors: []Factor{{Name: "reader", Members: 2, Scale: 1, Along: [][]float64{{0, 0.7, 4}, {4, 0.7, 0}, nil}},
		{Name: "lot", Members: 2, Scale: 0.5}, {Name: "vial", Members: 6, Scale: 1, Nested: true}}})
	for i, z := range normals(18, 6) {
		g := i % 3
		vial := 2*g + i/3%2
		if i == 7 {
			vial = None
		}
		d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{z, z}}, Member: []int{i / 6 % 2, i / 9, vial}, Count: 1})
	}
	w := newWorld(t, d, nil, 1, 2)
	walksThePrior(t, "flat effects", w, 20000)
	keepsThePrior(t, "flat effects", w, 1500)
	for f := range d.Factors { // and of vials, which then are not integrated out
		d.Factors[f].Along = nil
	}
	d.Factors[2].Along = [][]float64{{0.2, 0.7, 4}, {4, 1, 0.2}, nil}
	w = newWorld(t, d, nil, 1)
	walksThePrior(t, "flat vials", w, 20000)
	keepsThePrior(t, "flat vials", w, 1500)
}
