package posterior

import "math"

// spreadMemo holds e^u and e^−u of a group's log spread: every reading asks for
// them, and a spread stays where it is through most of a sweep.
type spreadMemo struct {
	at, sd      float64
	atInv, inv  float64
	known, back bool
}

// sd is the standard deviation of group g as the chain stands.
func (c *chain) sd(g int) float64 {
	k, u := &c.memo[g], c.u[g]
	if !k.known || k.at != u {
		k.at, k.sd, k.known = u, math.Exp(u), true
	}
	return k.sd
}

// inverse is one over it.
func (c *chain) inverse(g int) float64 {
	k, u := &c.memo[g], c.u[g]
	if !k.back || k.atInv != u {
		k.atInv, k.inv, k.back = u, math.Exp(-u), true
	}
	return k.inv
}

// scratch is space that a sweep uses over and over. What is in it does not
// outlive the step that wrote it.
type scratch struct {
	groups        [5][]float64
	shapes        [2][]float64
	logs          []float64 // by shape and ω
	alike         []alike
	told          []int
	right, square []float64
	columns       [3][]float64
	given         []given // by group
	trial         trial
}

func newScratch(groups, columns, shapes, blocks int) scratch {
	s := scratch{told: make([]int, groups), given: make([]given, groups), alike: make([]alike, blocks), logs: make([]float64, shapes*len(freedoms)),
		right: make([]float64, columns), square: make([]float64, columns*columns), trial: trial{make([]float64, groups), make([]float64, groups), make([]float64, groups)}}
	for i := range s.groups {
		s.groups[i] = make([]float64, groups)
	}
	for i := range s.columns {
		s.columns[i] = make([]float64, columns)
	}
	for i := range s.shapes {
		s.shapes[i] = make([]float64, shapes)
	}
	return s
}
