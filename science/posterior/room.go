package posterior

import (
	"math"

	"knownwater/science/num"
)

// Where a mean is bounded and integrated out, its bounds leave a factor that depends on
// all that its normal depends on: the spread, the effects, the vials' part.

// room is its logarithm for group g at the standard deviation s, lean being A·ΣωX and off B·ΣωX:
//
//	log(Φ((high − at)/sd) − Φ((low − at)/sd)),  at = centre + (Σωȳ − s·lean − off)/Σω,  sd = s/√Σω
func (c *chain) room(g int, s, lean, off float64) float64 {
	w := c.weight[g]
	return c.roomAt(g, c.l.group[g].mean+(c.sumY[g]-s*lean-off)/w, s/math.Sqrt(w))
}

// roomAt is that of a normal about at. Bounds that are far away leave everything.
func (c *chain) roomAt(g int, at, sd float64) float64 {
	gr := &c.l.group[g]
	a, b := (gr.low-at)/sd, (gr.high-at)/sd
	switch {
	case a < -num.QuickEnd && b > num.QuickEnd:
		return 0
	case b > num.QuickEnd:
		return logAbove(a)
	case a < -num.QuickEnd:
		return logAbove(-b)
	}
	return num.LogPhiDiff(a, b)
}

// logAbove is log P(e > x) of a standard normal, by tables, good to 1e-5.
func logAbove(x float64) float64 {
	if x > 0 {
		return scatters()[Normal].upper(x)
	}
	return num.Log(num.QuickPhi(-x))
}

// lean is leaning, where the group's mean has a bound; leanOver both together, ÷ s.
func (c *chain) lean(g int, a []float64) (lean, off float64) {
	gr := &c.l.group[g]
	if math.IsInf(gr.low, 0) && math.IsInf(gr.high, 0) {
		return 0, 0
	}
	return c.leaning(g, a)
}

func (c *chain) leanOver(g int, a []float64) float64 {
	lean, off := c.lean(g, a)
	return lean + c.inverse(g)*off
}

// pull is what the readings say for effect j, the others at nothing.
func (c *chain) pull(j int) float64 {
	sum := 0.0
	for g := range c.qzx {
		x := c.inverse(g) * c.qzx[g][j]
		if c.flat[j] {
			x *= c.inverse(g) * c.height[g][j]
		}
		sum += x
	}
	return sum
}
