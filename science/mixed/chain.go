package mixed

import (
	"math"
	"math/rand/v2"

	"knownwater/science/num"
)

// A chain walks through the posterior one parameter at a time (random-walk
// Metropolis inside Gibbs, step sizes tuned during the burn-in only), with
// joint moves along the directions in which parameters trade off: a factor's
// common offset against all means, a group's vials against its mean, and the
// size of a factor's effects against its τ.
type chain struct {
	d   *layout
	rng *rand.Rand

	m       []float64
	phi     float64
	balance float64 // λ
	tau     []float64
	logT    []float64
	effect  [][]float64

	hold     []float64
	h        []float64 // h of each group at λ
	t        []float64 // exp(logT)
	sum      []float64 // by cell: crossed effects + t·vial effects
	cell     []float64 // by cell: count · log likelihood
	scratch  []float64
	scratch2 []float64

	step     steps
	adapting bool
	odd      bool // which of the joint moves is next
}

// steps are the proposal scales, tuned towards an acceptance of 0.44.
type steps struct {
	m, tau, logT, scale []float64
	phi, balance        float64
	effect              [][]float64
}

// layout is Data with the look-ups that a chain needs.
type layout struct {
	Data
	ref    float64
	width  float64 // of a reading's interval, in the middle of the data
	ends   []end   // the lowest and the highest group, where the spread's prior is set
	start  []float64
	spread float64
	count  []float64 // readings by group
	floor  []float64 // bounds of the means, by group
	top    []float64
	vial   int // the nested factor, or None
	techs  int

	byGroup  [][]int   // cells
	byMember [][][]int // cells by factor and member
	inGroup  [][]int   // members of the nested factor by group
	byTech   [][]int   // cells
	all      []int
}

// end is a group at an end of the responses: where it starts, and how wide a
// reading's interval is there.
type end struct{ response, width float64 }

func newChain(d *layout, rng *rand.Rand) *chain {
	c := &chain{d: d, rng: rng}
	n := len(d.Cells)
	c.m = append([]float64(nil), d.start...)
	c.phi = d.spread
	if d.Groups == 1 {
		c.balance = constantSpread
	}
	c.h, c.t = make([]float64, d.Groups), make([]float64, d.techs)
	c.logT, c.step.logT = make([]float64, d.techs), fill(d.techs, 0.3)
	c.sum, c.cell = make([]float64, n), make([]float64, n)
	c.scratch, c.scratch2 = make([]float64, n), make([]float64, n)
	for g := range c.m {
		sd := d.spread * c.shape(g)
		c.m[g] += 0.5 * sd * (2*rng.Float64() - 1) / math.Sqrt(d.count[g])
		c.step.m = append(c.step.m, 2.4*math.Max(sd, d.width/4)/math.Sqrt(d.count[g]))
	}
	for _, f := range d.Factors {
		c.tau = append(c.tau, 0.4*c.phi)
		c.step.tau = append(c.step.tau, 0.5)
		c.step.scale = append(c.step.scale, 0.3)
		c.effect = append(c.effect, make([]float64, f.Members))
		c.step.effect = append(c.step.effect, fill(f.Members, 0.5*c.phi))
	}
	c.step.phi, c.step.balance = 0.3, 1
	c.hold = make([]float64, d.Groups)
	c.refresh()
	return c
}

// constantSpread is a λ at which h is 1 everywhere: one group cannot tell how
// the spread grows.
const constantSpread = 20

func fill(n int, v float64) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = v
	}
	return s
}

// shape is h of group g at the current λ.
func (c *chain) shape(g int) float64 { return shapeAt(c.balance, c.d.start[g]/c.d.ref) }

func shapeAt(balance, ratio float64) float64 {
	r2 := math.Exp(2 * balance)
	return math.Sqrt((r2 + ratio*ratio) / (1 + r2))
}

// refresh computes all that is derived from the parameters.
func (c *chain) refresh() {
	for t := range c.t {
		c.t[t] = math.Exp(c.logT[t])
	}
	for g := range c.h {
		c.h[g] = c.shape(g)
	}
	c.resum(c.d.all)
	c.likelihood(c.d.all, c.cell)
}

// shared is the sum of the effects on cell i, at response ref.
func (c *chain) shared(i int) float64 {
	cell := &c.d.Cells[i]
	s := 0.0
	for f, j := range cell.Member {
		if j < 0 {
			continue
		}
		e := c.effect[f][j]
		if f == c.d.vial {
			e *= c.t[c.d.Technique[cell.Group]]
		}
		s += e
	}
	return s
}

// at is the log likelihood of cell i with its group's mean m and h, the spread
// phi, the technique's factor t and the sum of shared effects.
func (d *layout) at(i int, m, h, phi, t, sum float64) float64 {
	cell := &d.Cells[i]
	mu, sd := m+h*sum, phi*h*t
	if cell.Low == cell.High {
		z := (cell.Low - mu) / sd
		return cell.Count * (num.LogNormalPDF(z) - math.Log(sd))
	}
	return cell.Count * num.LogPhiDiff((cell.Low-mu)/sd, (cell.High-mu)/sd)
}

// likelihood writes the log likelihood of the listed cells into out and returns its sum.
func (c *chain) likelihood(cells []int, out []float64) float64 {
	total := 0.0
	for _, i := range cells {
		g := c.d.Cells[i].Group
		out[i] = c.d.at(i, c.m[g], c.h[g], c.phi, c.t[c.d.Technique[g]], c.sum[i])
		total += out[i]
	}
	return total
}

func (c *chain) current(cells []int) float64 {
	total := 0.0
	for _, i := range cells {
		total += c.cell[i]
	}
	return total
}

func (c *chain) keep(cells []int) {
	for _, i := range cells {
		c.cell[i] = c.scratch[i]
	}
}

// accept decides a move whose log posterior changes by gain, and tunes step.
func (c *chain) accept(gain float64, step *float64) bool {
	ok := gain >= 0 || math.Log(c.rng.Float64()) < gain
	if math.IsNaN(gain) {
		ok = false
	}
	if c.adapting && step != nil {
		if ok {
			*step *= 1.12
		} else {
			*step *= 0.915 // 0.44·log 1.12 + 0.56·log 0.915 ≈ 0
		}
	}
	return ok
}

// sweep moves every parameter once.
func (c *chain) sweep() {
	for g := range c.m {
		c.moveMean(g)
	}
	for f := range c.d.Factors {
		for j := range c.effect[f] {
			c.moveEffect(f, j)
		}
		c.moveTau(f)
		if c.odd = !c.odd; c.odd { // the costly joint moves take turns
			c.moveScale(f)
			continue
		}
		if f != c.d.vial {
			c.shiftFactor(f)
			continue
		}
		for g := range c.m {
			c.shiftVials(g)
		}
	}
	if len(c.d.Factors)%2 == 0 {
		c.odd = !c.odd // so that each factor gets both
	}
	c.movePhi()
	c.moveBalance()
	for t := 1; t < c.d.techs; t++ {
		c.moveTechnique(t)
	}
}
