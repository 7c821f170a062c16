package posterior

import (
	"math"
	"testing"
)

// Spreads that go over a hump, nine exact readings a level: the levels on its flanks and at its foot, where
// no parabola fits, keep their limits in both posteriors. Taken for a parabola to a tenth, limits at
// 97.5 % there missed by 7 to 19 %; of these 90 a true 4 % shows 8 or more in one case of 50.
func TestHumpedSpreadsAreHeld(t *testing.T) {
	levels := []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40}
	missed := map[string]int{}
	for run := range 30 {
		d := open(Data{Groups: len(levels), Level: levels})
		sd := make([]float64, len(levels))
		for g, c := range levels {
			x := math.Log((c + 0.75) / 3)
			sd[g] = 0.5 * math.Exp(-0.7*x*x)
			for _, z := range normals(9, uint64(1000+10*run+g)) {
				y := c + sd[g]*z
				d.Cells = append(d.Cells, Cell{Group: g, Seen: [][2]float64{{y, y}}, Count: 1})
			}
		}
		p := fitted(t, d)
		for name, draws := range map[string]*Draws{"wide": p.Wide, "form": p.Form} {
			for _, g := range []int{2, 3} {
				if _, high := tails(draws.LogSD[g], 0.025); high < math.Log(sd[g]) {
					missed[name]++
				}
			}
			if low, _ := tails(draws.LogSD[0], 0.025); low > math.Log(sd[0]) {
				missed[name]++
			}
		}
	}
	for name, n := range missed {
		if n > 7 {
			t.Errorf("%s: %d of 90 limits missed", name, n)
		}
	}
	t.Log(missed)
}
