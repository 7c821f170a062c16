package assess

import (
	"math"

	"knownwater/science/posterior"
)

// between says where a concentration lies between the levels: the groups on
// either side and how far towards the second.
type between struct {
	a, b int
	t    float64
}

// along finds the place of c; beyond the ends the spread of the end stands. In
// between, the logarithm of the spread goes straight over log(c + a quarter of
// the middle level), which spreads low levels apart.
func (st *study) along(c float64) between {
	n := len(st.levels)
	i := 0
	for i < n && st.levels[i].value <= c {
		i++
	}
	switch i {
	case 0:
		g := st.groupAt(0)
		return between{g, g, 0}
	case n:
		g := st.groupAt(n - 1)
		return between{g, g, 0}
	}
	soft := 0.25 * st.levels[(n+1)/2].value
	if soft == 0 {
		soft = 0.25 * st.top()
	}
	low, high := math.Log(st.levels[i-1].value+soft), math.Log(st.levels[i].value+soft)
	return between{st.groupAt(i - 1), st.groupAt(i), (math.Log(c+soft) - low) / (high - low)}
}

// repeatability is draw k's standard deviation there, less all that is shared.
func (at between) repeatability(d *posterior.Draws, k int) float64 {
	return math.Exp(d.LogSD[at.a][k] + at.t*(d.LogSD[at.b][k]-d.LogSD[at.a][k]))
}

// total is draw k's standard deviation of a single reading at c, every source
// together, with the reference technique.
func (st *study) total(d *posterior.Draws, k int, at between) float64 {
	return at.repeatability(d, k) * d.Whole(k)
}

// same is what is left of it between two tests by one reader in one session and lot.
func (st *study) same(d *posterior.Draws, k int, at between) float64 {
	nested := posterior.None
	if f, ok := st.factor["vial"]; ok {
		nested = f
	}
	return at.repeatability(d, k) * d.Within(k, nested)
}

// middleLevel is the level at which the parts of the spread are stated: the
// middle one of those above 0.
func (st *study) middleLevel() int {
	first := 0
	for first < len(st.levels)-1 && st.levels[first].value <= 0 {
		first++
	}
	return first + (len(st.levels)-first)/2
}

// normals are n standard normal values in an order of their own that never
// changes: each of n equal chances once.
func normals(n int, task uint64) []float64 { return posterior.Normals(n, task) }
