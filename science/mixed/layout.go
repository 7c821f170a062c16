package mixed

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// lay checks the data, puts the cells into one order, and builds the look-ups.
func lay(d Data) (*layout, error) {
	l := &layout{Data: d, vial: None}
	if d.Groups == 0 || len(d.Cells) == 0 {
		return nil, fmt.Errorf("there are no readings")
	}
	l.Cells = slices.Clone(d.Cells)
	slices.SortFunc(l.Cells, compareCells)
	l.techs = 1
	for _, t := range d.Technique {
		l.techs = max(l.techs, t+1)
	}
	l.count = make([]float64, d.Groups)
	l.byGroup = make([][]int, d.Groups)
	l.byTech = make([][]int, l.techs)
	l.inGroup = make([][]int, d.Groups)
	l.byMember = make([][][]int, len(d.Factors))
	for f, fac := range d.Factors {
		l.byMember[f] = make([][]int, fac.Members)
		if fac.Nested {
			l.vial = f
		}
	}
	for i, c := range l.Cells {
		l.all = append(l.all, i)
		l.count[c.Group] += c.Count
		l.byGroup[c.Group] = append(l.byGroup[c.Group], i)
		l.byTech[d.Technique[c.Group]] = append(l.byTech[d.Technique[c.Group]], i)
		for f, j := range c.Member {
			if j < 0 {
				continue
			}
			if f == l.vial && len(l.byMember[f][j]) == 0 {
				l.inGroup[c.Group] = append(l.inGroup[c.Group], j)
			}
			l.byMember[f][j] = append(l.byMember[f][j], i)
		}
	}
	repeats := 0.0
	for _, n := range l.count {
		repeats += max(0, n-1)
	}
	if repeats == 0 {
		return nil, ErrNoRepeats
	}
	l.bound()
	l.begin()
	return l, nil
}

// bound gives the bounds to the groups that need them: those whose readings
// are all open at that end, so that nothing else holds the mean.
func (l *layout) bound() {
	l.floor, l.top = make([]float64, l.Groups), make([]float64, l.Groups)
	for g, cells := range l.byGroup {
		openBelow, openAbove := true, true
		for _, i := range cells {
			openBelow = openBelow && math.IsInf(l.Cells[i].Low, -1)
			openAbove = openAbove && math.IsInf(l.Cells[i].High, 1)
		}
		l.floor[g], l.top[g] = math.Inf(-1), math.Inf(1)
		if openBelow {
			l.floor[g] = l.MeanFloor
		}
		if openAbove {
			l.top[g] = l.MeanTop
		}
	}
}

func compareCells(a, b Cell) int {
	if c := cmp.Compare(a.Group, b.Group); c != 0 {
		return c
	}
	if c := cmp.Compare(a.Low, b.Low); c != 0 {
		return c
	}
	if c := cmp.Compare(a.High, b.High); c != 0 {
		return c
	}
	if c := slices.Compare(a.Member, b.Member); c != 0 {
		return c
	}
	return cmp.Compare(a.Count, b.Count)
}

// begin finds starting values from the middles of the intervals, and the two
// fixed scales: ref, the middle response, and width, the middle width of a reading.
func (l *layout) begin() {
	var widths, responses []float64
	l.start = make([]float64, l.Groups)
	square, df := 0.0, 0.0
	for g, cells := range l.byGroup {
		sum := 0.0
		for _, i := range cells {
			sum += l.Cells[i].Count * l.middle(i)
			if w := l.Cells[i].High - l.Cells[i].Low; !math.IsInf(w, 0) {
				widths = append(widths, w)
			}
		}
		if len(cells) == 0 {
			continue
		}
		mean := sum / l.count[g]
		l.start[g] = min(max(mean, l.floor[g]), l.top[g])
		own := 0.0
		for _, i := range cells {
			r := l.middle(i) - mean
			own += l.Cells[i].Count * r * r
		}
		l.climbTo(g, math.Sqrt(own/l.count[g]))
		square += own
		df += l.count[g] - 1
		if mean > 0 {
			responses = append(responses, mean)
		}
	}
	l.width = median(widths)
	l.ref = median(responses)
	l.spread = math.Max(math.Sqrt(square/df), l.width/4)
	if l.ref == 0 || math.IsNaN(l.ref) {
		l.ref = math.Max(1, l.width)
	}
	if l.width == 0 {
		l.width = 1e-9 * l.ref // exact readings: the prior of φ is 1/φ for all that matters
	}
	if l.spread == 0 {
		l.spread = l.width / 4
	}
	l.findEnds()
}

// climbTo moves the starting value of a group from the average midpoint to
// about the likeliest mean, for a spread sd: unequal gaps between swatches pull
// the midpoints off by some percent.
func (l *layout) climbTo(g int, sd float64) {
	if sd == 0 {
		return // all readings alike: no value inside is better than another
	}
	for range 12 {
		slope, bend := 0.0, 0.0
		for _, i := range l.byGroup[g] {
			c := &l.Cells[i]
			s, b := scoreAndBend((c.Low-l.start[g])/sd, (c.High-l.start[g])/sd)
			slope += c.Count * s
			bend += c.Count * b
		}
		if !(bend > 0) {
			return
		}
		step := sd * math.Max(-1, math.Min(1, slope/bend))
		l.start[g] = math.Min(math.Max(l.start[g]+step, l.floor[g]), l.top[g])
	}
}

// findEnds notes the groups with the lowest and the highest response.
func (l *layout) findEnds() {
	low, high := -1, -1
	for g := range l.start {
		if len(l.byGroup[g]) == 0 {
			continue
		}
		if low < 0 || l.start[g] < l.start[low] {
			low = g
		}
		if high < 0 || l.start[g] > l.start[high] {
			high = g
		}
	}
	l.ends = []end{{l.start[low], l.widthAt(low)}, {l.start[high], l.widthAt(high)}}
}

// widthAt is the average width of the closed readings of group g; where there
// are none, the width down to the floor, else the middle width of all.
func (l *layout) widthAt(g int) float64 {
	sum, n, floor := 0.0, 0.0, l.width
	for _, i := range l.byGroup[g] {
		c := l.Cells[i]
		switch w := c.High - c.Low; {
		case !math.IsInf(w, 0):
			sum += w * c.Count
			n += c.Count
		case math.IsInf(c.Low, -1) && c.High > l.MeanFloor && !math.IsInf(l.MeanFloor, 0):
			floor = math.Min(c.High-l.MeanFloor, 4*l.width)
		}
	}
	if n == 0 {
		return floor
	}
	return sum / n
}

// middle is a stand-in for a reading: the middle of its interval, or the
// bounded end of an open one.
func (l *layout) middle(i int) float64 {
	c := &l.Cells[i]
	switch {
	case math.IsInf(c.Low, -1) && math.IsInf(c.High, 1):
		return 0
	case math.IsInf(c.Low, -1):
		return c.High
	case math.IsInf(c.High, 1):
		return c.Low
	}
	return c.Low + (c.High-c.Low)/2
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
