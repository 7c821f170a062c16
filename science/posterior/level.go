package posterior

import (
	"math"

	"knownwater/science/num"
)

// level integrates one group under one kind of scatter and one sharing: given
// its standard deviation a group's mean is independent of all other groups, so
//
//	L(u) = ∫ Π P(reading | m, s = e^u) dm
//
// tabulated on a grid of u, is all that the group says of its spread.
type level struct {
	l     *layout
	g     int
	seen  []seen
	sc    *scatter
	exact bool    // closed form: readings fine beside the spread, normal
	log   float64 // Σ log width of the readings, which makes densities chances

	logL []float64 // on the grid from the point first, per steps a grid step
	u0   float64
	gap  float64 // spacing of the own grid
	top  float64 // largest logL
	mean map[int]*meanGrid

	m, f []float64 // space of integrate
}

type seen struct {
	low, high, count float64
	mid, width, log  float64 // log of the width; 0 where exact
}

// fine is the width of a reading, in the smallest plausible standard
// deviation, up to which it counts as exact with variance s² + w²/12.
const fine = 1.2

// drop is how far below its largest value L is followed.
const drop = 20

func newLevel(l *layout, g int, k Kind, share int) *level {
	t := &level{l: l, g: g, sc: scatters()[k], mean: map[int]*meanGrid{}}
	for _, i := range l.group[g].cells {
		s := l.Cells[i].Seen[share]
		n := len(t.seen)
		if n > 0 && t.seen[n-1].low == s[0] && t.seen[n-1].high == s[1] {
			t.seen[n-1].count += l.Cells[i].Count
			continue
		}
		one := seen{low: s[0], high: s[1], count: l.Cells[i].Count, mid: middle(s), width: s[1] - s[0]}
		if one.width > 0 && !math.IsInf(one.width, 0) {
			one.log = num.Log(one.width)
		}
		t.seen = append(t.seen, one)
	}
	gr := &l.group[g]
	t.exact = k == Normal && gr.n > 1 && t.isFine()
	t.fill()
	return t
}

// isFine says whether all readings are closed and narrow beside the smallest
// spread that the closed form leaves any weight.
func (t *level) isFine() bool {
	gr := &t.l.group[t.g]
	widest := 0.0
	for _, s := range t.seen {
		widest = math.Max(widest, s.width)
		t.log += s.count * s.log
	}
	if widest == 0 {
		return true
	}
	if gr.ss == 0 || math.IsInf(widest, 1) {
		return false
	}
	at := math.Sqrt(gr.ss / (gr.n - 1))
	f := func(s float64) float64 { return -(gr.n-1)*num.Log(s) - 0.5*gr.ss/(s*s) }
	s := at
	for f(s) > f(at)-drop/2 {
		s *= 0.9
	}
	return widest <= fine*s
}

// fill tabulates L: over the whole grid where that is coarse enough for it,
// on a finer one about the mode where many readings make it narrow.
func (t *level) fill() {
	gr, l := &t.l.group[t.g], t.l
	if l.weight[t.g] == 0 { // its spread follows the others', whatever bounds its mean
		t.u0, t.gap, t.logL = l.floor, step, make([]float64, l.points)
		return
	}
	part := math.Max(1, math.Ceil(step*math.Sqrt(2*gr.n)/0.9))
	t.gap, t.u0 = step, l.floor
	if part == 1 {
		if !t.exact && gr.n <= 20 {
			t.gap = 2 * step // wide enough for L, and a sum of normals ω apart at 2ω is good to 1 %
		}
		t.tabulate(int(float64(l.points) * step / t.gap))
	} else {
		t.tabulate(l.points) // coarse, to find the mode
		best := 0
		for j, v := range t.logL {
			if v > t.logL[best] {
				best = j
			}
		}
		t.u0 += float64(max(0, best-1)) * step
		t.gap = step / part
		t.refine(part)
	}
	t.top = math.Inf(-1)
	for _, v := range t.logL {
		t.top = math.Max(t.top, v)
	}
	t.trim()
}

// tabulate goes down from the group's first guess until L has fallen, and up
// to the end of the grid.
//
// Where few draws are asked for and few readings make L wide, only every second or third
// point is worked out, and the logarithm goes between them along the cubic through four:
// they lie no more than 1.3 standard deviations of log s apart, and no more than 3 % of the
// chances of log s move.
func (t *level) tabulate(n int) {
	t.logL = make([]float64, n)
	every := t.every()
	start := min(max(int((t.l.group[t.g].guess-t.u0)/t.gap), 0), n-1)
	best := math.Inf(-1)
	first, last := start, start
	look := func(j int) (fallen bool) {
		t.logL[j] = t.at(t.u(j))
		best = max(best, t.logL[j])
		return t.logL[j] < best-drop
	}
	for j := start; j < n; j += every {
		last = j
		if look(j) {
			break
		}
	}
	for j := start - every; j >= 0; j -= every {
		first = j
		if look(j) {
			break
		}
	}
	t.between(first, last, every)
	for ; last+1 < n && t.logL[last] >= best-drop; last++ { // up to the very ends of the grid
		look(last + 1)
	}
	for ; first > 0 && t.logL[first] >= best-drop; first-- {
		look(first - 1)
	}
	t.logL = t.logL[first : last+1]
	t.u0 += float64(first) * t.gap
}

// every says how many points of the own grid are taken at once.
func (t *level) every() int {
	n := t.l.group[t.g].n
	switch {
	case !t.l.Few || t.exact || n > 9:
		return 1
	case n > 4:
		return 2
	}
	return 3
}

// between fills in what lies between points that are so many apart.
func (t *level) between(first, last, every int) {
	for j := first; j < last && every > 1; j += every {
		a, b := max(j-every, first), min(j+2*every, last)
		if b-a < 3*every { // at an end the four nearest, or as many as there are
			a, b = max(first, b-3*every), min(last, a+3*every)
		}
		for i := j + 1; i < j+every; i++ {
			t.logL[i] = lagrange(t.logL, a, b, every, i)
		}
	}
}

// lagrange is the value at i of the polynomial through the points from a to b.
func lagrange(v []float64, a, b, every, i int) float64 {
	sum := 0.0
	for p := a; p <= b; p += every {
		w := v[p]
		for q := a; q <= b; q += every {
			if q != p {
				w *= float64(i-q) / float64(p-q)
			}
		}
		sum += w
	}
	return sum
}

// refine climbs on the fine grid from the coarse mode and goes out on both
// sides until L has fallen.
func (t *level) refine(part float64) {
	at, value := t.u0+step, math.Inf(-1)
	for j := range int(2*part) + 1 {
		if v := t.at(t.u0 + float64(j)*t.gap); v > value {
			at, value = t.u0+float64(j)*t.gap, v
		}
	}
	low, high := 0, 0
	var below, above []float64
	for v := value; v > value-drop && low < 60; low++ {
		v = t.at(at - float64(low+1)*t.gap)
		below = append(below, v)
	}
	for v := value; v > value-drop && high < 60; high++ {
		v = t.at(at + float64(high+1)*t.gap)
		above = append(above, v)
	}
	t.logL = nil
	for j := len(below) - 1; j >= 0; j-- {
		t.logL = append(t.logL, below[j])
	}
	t.logL = append(append(t.logL, value), above...)
	t.u0 = at - float64(len(below))*t.gap
}

// trim cuts the ends where L is as good as none.
func (t *level) trim() {
	a, b := 0, len(t.logL)
	for a < b-1 && t.logL[a] < t.top-drop {
		a++
	}
	for b > a+1 && t.logL[b-1] < t.top-drop {
		b--
	}
	t.logL = t.logL[a:b]
	t.u0 += float64(a) * t.gap
}

func (t *level) u(j int) float64 { return t.u0 + float64(j)*t.gap }

// at is log L(u) with the prior of the spread.
func (t *level) at(u float64) float64 {
	gr := &t.l.group[t.g]
	if t.exact {
		s2 := num.Exp(2*u) + gr.width*gr.width/12
		return -0.5*(gr.n-1)*num.Log(s2) - 0.5*gr.ss/s2 - 0.5*num.Log(gr.n) - (gr.n-1)*halfLog2Pi + t.log + t.l.priorSpread(t.g, u)
	}
	_, _, logL := t.integrate(num.Exp(u))
	return logL + t.l.priorSpread(t.g, u)
}

const halfLog2Pi = 0.9189385332046727

// likelihood of the readings at mean m: chances of intervals, densities of exact readings.
func (t *level) likelihood(m, s, logS float64) float64 {
	sum, inv := product{0, 1}, 1/s
	for i := range t.seen {
		c := &t.seen[i]
		if c.width < 0.1*s {
			sum.log += c.count * (t.sc.density((c.mid-m)*inv) + c.log - logS)
			continue
		}
		sum.times(t.sc, (c.low-m)*inv, (c.high-m)*inv, c.count)
	}
	return sum.value()
}

// meanPoints is how finely a mean is integrated.
const meanPoints = 27

// integrate goes over the means that the readings leave at the standard
// deviation s: points, the density relative to its largest, and the logarithm of the
// integral. Points and density stay until it is asked again.
func (t *level) integrate(s float64) (m, f []float64, logL float64) {
	logS := num.Log(s)
	m = t.points(s, logS)
	f, top := t.f[:0], math.Inf(-1)
	for _, x := range m {
		f = append(f, t.likelihood(x, s, logS))
		top = max(top, f[len(f)-1])
	}
	t.m, t.f = m, f
	sum := 0.0
	for i := range f {
		f[i] = fallen(top - f[i])
		if i > 0 {
			sum += (m[i] - m[i-1]) * (f[i] + f[i-1]) / 2
		}
	}
	return m, f, top + num.Log(sum)
}

// points are where the density of the mean is looked at: evenly over the
// readings that it can meet, and closely about each of them where they lie
// many standard deviations apart.
func (t *level) points(s, logS float64) []float64 {
	gr := &t.l.group[t.g]
	var space [3][24]float64 // for as many as there mostly are
	at, value, good := space[0][:0], space[1][:0], space[2][:0]
	for i := range t.seen {
		c := &t.seen[i]
		switch {
		case c.low == c.high:
			at = append(at, c.low)
		default:
			for _, x := range [...]float64{c.low, (c.low + c.high) / 2, c.high} {
				if !math.IsInf(x, 0) && !math.IsNaN(x) {
					at = append(at, x)
				}
			}
		}
	}
	at = append(at, gr.mean)
	if gr.n > 20 {
		at = append(at, t.climbed(s))
	}
	if !math.IsInf(gr.low, 0) {
		at = append(at, gr.low)
	}
	if !math.IsInf(gr.high, 0) {
		at = append(at, gr.high)
	}
	top := math.Inf(-1)
	for _, x := range at {
		v := t.likelihood(x, s, logS)
		value, top = append(value, v), max(top, v)
	}
	sigma := s / math.Sqrt(gr.n)
	if t.sc.kind != Normal {
		sigma *= 1.2
	}
	a, b := math.Inf(1), math.Inf(-1)
	for i, x := range at {
		if value[i] > top-14 {
			a, b = math.Min(a, x), math.Max(b, x)
			good = append(good, x)
		}
	}
	a, b = math.Max(a-5.5*sigma, gr.low), math.Min(b+5.5*sigma, gr.high)
	n := meanPoints
	m := t.m[:0]
	if b-a > 22*sigma { // far apart: closely about each
		for _, x := range good {
			for j := -8; j <= 8; j++ {
				m = append(m, math.Min(math.Max(x+float64(j)*0.6*sigma, a), b))
			}
		}
	}
	for j := range n {
		m = append(m, a+(b-a)*float64(j)/float64(n-1))
	}
	if len(m) > n {
		m = sortedDistinct(m)
	}
	return m
}

// climbed is about the likeliest mean of many readings, by Newton steps from
// their middles under normal scatter.
func (t *level) climbed(s float64) float64 {
	gr := &t.l.group[t.g]
	m := gr.mean
	for range 12 {
		slope, bend := 0.0, 0.0
		for i := range t.seen {
			c := &t.seen[i]
			a, b := scoreAndBend((c.low-m)/s, (c.high-m)/s)
			slope += c.count * a
			bend += c.count * b
		}
		if !(bend > 0) {
			break
		}
		by := s * slope / bend
		m = math.Min(math.Max(m+math.Max(-3*s, math.Min(3*s, by)), gr.low), gr.high)
		if math.Abs(by) < 0.05*s/math.Sqrt(gr.n) {
			break
		}
	}
	return m
}

// draw gives the mean at u for the chance p.
func (t *level) draw(u, p float64) float64 {
	if t.exact {
		return t.l.group[t.g].mean + quantile(p)*t.exactSD(u)
	}
	return t.meanGrid(u).at(p)
}

// meanBelow is the chance of a mean below m at u.
func (t *level) meanBelow(u, m float64) float64 {
	if t.exact {
		return num.Phi((m - t.l.group[t.g].mean) / t.exactSD(u))
	}
	return t.meanGrid(u).below(m)
}

func (t *level) exactSD(u float64) float64 {
	gr := &t.l.group[t.g]
	return math.Sqrt((num.Exp(2*u) + gr.width*gr.width/12) / gr.n)
}

// meanGrid is the distribution of the mean at u.
func (t *level) meanGrid(u float64) *meanGrid {
	j := int(math.Round((u - t.u0) / t.gap))
	if t.l.Few { // a spread that is off by 17 % at most, and by nothing on average
		j = 2 * int(math.Round((u-t.u0)/(2*t.gap)))
	}
	grid := t.mean[j]
	if grid == nil {
		m, f, _ := t.integrate(num.Exp(t.u(j)))
		parts := meanParts
		if t.l.Few {
			parts = fewParts
		}
		grid = newMeanGrid(m, f, parts)
		t.mean[j] = grid
	}
	return grid
}
