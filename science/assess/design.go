package assess

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/posterior"
	"knownwater/science/reading"
)

// design is a strand as package posterior wants it: groups (a level under a
// technique), factors that the design can tell, and cells.
type design struct {
	levels     []level
	techniques []string
	groups     []group
	at         map[[2]int]int // (level, technique) → group
	data       posterior.Data
	shares     []float64      // the sharings of a chart's gaps that are tried; nil for other kinds
	factor     map[string]int // name → index in data.Factors
	members    map[string][]string
	why        map[string]note.Note    // source → why the design cannot tell it
	understood map[string][][2]float64 // text → what it means under every sharing
	n          int
}

// group is one level under one technique.
type group struct {
	level, technique int
	n                int
	oneSeen          bool // all readings were the same
	hides            bool // all readings may be one value, of more than one: the scatter hides in the steps
	oneInterval      bool // … and that leaves the value open
	steady           bool // hands without any scatter may have read so
	openBelow        bool // all readings are open below
	openAbove        bool
	interval         [2]float64
}

// The sources of spread besides repeatability, and how large each is expected
// to be beforehand beside it (common practice, no source: people and vials
// differ about as much as repeats do, days and lots by half of that).
var sources = []struct {
	name  string
	scale float64
	of    func(o knownwater.Observation) string
}{
	{"reader", 1, func(o knownwater.Observation) string { return o.Reader }},
	{"session", 0.5, func(o knownwater.Observation) string { return o.Session }},
	{"lot", 0.5, func(o knownwater.Observation) string { return o.Lot }},
	{"vial", 1, knownwater.Observation.VialKey},
}

func newDesign(s strand, o Options) *design {
	d := &design{
		levels: levelsOf(s.obs), techniques: techniquesOf(s.obs), at: map[[2]int]int{},
		factor: map[string]int{}, members: map[string][]string{}, why: map[string]note.Note{},
	}
	groupOf := d.findGroups(s)
	d.data.Technique = make([]int, len(d.groups))
	for g := range d.groups {
		d.data.Technique[g] = d.groups[g].technique
		d.data.Level = append(d.data.Level, d.levels[d.groups[g].level].value)
	}
	d.data.Groups = len(d.groups)
	d.findFactors(s, groupOf)
	bounds := reading.Bounds(s.method).Scale(s.dilution)
	d.data.MeanFloor, d.data.MeanTop = bounds.Low, bounds.High
	d.data.Coarse = reading.Of(s.method.Kind).Coarse
	d.findShares(s, o)
	d.data.OneVial = d.oneVial(s, groupOf)
	for i, o := range s.obs {
		c := posterior.Cell{Group: groupOf[i], Seen: d.seenAs(s, o), Count: float64(o.Count)}
		for range d.data.Factors {
			c.Member = append(c.Member, posterior.None)
		}
		for _, src := range sources {
			if f, ok := d.factor[src.name]; ok && src.of(o) != "" {
				c.Member[f], _ = slices.BinarySearch(d.members[src.name], src.of(o))
			}
		}
		d.data.Cells = append(d.data.Cells, c)
	}
	d.data.Cells = pool(d.data.Cells)
	return d
}

// findGroups numbers the groups in order of level, then of technique.
func (d *design) findGroups(s strand) []int {
	levelAt := map[float64]int{}
	for i, l := range d.levels {
		levelAt[l.value] = i
	}
	techAt := map[string]int{}
	for i, t := range d.techniques {
		techAt[t] = i
	}
	groupOf := make([]int, len(s.obs))
	common := [][2]float64{} // by group: what its readings' intervals have in common
	for i, o := range s.obs {
		k := [2]int{levelAt[o.Level], techAt[o.Technique]}
		g, ok := d.at[k]
		on := o.On()
		if !ok {
			g = len(d.groups)
			d.at[k] = g
			d.groups = append(d.groups, group{level: k[0], technique: k[1], oneSeen: true, openBelow: true, openAbove: true, interval: [2]float64{on.Low, on.High}})
			common = append(common, [2]float64{on.Low, on.High})
		}
		common[g] = [2]float64{math.Max(common[g][0], on.Low), math.Min(common[g][1], on.High)}
		gr := &d.groups[g]
		gr.n += o.Count
		gr.openBelow = gr.openBelow && on.OpenBelow()
		gr.openAbove = gr.openAbove && on.OpenAbove()
		if gr.interval != [2]float64{on.Low, on.High} {
			gr.oneSeen = false
		}
		d.n += o.Count
		groupOf[i] = g
	}
	kind := reading.Of(s.method.Kind)
	for g := range d.groups {
		gr, at := &d.groups[g], d.levels[d.groups[g].level].value
		gr.oneInterval = gr.oneSeen && gr.interval[0] < gr.interval[1]
		gr.hides = gr.n > 1 && common[g][0] <= common[g][1] && gr.interval[0] < gr.interval[1]
		// knowns are commonly made where one count of drops gives way to the next, which is then read as either; and
		// where a display goes from one number to the next
		onEdge := !kind.Coarse && !kind.Signal && math.Abs(common[g][0]-at) <= 1e-6*(gr.interval[1]-gr.interval[0])
		gr.steady = gr.oneSeen || gr.hides && (kind.Counts || onEdge)
	}
	return groupOf
}

// findFactors keeps the sources that the design can tell, and says why not of
// the others.
func (d *design) findFactors(s strand, groupOf []int) {
	for _, src := range sources {
		byGroup := make([]map[string]int, len(d.groups))
		all := map[string]int{}
		for i, o := range s.obs {
			m := src.of(o)
			if m == "" {
				continue
			}
			if byGroup[groupOf[i]] == nil {
				byGroup[groupOf[i]] = map[string]int{}
			}
			byGroup[groupOf[i]][m] += o.Count
			all[m] += o.Count
		}
		if why := cannotTell(src.name, all, byGroup); why.Code != "" {
			d.why[src.name] = why
			continue
		}
		names := make([]string, 0, len(all))
		for m := range all {
			names = append(names, m)
		}
		slices.Sort(names)
		if twin := d.sameAs(s, src.of); twin != "" {
			d.why[src.name] = note.New("part-is-twin").Name("part", src.name).Name("twin", twin)
			continue
		}
		d.factor[src.name] = len(d.data.Factors)
		d.members[src.name] = names
		d.data.Factors = append(d.data.Factors, posterior.Factor{Name: src.name, Members: len(names), Scale: src.scale, Nested: src.name == "vial"})
	}
}

// cannotTell is why a source's share cannot be found; without a code where it can.
func cannotTell(name string, all map[string]int, byGroup []map[string]int) note.Note {
	most := 0
	for _, n := range all {
		most = max(most, n)
	}
	inOne := 0
	for _, g := range byGroup {
		inOne = max(inOne, len(g))
	}
	switch {
	case len(all) == 0:
		return note.New("part-not-noted").Name("part", name)
	case len(all) == 1 && name != "vial":
		return note.New("part-one-only").Name("part", name)
	case name == "vial" && most == 1:
		return note.New("vials-read-once")
	case inOne < 2:
		return note.New("part-with-level").Name("part", name)
	case most == 1:
		return note.New("part-one-reading").Name("part", name)
	}
	return note.Note{}
}

// sameAs names an earlier source that splits the readings just as this one does.
func (d *design) sameAs(s strand, of func(knownwater.Observation) string) string {
	for _, src := range sources {
		if _, ok := d.factor[src.name]; !ok {
			continue
		}
		there, back := map[string]string{}, map[string]string{}
		same := true
		for _, o := range s.obs {
			a, b := src.of(o), of(o)
			if x, ok := there[a]; ok && x != b {
				same = false
			}
			if x, ok := back[b]; ok && x != a {
				same = false
			}
			there[a], back[b] = b, a
		}
		if same {
			return src.name
		}
	}
	return ""
}

// oneVial marks the groups whose readings all came from one vial that was read
// more than once, where no level shows how vials differ.
func (d *design) oneVial(s strand, groupOf []int) []bool {
	one := make([]bool, len(d.groups))
	if _, told := d.factor["vial"]; told {
		return one
	}
	vial := make([]string, len(d.groups))
	for i, o := range s.obs {
		g := groupOf[i]
		switch key := o.VialKey(); {
		case key == "":
			vial[g] = "?"
		case vial[g] == "":
			vial[g], one[g] = key, true
		case vial[g] != key:
			vial[g] = "?"
		}
	}
	for g := range one {
		one[g] = one[g] && vial[g] != "?" && d.groups[g].n > 1
	}
	return one
}

// pool puts cells that are alike together. They stand in one order already.
func pool(cells []posterior.Cell) []posterior.Cell {
	type key struct {
		group       int
		first, last [2]float64 // under the first and the last sharing
		member      [4]int
	}
	index := map[key]int{}
	var out []posterior.Cell
	for _, c := range cells {
		k := key{group: c.Group, first: c.Seen[0], last: c.Seen[len(c.Seen)-1]}
		copy(k.member[:], c.Member)
		if i, ok := index[k]; ok {
			out[i].Count += c.Count
			continue
		}
		index[k] = len(out)
		out = append(out, c)
	}
	return out
}
