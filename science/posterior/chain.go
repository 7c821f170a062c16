package posterior

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"knownwater/science/num"
)

// A chain draws the latent readings inside their intervals; given those, a
// group's readings are normal with shared parts, and its mean and vials are
// integrated out of everything else: three sums a group say all of its spread.
//
//	z_i = m_g + s_g·(A·x_i + V_vial + e_i/√w_i) + B·x_i,  e ~ N(0, 1),  V ~ N(0, ρ²),  A ~ N(0, τ²)
//
// B are effects that go along with something else than the spread, x what that is there (Factor.Along); mostly there are none.
// w_i is 1 for normal scatter, less for a reading drawn as a slip or from the
// tail of a t.
type chain struct {
	l       *layout
	units   []unit
	rng     *rand.Rand
	aside   *rand.Rand // for what is told beside the walk, which goes its way whatever is
	columns int
	first   []int  // column of each factor's first member
	flat    []bool // by column: its effects go along with something else than the spread, now
	way     []int  // by factor: with which of Factor.Along
	anyFlat bool
	ways    bool        // whether it is time to draw one of these: once a sweep, as it is dear where they are vials'
	present [][]int     // by group: the columns of the effects on its readings
	height  [][]float64 // by group and column: what one unit of an effect is that does not go along with the spread

	at          place
	shapes      []shape
	free        [kinds]*freedom
	wide        float64          // the wide prior's part in what the chain walks under
	logMix      [kinds][]float64 // log of mixed, by shape and ω
	x           float64          // log φ
	logT        []float64        // by technique
	u, m        []float64        // by group
	a           []float64        // crossed effects ÷ s, by column
	tau         []float64        // by factor; of the nested one, ρ
	z, w        []float64        // by unit
	sum         []float64        // by unit: its effects, ÷ s
	off         []float64        // by unit: those that do not go along with the spread
	ll          []float64        // by group: see now
	told        []bool
	telling     bool      // whether the sweep says how its means are distributed
	meanAt      []float64 // by group: centre and standard deviation of that normal
	meanSD      []float64
	meanWeight  [priors]float64
	ss          []float64 // by unit: squares within it, where it stands for several readings
	v           []float64 // by block: vial ÷ s
	blockOf     []block
	coarse      []bool // groups that get moves of their own
	bounded     []int  // groups whose mean has a bound
	hidden      bool   // whether any group is loose
	loose       []bool // of at most two answers, which say little of their spread
	count       []float64
	exact       []bool // units that are fine enough to be taken as exact
	partly      []bool // factors that some readings have no member of
	blocksOther []bool // groups with readings of no vial beside those of vials
	rounded     bool   // whether any reading is more than a point
	start       []int  // first unit of each group; they stand in order

	// sums of the sweep
	big    []float64   // Σ_g QXX, with x ÷ s where effects do not go along with the spread
	bigOf  [][]float64 // QXX by group, where there are such; nil else
	qzz    []float64   // by group
	qzx    [][]float64
	weight []float64 // Σ ω by group
	sumY   []float64 // Σ ω·ȳ by group, ȳ a block's average less the group's centre
	sumX   [][]float64

	scatters    [kinds]*scatter
	near        *nearness
	edges       [][]edges // by sharing and group
	order, rank []int     // of the sharings, rising in what they do to the ends

	priorAt [][]float64  // by group: priorSpread on the grid of log s
	memo    []spreadMemo // by group
	scratch scratch

	step struct {
		tau, coarseM, coarseU, about, shift []float64
		trade                               float64
	}
	adapting bool
	turn     int
}

// block is a vial of a group, or all of its readings that name none.
type block struct {
	group   int
	vial    bool
	columns []int // of the effects that any of its readings has: the others' sums are 0
	// sums of the sweep: Σw, Σwz, Σwz² and by its columns Σwx, Σwxx and Σwxz, with z less the
	// group's centre, of xx no more than the lower triangle; changed says that some w has
	w, y, yy float64
	x        []float64
	xx, xy   []float64
	omega    float64
	changed  bool
}

func newChain(l *layout, units []unit, name, number uint64) *chain {
	units = slices.Clone(units) // each chain its own
	c := &chain{l: l, units: units, rng: num.Source(name, number), aside: num.Source(name, number, 1), shapes: shapes(l.Level, l.weight), logT: make([]float64, l.techs)}
	for k := range c.free {
		c.free[k] = freedomPrior(Kind(k))
	}
	c.mix(0.5)
	for _, fac := range l.Factors {
		c.first = append(c.first, c.columns)
		c.tau = append(c.tau, 0.5)
		if !fac.inside() {
			c.columns += fac.Members
			c.flat = append(c.flat, make([]bool, fac.Members)...)
			c.anyFlat = c.anyFlat || fac.Along != nil
		}
	}
	c.layFlat()
	blocks := 0
	for _, u := range units {
		blocks = max(blocks, u.block+1)
	}
	c.blockOf = make([]block, blocks)
	for _, u := range units {
		k := &c.blockOf[u.block]
		k.group, k.vial, k.changed = u.group, l.vial != None && l.Cells[u.cell].Member[l.vial] != None, true
		for _, j := range u.member {
			if at, known := slices.BinarySearch(k.columns, j); !known {
				k.columns = slices.Insert(k.columns, at, j)
			}
		}
	}
	for b := range c.blockOf {
		k := &c.blockOf[b]
		n := len(k.columns)
		k.x, k.xx, k.xy = make([]float64, n), make([]float64, n*n), make([]float64, n)
	}
	for i := range units {
		u := &units[i]
		u.local = make([]int, len(u.member))
		for at, j := range u.member {
			u.local[at], _ = slices.BinarySearch(c.blockOf[u.block].columns, j)
		}
	}
	c.v, c.a = make([]float64, blocks), make([]float64, c.columns)
	c.z, c.w, c.ss, c.exact = make([]float64, len(units)), make([]float64, len(units)), make([]float64, len(units)), make([]bool, len(units))
	c.big, c.qzz, c.weight = make([]float64, c.columns*c.columns), make([]float64, l.Groups), make([]float64, l.Groups)
	c.qzx, c.count = table(l.Groups, c.columns), make([]float64, l.Groups)
	c.sumX, c.sumY = table(l.Groups, c.columns), make([]float64, l.Groups)
	if c.anyFlat {
		c.bigOf = table(l.Groups, c.columns*c.columns)
	}
	c.sum, c.off, c.ll, c.told = make([]float64, len(units)), make([]float64, len(units)), make([]float64, l.Groups), make([]bool, l.Groups)
	c.meanAt, c.meanSD = make([]float64, l.Groups), make([]float64, l.Groups)
	c.scatters, c.near = scatters(), newNearness(c.shapes)
	c.layEdges()
	c.priorAt = table(l.Groups, l.points+2)
	for g, row := range c.priorAt {
		for i := range row {
			row[i] = l.priorSpread(g, l.floor+float64(i)*step)
		}
	}
	c.memo = make([]spreadMemo, l.Groups)
	c.scratch = newScratch(l.Groups, c.columns, len(c.shapes), blocks)
	guesses := make([]float64, 0, l.Groups)
	for g, gr := range l.group {
		jitter := c.rng.NormFloat64()
		c.u = append(c.u, math.Max(l.robust(g), l.floor+1)+0.2*jitter)
		c.m = append(c.m, gr.mean)
		c.coarse = append(c.coarse, gr.width > 0 && l.distinct(g) <= 3)
		c.loose = append(c.loose, gr.width > 0 && l.distinct(g) <= 2)
		c.hidden = c.hidden || c.loose[g]
		if !math.IsInf(gr.low, 0) || !math.IsInf(gr.high, 0) {
			c.bounded = append(c.bounded, g)
		}
		guesses = append(guesses, c.u[g])
	}
	c.x = median(guesses)
	c.at.omega = 2
	if l.readings() <= mostKinds { // from there a chain finds the others sooner than the other way round
		c.at.kind = MoreSlips
	}
	for i, u := range units {
		s := u.seen[0]
		c.z[i], c.w[i] = middle(s), 1
		gr := &l.group[u.group]
		c.exact[i] = s[0] == s[1] || len(l.Shares) == 1 && s[1]-s[0] < 0.1*num.Exp(gr.guess) && l.distinct(u.group) > 3
		c.count[u.group] += u.count
		c.rounded = c.rounded || !c.exact[i]
	}
	c.start = make([]int, l.Groups+1)
	for _, u := range units {
		c.start[u.group+1]++
	}
	for g := range l.Groups {
		c.start[g+1] += c.start[g]
	}
	c.partly, c.blocksOther = make([]bool, len(l.Factors)), make([]bool, l.Groups)
	for _, cell := range l.Cells {
		for f, j := range cell.Member {
			c.partly[f] = c.partly[f] || j == None
			c.blocksOther[cell.Group] = c.blocksOther[cell.Group] || f == l.vial && j == None
		}
	}
	c.step.tau, c.step.trade = fill(len(c.tau), 0.6), 0.2
	c.step.coarseM, c.step.coarseU, c.step.about, c.step.shift = make([]float64, l.Groups), fill(l.Groups, 0.5), fill(l.Groups, 0.5), fill(3, 0.2)
	for g, gr := range l.group {
		c.step.coarseM[g] = 0.5 * num.Exp(gr.guess)
	}
	return c
}

func fill(n int, v float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = v
	}
	return s
}

// prior is that of (kind, shape, ω) under one prior; mixed that which the chain
// walks under, something of each, so that one walk serves both.
func (c *chain) prior(k Kind, p Prior, shape, omega int) float64 {
	return kindPrior[p][k] * c.shapes[shape].prior[p] * c.free[k].of(p, &c.shapes[shape], omega)
}

func (c *chain) mixed(k Kind, shape, omega int) float64 {
	return c.wide*c.prior(k, Wide, shape, omega) + (1-c.wide)*c.prior(k, FormFavouring, shape, omega)
}

// mix makes the chain walk under so much of the wide prior.
func (c *chain) mix(wide float64) {
	c.wide = wide
	for k := range c.logMix {
		c.logMix[k] = c.logMix[k][:0]
		for s := range c.shapes {
			for w := range freedoms {
				c.logMix[k] = append(c.logMix[k], num.Log(c.mixed(Kind(k), s, w)))
			}
		}
	}
}

// weights are what the place where the chain stands counts under each prior.
func (c *chain) weights() (of [priors]float64) {
	for p := range of {
		of[p] = c.prior(c.at.kind, Prior(p), c.at.shape, c.at.omega) / c.mixed(c.at.kind, c.at.shape, c.at.omega)
	}
	return of
}

// shared is the sum of the effects on unit i, ÷ s, and that of those that do not go along with the spread.
func (c *chain) shared(i int) (sum, off float64) {
	u := &c.units[i]
	sum = c.v[u.block]
	for _, j := range u.member {
		if c.flat[j] {
			off += c.height[u.group][j] * c.a[j]
		} else {
			sum += c.a[j]
		}
	}
	return sum, off
}

// unitOf is what one unit of a factor's effects is in a group.
func (c *chain) unitOf(f, g int) float64 {
	if c.isFlat(f) {
		return c.l.Factors[f].Along[c.way[f]][g]
	}
	return c.sd(g)
}

// mostStep bounds the steps of moves that nothing holds back.
const mostStep = 1e6

// accept decides a move whose log posterior changes by gain, and tunes its
// step towards an acceptance of 0.44 during the burn-in.
func (c *chain) accept(gain float64, step *float64) bool {
	p := c.rng.Float64()               // always, so that a gain of nothing that rounding turns round parts no chains
	ok := gain >= 0 || p < fall(-gain) // of no number: no
	if c.adapting && step != nil {
		switch {
		case ok:
			*step = math.Min(*step*1.12, mostStep)
		default:
			*step *= 0.915 // 0.44·log 1.12 + 0.56·log 0.915 ≈ 0
		}
	}
	return ok
}

func (c *chain) sweep() {
	// with the latent readings integrated out: twice, as these are the slow ones
	c.share()
	for range 2 {
		c.turn++
		c.moveAround()
	}
	c.shiftShared()
	c.share()
	// given the latent readings
	c.drawLatent()
	c.blockSums()
	c.moveTrade()
	c.groupSums()
	c.ways = c.anyFlat
	c.drawGiven()
}

// drawGiven draws all that is cheap given the latent readings. It is done several times a sweep, and
// recorded each time (walk.on): a draw costs a tenth of a sweep.
func (c *chain) drawGiven() {
	c.drawEffects()
	for f := range c.tau {
		if f != c.l.vial {
			c.moveTau(f)
		}
	}
	c.drawSpreads()
	c.drawForm()
	c.drawMeans()
}

// moveAround moves what the latent readings would hold fast.
func (c *chain) moveAround() {
	if len(c.l.Shares) > 1 {
		c.moveShare()
	}
	if c.turn%2 == 1 && c.l.readings() <= mostKinds {
		c.moveKind()
	}
	if c.turn%2 == 0 && c.rounded {
		c.moveScales()
	}
	for g, coarse := range c.coarse {
		if coarse {
			c.moveCoarse(g)
		}
	}
	for k := range c.loose { // one of them a turn
		if g := (c.turn + k) % len(c.loose); c.loose[g] {
			c.moveOut(g)
			break
		}
	}
	c.moveShape()
	if c.hidden || c.turn%2 == 1 {
		c.moveForm()
	}
}

// prior of a group's spread beside its shape, between the points of the grid, good to 1e-4.
func (c *chain) priorSpread(g int, u float64) float64 {
	at := max((u-c.l.floor)/step, 0)
	i := min(int(at), c.l.points)
	row := c.priorAt[g]
	return row[i] + (at-float64(i))*(row[i+1]-row[i])
}

// expected is log s of a group by form alone.
func (c *chain) expected(g int) float64 {
	return c.x + c.shapes[c.at.shape].logH[g] + c.logT[c.l.Technique[g]]
}

// layEdges finds the ends of every group's answers under every sharing, and the
// order of the sharings: that of one answer's width, which rises or falls with them.
func (c *chain) layEdges() {
	l := c.l
	width := func(cell Cell, share int) float64 { return cell.Seen[share][1] - cell.Seen[share][0] }
	telling, most := 0, 0.0
	for s := range l.Shares {
		all := make([]edges, l.Groups)
		for g := range all {
			all[g] = l.edgesOf(g, s)
		}
		c.edges, c.order = append(c.edges, all), append(c.order, s)
		for i, cell := range l.Cells {
			if d := math.Abs(width(cell, s) - width(cell, 0)); d > most && !math.IsInf(d, 0) {
				telling, most = i, d
			}
		}
	}
	slices.SortStableFunc(c.order, func(a, b int) int { return cmp.Compare(width(l.Cells[telling], a), width(l.Cells[telling], b)) })
	c.rank = make([]int, len(c.order))
	for i, s := range c.order {
		c.rank[s] = i
	}
}
