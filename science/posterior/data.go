package posterior

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// None marks a cell that has no member of a factor.
const None = -1

// Factor is a source of spread that several readings share. Its effects are
// normal with standard deviation τ times the repeatability of the group, or times Along.
type Factor struct {
	Name    string
	Members int
	// Scale is the prior scale of τ (half-t with 3 degrees of freedom).
	Scale float64
	// Nested members belong to one group each (vials); others cross groups.
	Nested bool
	// Along is by way and group what one unit of an effect is there, on the scale of the readings; nil: the group's repeatability. That may be one of
	// several ways, too, as likely beforehand as all others together, which are as likely as each other.
	Along [][]float64
}

// logPrior is the logarithm of how likely a way is beforehand, but for a factor.
func (f *Factor) logPrior(way int) float64 {
	if f.Along[way] == nil {
		return math.Log(float64(len(f.Along) - 1))
	}
	return 0
}

// inside says whether its effects are integrated out, group by group: of vials whose part goes along with the spread.
func (f *Factor) inside() bool { return f.Nested && f.Along == nil }

// Cell is Count readings that are alike: same group, same interval, same
// member of every factor.
type Cell struct {
	Group int
	// Seen is the interval, equal ends when exact, infinite ones when open; one
	// for every sharing of Data.Shares.
	Seen   [][2]float64
	Member []int // one a factor, or None
	Count  float64
}

// Data is what the model is fitted to. All values are in one unit.
type Data struct {
	Groups    int
	Level     []float64 // true concentration of each group, for the shape of the spread
	Technique []int     // technique of each group; 0 is the reference
	// OneVial marks groups whose readings came from one vial only, so that the
	// vial's part in their mean is not seen: it is drawn from its prior.
	OneVial []bool
	Factors []Factor
	Cells   []Cell
	// Shares are the prior weights of the sharings that Cell.Seen lists; empty
	// where there is one.
	Shares []float64
	// Coarse says that the intervals are steps about as wide as a person sees
	// (a chart), so that a spread of many steps is unlikely.
	Coarse bool
	// Few asks for half the draws, a short walk, and tables of every
	// second or third place: enough for one of a hundred made-up trials, which differ by far
	// more than their limits are noisy.
	Few bool
	// MeanFloor bounds the group means from below, with some room beneath it where sources cross the
	// groups (Crossed); MeanTop those whose readings are all open above.
	MeanFloor, MeanTop float64
}

// Crossed says whether people, sessions or lots cross the groups. Then the mean of a group whose
// readings are not all open below has room beneath the floor: all means above a bound being as
// likely beforehand, more of them are left the lower its readers are said to read, and a blank,
// whose mean is at the bound, moved the means of all levels up with them.
func (d Data) Crossed() bool {
	return d.Groups > 1 && slices.ContainsFunc(d.Factors, func(f Factor) bool { return !f.Nested })
}

// beneath is that room, in steps and own spreads: people who read a spread low in common read a
// blank below nothing by as much.
const beneath = 2

// ErrNoRepeats says that no group has two readings, so that nothing tells how
// readings scatter.
var ErrNoRepeats = errors.New("no level was read twice, so nothing tells how readings scatter")

// ErrTooWide says that the readings span so many orders of magnitude that no
// spread has a weight that numbers can carry.
var ErrTooWide = errors.New("the readings span too much for any spread to be worked out")

// layout is Data in one order, with the look-ups that the fits need.
type layout struct {
	Data
	group   []group
	techs   int
	nested  int       // the nested factor, or None
	vial    int       // the same, where its effects are integrated out
	weight  []float64 // degrees of freedom of each group, for centring
	floor   float64   // of log s, on the grid
	points  int       // of the grid
	telling float64   // groups that have a say in how the spread goes
}

// group is what was read at one level under one technique.
type group struct {
	cells     []int
	n         float64
	low, high float64 // bounds of the mean
	open      bool    // all readings are open above
	width     float64 // of a reading
	mean, ss  float64 // of the middles, and the sum of squares about it
	guess     float64 // a first log s
}

func lay(d Data) (*layout, error) {
	if d.Groups == 0 || len(d.Cells) == 0 {
		return nil, fmt.Errorf("there are no readings")
	}
	l := &layout{Data: d, nested: None, vial: None, techs: 1, group: make([]group, d.Groups)}
	if len(l.Shares) == 0 {
		l.Shares = []float64{1}
	}
	l.Cells = slices.Clone(d.Cells)
	slices.SortStableFunc(l.Cells, compareCells)
	for f, fac := range d.Factors {
		if fac.Nested {
			if l.nested = f; fac.inside() {
				l.vial = f
			}
		}
	}
	for _, t := range d.Technique {
		l.techs = max(l.techs, t+1)
	}
	for i, c := range l.Cells {
		l.group[c.Group].cells = append(l.group[c.Group].cells, i)
		l.group[c.Group].n += c.Count
	}
	repeats := 0.0
	for g := range l.group {
		repeats += max(0, l.group[g].n-1)
	}
	if repeats == 0 {
		return nil, ErrNoRepeats
	}
	l.measure(repeats)
	for g := range l.group {
		l.weight = append(l.weight, l.tells(g))
		if l.weight[g] > 0 {
			l.telling++
		}
	}
	return l, nil
}

// tells is how much a group's readings have to say of how the spread goes: their degrees
// of freedom; nothing where all are open above, so that levels beyond what a method shows
// do not stretch the shapes, unless all groups are like that.
func (l *layout) tells(g int) float64 {
	if l.group[g].open && slices.ContainsFunc(l.group, func(o group) bool { return !o.open }) {
		return 0
	}
	return max(0.3, l.group[g].n-1)
}

func compareCells(a, b Cell) int {
	return cmp.Or(cmp.Compare(a.Group, b.Group), cmp.Compare(a.Seen[0][0], b.Seen[0][0]), cmp.Compare(a.Seen[0][1], b.Seen[0][1]),
		slices.Compare(a.Member, b.Member), cmp.Compare(a.Count, b.Count))
}

// measure finds each group's first moments, the bounds of its mean and the
// grid of log s: from a robust scale, with room above the largest group.
func (l *layout) measure(repeats float64) {
	var widths, own []float64
	for i := range l.Cells {
		if w := l.Cells[i].Seen[0][1] - l.Cells[i].Seen[0][0]; !math.IsInf(w, 0) {
			widths = append(widths, w)
		}
	}
	typical := median(widths)
	for g := range l.group {
		l.moments(g, typical)
		if gr := l.group[g]; gr.n > 1 && gr.ss > 0 {
			own = append(own, 0.5*math.Log(gr.ss/(gr.n-1)))
		}
	}
	middle, low, high := median(own), math.Inf(1), math.Inf(-1)
	if len(own) == 0 {
		middle = math.Log(math.Max(typical, 1e-9*l.scale()) / 4)
	}
	for g := range l.group {
		gr := &l.group[g]
		switch {
		case gr.n > 1 && gr.ss > 0:
			gr.guess = 0.5 * math.Log((gr.ss+0.1*gr.n*gr.width*gr.width/12)/(gr.n-1))
		case gr.width > 0:
			gr.guess = math.Log(gr.width / 4)
		default:
			gr.guess = middle
		}
		low, high = math.Min(low, gr.guess), math.Max(high, gr.guess)
	}
	low = math.Max(low, math.Max(middle, high)-7) // two alike by chance say nothing of a spread far below all others
	for g := range l.group {
		l.group[g].guess = math.Max(l.group[g].guess, low)
	}
	l.floor = low - 3.5
	room := 3.0
	if slices.ContainsFunc(l.group, func(g group) bool { return g.n <= 3 }) {
		room = 4.5 // the tail of two readings reaches to 30 times their spread
	}
	if repeats <= 2 {
		room = 8
	}
	l.points = int((math.Max(high, middle)+room-l.floor)/step) + 2
}

// scale is a size of the readings, for data that are all exact and alike.
func (l *layout) scale() float64 {
	s := 0.0
	for _, gr := range l.group {
		s = math.Max(s, math.Abs(gr.mean))
	}
	return math.Max(s, 1e-9)
}

func (l *layout) moments(g int, typical float64) {
	gr := &l.group[g]
	below, above, closed := true, true, 0.0
	for _, i := range gr.cells {
		c := &l.Cells[i]
		s := c.Seen[0]
		gr.mean += c.Count / gr.n * middle(s)
		below, above = below && math.IsInf(s[0], -1), above && math.IsInf(s[1], 1)
		if w := s[1] - s[0]; !math.IsInf(w, 0) {
			gr.width += w * c.Count
			closed += c.Count
		}
	}
	gr.low, gr.high, gr.open = l.MeanFloor, math.Inf(1), above
	if gr.width /= closed; closed == 0 {
		gr.width = typical
	}
	for _, i := range gr.cells {
		r := middle(l.Cells[i].Seen[0]) - gr.mean
		gr.ss += l.Cells[i].Count * r * r
	}
	far := 50 * (gr.width + math.Sqrt(gr.ss))
	switch {
	case below:
		gr.low = math.Max(l.MeanFloor, gr.mean-far)
	case l.Crossed():
		gr.low -= beneath * (gr.width + math.Sqrt(gr.ss/gr.n))
	}
	if above {
		gr.high = math.Min(l.MeanTop, gr.mean+far)
	}
	if gr.low >= gr.high { // a bound beyond what was read holds nothing
		gr.low, gr.high = math.Min(gr.low, gr.mean-far), math.Max(gr.high, gr.mean+far)
	}
	if below && closed == 0 && gr.mean > gr.low && !math.IsInf(l.MeanFloor, 0) && typical > 0 {
		gr.width = math.Min(gr.mean-gr.low, 4*typical)
	}
	gr.mean = math.Min(math.Max(gr.mean, gr.low), gr.high)
}

// middle is a stand-in for a reading: the middle of its interval, or the
// bounded end of an open one.
func middle(s [2]float64) float64 {
	switch {
	case math.IsInf(s[0], -1) && math.IsInf(s[1], 1):
		return 0
	case math.IsInf(s[0], -1):
		return s[1]
	case math.IsInf(s[1], 1):
		return s[0]
	}
	return s[0] + (s[1]-s[0])/2
}

// priorSpread is the log prior of a group's spread beside its shape: a spread
// far below what an interval can show is as unlikely as it is unseen, so that
// readings that all fell in one interval give an upper limit, not zero; where
// intervals are as wide as a person sees, many steps are unlikely too.
func (l *layout) priorSpread(g int, u float64) float64 {
	w := l.group[g].width
	if w == 0 || l.weight[g] == 0 {
		return 0
	}
	r := math.Exp(u) / w
	p := -3 / l.telling * math.Log1p(1/r)
	if l.Coarse {
		p -= 2 / l.telling * math.Log1p(r*r/4)
	}
	return p
}

// distinct is how many different intervals a group shows.
func (l *layout) distinct(g int) int {
	var seen [][2]float64
	for _, i := range l.group[g].cells {
		if s := l.Cells[i].Seen[0]; !slices.Contains(seen, s) {
			seen = append(seen, s)
		}
	}
	return len(seen)
}

// robust is a first log s that a slip does not draw up: from the median distance
// of a group's middles to their median, where that is more than nothing.
func (l *layout) robust(g int) float64 {
	gr := &l.group[g]
	var all []float64
	for _, i := range gr.cells {
		for range min(int(l.Cells[i].Count), 50) {
			all = append(all, middle(l.Cells[i].Seen[0]))
		}
	}
	centre := median(all)
	for i := range all {
		all[i] = math.Abs(all[i] - centre)
	}
	if off := median(all); off > 0 && len(all) > 4 {
		return math.Min(gr.guess, math.Log(1.48*off))
	}
	return gr.guess
}
