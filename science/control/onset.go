package control

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// fineTiles stand for numbers where a chain needs steps.
var fineTiles = func() (out []interval.Interval) {
	const step = 0.125
	for z := -10.0; z < 10; z += step {
		out = append(out, interval.Interval{Low: z, High: z + step})
	}
	return out
}()

// Onset is since when a method reads otherwise, by how much, and how likely that is.
type Onset struct {
	Best, From, To int // of the checks: the first that was read otherwise; From to To hold it in 95 of 100
	// Shift is how far readings have moved by the last check, in standard deviations of one check:
	// the middle, and 95 of 100.
	Shift, ShiftLow, ShiftHigh float64
	Odds                       float64 // that it has moved, to that it has not
	// Drifts: it did not move at once. It moves on with each check, and the first of them is Best.
	Drifts bool
	// Back: it read otherwise for a while and is likelier to read as it should again than not.
	Back bool
	// By is the first check by which it surely did so again; 0: the checks do not say so.
	By int
}

// Beforehand: odds that a method has moved by its next check, and by the first of a lot that
// was not tried, which is told from others by that alone. Both are conventions.
const (
	eachOdds   = 0.01 // as DefaultBetween
	newLotOdds = 0.25
)

// typical is the scale of shifts beforehand, in standard deviations of one check: Student's
// with three degrees of freedom, since a lot may read otherwise by twenty times the scatter
// of a good meter.
const typical = 1.5

// OnsetOf is where a change that there is began, of a row that is aimed at a shift of so much (Limits.Shift). Before it checks are distributed as in a
// draw of the record, from it on moved by a shift; draws are equally likely beforehand, and so
// are places among the checks but the first of a new lot (D. V. Hinkley 1970, Biometrika 57,
// 1, for the likelihood; its mean over shifts and draws instead of the largest, so that what is
// not known of them widens the interval). Best is the likeliest place; From to To the shortest
// run of places about it that holds 95 in 100. Odds are those of any place to none: what is
// the same in a record that is off and in a method that has moved counts for neither.
//
// As likely beforehand as a step is a drift: from its place on each check is moved by as much more than the
// one before, up to a shift at the last. A third as likely is one that has stopped: after 4, 8 or 16 checks, each as likely,
// readings stay where they are. As likely as that is a step that was taken back, fewestSince checks before the last or earlier (excursions). How far readings have moved, and since when, is told over all of them;
// it is called a drift where one that goes on is likelier than one that has stopped, and than a step by driftOdds, and
// back where one that was taken back wholly is likelier than all others.
func OnsetOf(r Row, aimed float64) Onset {
	far, sizes := r.sizes()
	begin, draws := starts(len(r.Checks)), r.chances(far)
	back := excursions(draws, sizes)
	o := r.places(draws, sizes, far/halfSizes, begin, back)
	// those are too coarse for how far: finer ones over what they leave open, and two of their steps beyond
	low, high := math.Max(-far, o.ShiftLow-2*far/halfSizes), math.Min(far, o.ShiftHigh+2*far/halfSizes)
	coarse := sizes
	sizes = nil
	for k := 0.0; k <= 64; k++ {
		sizes = append(sizes, low+(high-low)*k/64)
	}
	fine := r.places(draws, sizes, (high-low)/64, begin, back)
	o.Shift, o.ShiftLow, o.ShiftHigh = fine.Shift, fine.ShiftLow, fine.ShiftHigh
	if o.Back {
		o.By = returned(draws, coarse, aimed)
	}
	return o
}

// oddsOf are those of any step to none; of a row that has rung, with those of one that was taken back, all or in part: what
// read otherwise for a while did so however long it has read as it should since.
func oddsOf(r Row, rang bool) float64 {
	far, sizes := r.sizes()
	draws := r.chances(far)
	odds := r.places(draws, sizes, far/halfSizes, nil, excursion{}).Odds
	if !rang {
		return odds
	}
	none := math.Inf(-1)
	for _, c := range draws {
		none = logSum(none, c.unmoved())
	}
	for _, back := range excursions(draws, sizes).begins {
		odds += math.Exp(math.Min(back-none, 700))
	}
	return odds
}

// sizes of a shift either way, as far as any check lies and further; four times as far where it is open, as what
// reads beyond the last answer may read far beyond it.
func (r Row) sizes() (far float64, sizes []float64) {
	far = 8.0
	for _, c := range r.Checks {
		seen := c.unit().in(c.Seen)
		v := math.Abs(value(seen))
		if far = math.Max(far, v+2); math.IsInf(seen.Width(), 1) {
			far = math.Max(far, 4*v)
		}
	}
	for k := -halfSizes; k <= halfSizes; k++ {
		if k != 0 {
			sizes = append(sizes, far*float64(k)/halfSizes)
		}
	}
	return far, sizes
}

const (
	halfSizes   = 32      // of shifts either way that chances are worked out for
	mostStarts  = 24      // places among the checks at which a drift may begin
	fewestOf    = 3       // checks of a drift: of two nobody tells it from a step
	stoppedOdds = 1.0 / 3 // of a drift that has stopped to one that has not
	driftOdds   = 3.0     // of a drift to a step, for it to be told as one
)

// stops are after how many checks a drift may have stopped, fewestSince or more before the last: of fewer nobody tells it from
// one that goes on.
var stops = []int{4, 8, 16}

const fewestSince = 6

// starts are the places at which a drift may begin, evenly spread.
func starts(n int) (out []int) {
	last := n - fewestOf
	if last < 0 {
		return nil
	}
	m := min(last+1, mostStarts)
	for k := range m {
		out = append(out, k*last/max(1, m-1))
	}
	return out
}

// sizesBefore are how likely sizes of a shift are beforehand, as many as lie so far apart on either side of nothing.
func sizesBefore(far float64, sizes []float64, gap float64) []float64 {
	total := 0.0
	for k := 1; k <= halfSizes; k++ {
		total += 2 * stepBefore(far*float64(k)/halfSizes)
	}
	out := make([]float64, len(sizes))
	for j, s := range sizes {
		out[j] = stepBefore(s) / total * gap * halfSizes / far
	}
	return out
}

// stepBefore is how likely a step of a size is beforehand, but for a factor.
func stepBefore(s float64) float64 { return math.Pow(1+s*s/typical/typical/3, -2) }

// pile adds chances up that come draw by draw as logarithms in now: all are told to the likeliest, so that what no digit shows
// costs no exponential.
type pile struct {
	now, sum []float64
	top      float64
}

func newPile(n int) *pile {
	return &pile{now: make([]float64, n), sum: make([]float64, n), top: math.Inf(-1)}
}

func (p *pile) add() {
	if len(p.now) == 0 {
		return
	}
	if top := slices.Max(p.now); top > p.top {
		for i := range p.sum {
			p.sum[i] *= math.Exp(p.top - top)
		}
		p.top = top
	}
	for i, v := range p.now {
		if v -= p.top; v > -45 {
			p.sum[i] += math.Exp(v)
		}
	}
}

// rows are the logarithms of the sums, so many a row.
func (p *pile) rows(wide int) (out [][]float64) {
	for row := range slices.Chunk(p.sum, wide) {
		for j, v := range row {
			row[j] = p.top + math.Log(v)
		}
		out = append(out, row)
	}
	return out
}

// places weighs each place and size of a change, of steps and of drifts that begin at some of them; back is what was
// weighed of steps taken back. Sizes lie so far apart.
func (r Row) places(draws []chances, sizes []float64, gap float64, begin []int, back excursion) Onset {
	n := len(r.Checks)
	step, drift, stop := newPile(n*len(sizes)), newPile(len(begin)*len(sizes)), newPile(len(stops)*len(begin)*len(sizes))
	moved, still := make([]float64, n+1), make([]float64, n+1) // of the checks from each place on, moved by all of a shift, and of those before it
	none := math.Inf(-1)
	for _, c := range draws {
		for i := range r.Checks {
			still[i+1] = still[i] + c.still(i)
		}
		none = logSum(none, still[n])
		for j, s := range sizes {
			place := c.place(s)
			for i := n - 1; i >= 0; i-- {
				moved[i] = moved[i+1] + c.at(i, place)
				step.now[i*len(sizes)+j] = still[i] + moved[i]
			}
			along := func(from, to int) (sum float64) {
				more := (place - halfSizes) / float64(to-from)
				for i := from; i < to; i++ {
					sum += c.at(i, halfSizes+more*float64(i-from+1))
				}
				return still[from] + sum + moved[to]
			}
			for k, from := range begin {
				drift.now[k*len(sizes)+j] = along(from, n)
				for x, after := range stops {
					at := &stop.now[(x*len(begin)+k)*len(sizes)+j]
					if *at = math.Inf(-1); from+after+fewestSince <= n {
						*at = along(from, from+after)
					}
				}
			}
		}
		step.add()
		drift.add()
		stop.add()
	}
	far := draws[0].far
	steps, drifts, stopped := step.rows(len(sizes)), drift.rows(len(sizes)), stop.rows(len(sizes))
	before := sizesBefore(far, sizes, gap)
	for j := range before {
		before[j] = math.Log(before[j])
	}
	weigh := func(w []float64, odds float64) {
		odds = math.Log(odds)
		for j := range w {
			w[j] += odds + before[j]
		}
	}
	for i := range steps {
		odds := eachOdds
		if i == 0 && r.New {
			odds = newLotOdds
		}
		weigh(steps[i], odds)
	}
	for k := range drifts {
		weigh(drifts[k], eachOdds*float64(n)/float64(len(begin)))
	}
	for k := range stopped { // by stop, then by place
		weigh(stopped[k], stoppedOdds*eachOdds*float64(n)/float64(len(begin)*len(stops)))
	}
	return onsetFrom(steps, drifts, stopped, back, begin, sizes, none)
}

// onsetFrom sums weights up, against that of no change.
func onsetFrom(steps, drifts, stopped [][]float64, back excursion, begin []int, sizes []float64, none float64) Onset {
	top := math.Inf(-1)
	for _, w := range slices.Concat(steps, drifts, stopped, [][]float64{back.begins}) {
		for _, v := range w {
			top = math.Max(top, v)
		}
	}
	size := make([]float64, len(sizes))
	sum := func(weight [][]float64) (place []float64, all float64) {
		place = make([]float64, len(weight))
		for i, w := range weight {
			for j, v := range w {
				p := math.Exp(v - top)
				place[i] += p
				size[j] += p
				all += p
			}
		}
		return place, all
	}
	place, step := sum(steps)
	start, drift := sum(drifts)
	ended, stop := sum(stopped)
	for k := range len(ended) - len(begin) { // one for each stop
		ended[k%len(begin)] += ended[k+len(begin)]
	}
	returned := 0.0 // steps that were taken back, all or in part
	for k, v := range back.begins {
		p := math.Exp(v - top)
		place[k] += p
		returned += p
	}
	all := step + drift + stop + returned
	for k, p := range start {
		p += ended[k] // one stands for the places up to the next
		n := 1
		if k+1 < len(begin) {
			n = begin[k+1] - begin[k]
		}
		for i := range n {
			place[begin[k]+i] += p / float64(n)
		}
	}
	o := Onset{Odds: math.Exp(math.Min(top+math.Log(step+returned)-none, 700)), Drifts: drift > driftOdds*step && drift > stop, Back: len(back.left) > 0 && returned*back.left[nothingLeft] > all/2}
	o.Best, o.From, o.To = runOf(place, all)
	type weighed struct{ size, p float64 }
	var by []weighed
	for j, p := range size {
		by = append(by, weighed{sizes[j], p})
	}
	for j, share := range back.left {
		by = append(by, weighed{leftSizes[j], returned * share})
	}
	slices.SortFunc(by, func(a, b weighed) int { return cmp.Compare(a.size, b.size) })
	at := func(share float64) float64 {
		sum := 0.0
		for _, w := range by {
			if sum += w.p; sum >= share*all {
				return w.size
			}
		}
		return math.NaN()
	}
	o.Shift, o.ShiftLow, o.ShiftHigh = at(0.5), at(0.025), at(0.975)
	return o
}

// runOf is the likeliest place, and the shortest run about it that holds 95 in 100 of all.
func runOf(place []float64, all float64) (best, from, to int) {
	for i := range place {
		if place[i] > place[best] {
			best = i
		}
	}
	from, to = best, best
	for held := place[best]; held < 0.95*all; { // the likelier neighbour next
		switch {
		case to+1 == len(place), from > 0 && place[from-1] >= place[to+1]:
			from--
			held += place[from]
		default:
			to++
			held += place[to]
		}
	}
	return best, from, to
}

func logSum(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if !(b-a > -40) { // nothing of it is left in the last digit, or b is nothing at all
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// FromChecks are draws of what a method's checks are distributed as where only a few of
// its own say it: m numbers with mean x̄ and standard deviation s leave
//
//	σ = s √((m−1)/χ²),  μ = x̄ + σ z/√m
//
// with χ² of m−1 degrees of freedom and z normal (every μ and log σ equally likely
// beforehand), here at evenly spread places of both, in a fixed order. Limits from such
// draws are as wide as few checks make them: those of three standard deviations from ten
// checks would ring wrongly one time in 53 instead of 370. Nothing below FewestSet checks:
// no limit is set yet.
func FromChecks(values []float64) []Normal {
	m := len(values)
	if m < FewestSet {
		return nil
	}
	mean, sd := num.MeanSD(values)
	if !(sd > 0) {
		return nil
	}
	const many = 121
	out := make([]Normal, many)
	for i := range out {
		// places of a lattice: no two draws share a stratum of either
		chi := num.ChiSquareQuantile((float64(i)+0.5)/many, float64(m-1))
		z := num.PhiInv((float64(i*75%many) + 0.5) / many)
		s := sd * math.Sqrt(float64(m-1)/chi)
		out[i] = Normal{mean + s*z/math.Sqrt(float64(m)), s}
	}
	return out
}

// FewestSet is how many checks limits are set from at least, where no record says what a
// check is distributed as.
const FewestSet = 8
