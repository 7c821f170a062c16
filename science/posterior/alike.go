package posterior

import (
	"cmp"
	"math"
	"slices"

	"knownwater/science/num"
)

// A person's name is no datum: who is called what must not touch a limit, not even in
// the noise of the draws. So members are put in an order that their readings give them,
// before a chain is named after the data, and the draws are given back in the order of
// those who asked.

// mostTold is how many members of crossed factors are told apart one by one where their
// readings do not.
const mostTold = 64

// byReadings gives the data with members numbered by what was read, and by factor which
// member of the data became which. Each cell has a mark of its group, intervals and
// count; each member the sum of the marks of its cells; marks are then told each other
// round by round. Members of crossed factors that are still alike are interchangeable, and one
// after the other is made the first of them, so that who stands with whom is kept.
func (d Data) byReadings() (Data, [][]int) {
	m := d.marks()
	for range mostTold {
		m.tell()
		if !m.tellOneApart() {
			break
		}
	}
	place := make([][]int, len(d.Factors))
	for f, marks := range m.member {
		order := make([]int, len(marks))
		for j := range order {
			order[j] = j
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(marks[a], marks[b]) })
		place[f] = make([]int, len(order))
		for at, j := range order {
			place[f][j] = at
		}
	}
	cells := slices.Clone(d.Cells)
	for i, c := range cells {
		cells[i].Member = slices.Clone(c.Member)
		for f, j := range c.Member {
			if j != None {
				cells[i].Member[f] = place[f][j]
			}
		}
	}
	d.Cells = cells
	return d, place
}

// asAsked puts the effects of members back in the order of the data.
func (d *Draws) asAsked(place [][]int) {
	for f, effects := range d.Effect {
		if len(effects) == 0 {
			continue
		}
		asked := make([][]float64, len(effects))
		for j := range asked {
			asked[j] = effects[place[f][j]]
		}
		d.Effect[f] = asked
	}
}

// marks are numbers that depend on what was read and on nothing's name.
type marks struct {
	Data
	own, cell []uint64
	member    [][]uint64 // by factor
}

func (d Data) marks() *marks {
	m := &marks{Data: d, own: make([]uint64, len(d.Cells)), cell: make([]uint64, len(d.Cells)), member: make([][]uint64, len(d.Factors))}
	for i, c := range d.Cells {
		h := stirred(uint64(c.Group) + 1)
		for _, s := range c.Seen {
			h = stirred(h ^ bits(s[0]))
			h = stirred(h ^ bits(s[1]))
		}
		m.own[i] = stirred(h ^ math.Float64bits(c.Count))
	}
	for f, fac := range d.Factors {
		m.member[f] = make([]uint64, fac.Members)
	}
	return m
}

// told is how many rounds marks are told each other: a reader to the vials that were
// read, the vials to their session, the session to its readers.
const told = 3

func (m *marks) tell() {
	for range told {
		for i, c := range m.Cells {
			h := m.own[i]
			for f, j := range c.Member {
				if j == None {
					h = stirred(h)
				} else {
					h = stirred(h ^ m.member[f][j])
				}
			}
			m.cell[i] = h
		}
		for f, of := range m.member {
			sum := make([]uint64, len(of))
			for i, c := range m.Cells {
				if j := c.Member[f]; j != None {
					sum[j] += m.cell[i] // a sum, so that the order of the cells is nothing
				}
			}
			for j := range of {
				of[j] = stirred(of[j] ^ sum[j])
			}
		}
	}
}

// tellOneApart marks the first of the crossed members that are still alike.
func (m *marks) tellOneApart() bool {
	for f, of := range m.member {
		if m.Factors[f].Nested {
			continue
		}
		sorted := slices.Sorted(slices.Values(of))
		for k := 1; k < len(sorted); k++ {
			if sorted[k] == sorted[k-1] {
				of[slices.Index(of, sorted[k])]++
				return true
			}
		}
	}
	return false
}

// bits of a reading, in a millionth of the unit, so that another unit of concentration
// changes nothing.
func bits(v float64) uint64 {
	return uint64(int64(math.Round(math.Max(-1e9, math.Min(1e9, v*1e6+0.3)))))
}

func stirred(v uint64) uint64 { return num.Mix(v + 1) }
