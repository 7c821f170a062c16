package assess

import (
	"math"

	"knownwater/science/note"
	"knownwater/science/posterior"
)

// What people, sessions and lots differ by goes along with the repeatability, or with something else
// (posterior.Factor.Along): then it is another part of it at every place.

// waysOfParts says of the sources that differ for sure, and not as the repeatability goes, how they do: as most draws have it.
func (st *study) waysOfParts() {
	if st.post == nil {
		return
	}
	for _, src := range sources {
		f, ok := st.factor[src.name]
		d, spread, even, share := st.post.Wide, 0, 0, 0
		if !ok || !d.FlatIn(f) || !st.sureParts()[f] { // where they may not differ at all nothing is said
			continue
		}
		if st.readWithSeveral(f) < 3 {
			st.note(note.New("part-alone").Name("part", src.name))
			continue
		}
		draws := make([]int, len(d.Along[f]))
		for _, way := range d.Way[f] {
			draws[way]++
		}
		for way, height := range d.Along[f] {
			if height == nil {
				spread += draws[way]
			} else if power := st.powerOf(height); power < 0.2 {
				even += draws[way]
			} else if power > 0.8 {
				share += draws[way]
			}
		}
		switch {
		case 2*even > d.Len():
			st.note(note.New("part-even").Name("part", src.name))
		case 2*share > d.Len():
			st.note(note.New("part-by-share").Name("part", src.name))
		case 5*(d.Len()-spread-even) > 4*d.Len(): // in proportion or not
			st.note(note.New("part-by-root").Name("part", src.name))
		}
	}
}

// powerOf is that of the concentration by which heights rise from the least level above nothing to the highest.
func (st *study) powerOf(height []float64) float64 {
	first := 0
	for first < len(st.levels)-2 && st.levels[first].value <= 0 {
		first++
	}
	last := len(st.levels) - 1
	a, b := st.groupAt(first), st.groupAt(last)
	return math.Log(height[b]/height[a]) / math.Log(st.levels[last].value/st.levels[first].value)
}

// readWithSeveral counts the groups that more than one member of a factor read.
func (st *study) readWithSeveral(f int) (n int) {
	several, one := make([]bool, len(st.groups)), map[int]int{}
	for _, c := range st.data.Cells {
		if m := c.Member[f]; m != posterior.None {
			if was, there := one[c.Group]; there && was != m && !several[c.Group] {
				several[c.Group] = true
				n++
			}
			one[c.Group] = m
		}
	}
	return n
}

// over is by what effects of a factor and its τ are multiplied at a place, to be in repeatabilities there.
func (at between) over(d *posterior.Draws, f, k int) float64 {
	if d.WithSpread(f, k) {
		return 1
	}
	a, b := d.Height(f, at.a, k), d.Height(f, at.b, k)
	return (a + at.straight*(b-a)) / at.repeatability(d, k)
}

// part is a factor's standard deviation there in draw k, in repeatabilities.
func (at between) part(d *posterior.Draws, f, k int) float64 {
	return d.Ratio[f][k] * at.over(d, f, k)
}

// whole is the whole spread of a single reading there in draw k, in repeatabilities.
func (at between) whole(d *posterior.Draws, k int) float64 {
	return d.WholeOf(k, func(f int) float64 { return at.part(d, f, k) })
}

// within is what is left of whole between two tests by one reader in one session and lot: nested is the factor of the vials, or None.
func (at between) within(d *posterior.Draws, k, nested int) float64 {
	return d.WholeOf(k, func(f int) float64 {
		if f != nested {
			return 0
		}
		return at.part(d, f, k)
	})
}

// tauAt is the variance of a source at c in draw d of the record, in units of repeatability there.
func (st *study) tauAt(source string, d int, c float64) float64 {
	over := st.over(source, d, c)
	return st.tau(source, d) * over * over
}

// over is that of a source at c, in draw d of the record.
func (st *study) over(source string, d int, c float64) float64 {
	f, ok := st.factor[source]
	if !ok || st.post == nil || !st.post.Form.FlatIn(f) {
		return 1
	}
	return st.along(c).over(st.post.Form, f, st.kept[d])
}
