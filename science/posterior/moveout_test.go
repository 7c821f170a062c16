package posterior

import (
	"math"
	"testing"
)

// A level of two answers leaves for where the others' form has it, its mean about the boundary between them: never beyond what
// bounds the mean. Alone it has no others to go by, and stays.
func TestMoveOutKeepsTheBounds(t *testing.T) {
	chain := func(groups int) *chain {
		d := Data{Groups: groups, Level: make([]float64, groups), Coarse: true, OneVial: make([]bool, groups), Technique: make([]int, groups), MeanFloor: 0, MeanTop: 60}
		for g := range groups {
			d.Level[g] = 8 * float64(g)
			for k, n := range []float64{3, 1} {
				at := d.Level[g] + 2*float64(k)
				d.Cells = append(d.Cells, Cell{Group: g, Count: n, Seen: [][2]float64{{at, at + 2}}})
			}
		}
		l, err := lay(d)
		if err != nil {
			t.Fatal(err)
		}
		return newChain(l, l.units(), 5, 0)
	}
	c := chain(3)
	gr := &c.l.group[0]
	gr.low, gr.high = c.m[0]-0.05, c.m[0]+0.05
	moved := 0
	for range 4000 {
		was, edge := c.m[0], c.edges[c.at.share][0].boundary
		off := (was - edge) / math.Exp(c.u[0])
		if c.moveOut(0); c.m[0] != was {
			moved++
			if now := (c.m[0] - edge) / math.Exp(c.u[0]); !(math.Abs(now-off) <= 1e-9) {
				t.Fatalf("the mean lies %v spreads from the boundary, and lay %v", now, off)
			}
		}
		if c.m[0] < gr.low || c.m[0] > gr.high {
			t.Fatalf("a mean of %.3f, bounded by %.3f and %.3f", c.m[0], gr.low, gr.high)
		}
	}
	if moved < 100 {
		t.Errorf("the mean moved %d times of 4000", moved)
	}
	c = chain(1)
	m, u, x := c.m[0], c.u[0], c.x
	for range 100 {
		c.moveOut(0)
	}
	if c.m[0] != m || c.u[0] != u || c.x != x || math.IsNaN(c.x) {
		t.Errorf("one level alone went from %v, %v to %v, %v", m, u, c.m[0], c.u[0])
	}
}
