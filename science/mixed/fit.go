package mixed

import (
	"errors"
	"math"
	"sort"
	"sync"

	"knownwater/science/num"
)

// Options say how long the chains are and where their randomness comes from.
type Options struct {
	Seed  uint64
	Tasks []uint64 // tells this fit from others under the same seed
	Draws int      // kept draws in all; 0 chooses by the size of the data
}

// chains is fixed, so that the answer does not depend on the machine.
const chains = 2

// ErrNoRepeats says that no group has two readings, so that nothing tells how
// readings scatter.
var ErrNoRepeats = errors.New("no level was read twice, so nothing tells how readings scatter")

// Fit draws from the posterior. Same data, same options: same draws, whatever
// the order of the cells. Cost grows with the number of cells, not of readings.
func Fit(d Data, o Options) (*Posterior, error) {
	l, err := lay(d)
	if err != nil {
		return nil, err
	}
	keep, burn := length(l, o.Draws)
	parts := make([]*Posterior, chains)
	var wg sync.WaitGroup
	for i := range parts {
		wg.Go(func() {
			rng := num.Source(o.Seed, append(append([]uint64(nil), o.Tasks...), uint64(i))...)
			parts[i] = walk(newChain(l, rng), keep/chains, burn)
		})
	}
	wg.Wait()
	p := join(parts)
	p.Ref = l.ref
	p.ErrorShare = errorShare(parts)
	p.Point = point(l, p)
	return p, nil
}

// length chooses how many draws to keep and to burn: about equal work, more
// draws where cells are few; with very many cells the posterior is narrow and
// fewer draws have to do. ErrorShare tells what that costs.
func length(l *layout, asked int) (keep, burn int) {
	if asked > 0 {
		return asked, max(300, asked/4)
	}
	work := len(l.Cells)*(1+2*len(l.Factors)) + 20
	keep = min(max(320_000/work, 1000), 4000)
	if work > 20_000 {
		keep = max(400, 24_000_000/work)
	}
	return keep, max(350, keep/5)
}

func walk(c *chain, keep, burn int) *Posterior {
	c.adapting = true
	for range burn {
		c.sweep()
	}
	c.adapting = false
	p := &Posterior{
		Mean: table(c.d.Groups, keep), Phi: make([]float64, keep), Balance: make([]float64, keep),
		Tau: table(len(c.tau), keep), T: table(c.d.techs, keep), Effect: make([][][]float64, len(c.tau)),
	}
	for f, fac := range c.d.Factors {
		if !fac.Nested {
			p.Effect[f] = table(fac.Members, keep)
		}
	}
	for k := range keep {
		c.sweep()
		p.record(k, c)
	}
	return p
}

func table(rows, columns int) [][]float64 {
	all := make([]float64, rows*columns)
	t := make([][]float64, rows)
	for i := range t {
		t[i] = all[i*columns : (i+1)*columns : (i+1)*columns]
	}
	return t
}

func (p *Posterior) record(k int, c *chain) {
	for g, m := range c.m {
		p.Mean[g][k] = m
	}
	p.Phi[k], p.Balance[k] = c.phi, c.balance
	for f, tau := range c.tau {
		p.Tau[f][k] = tau
		for j := range p.Effect[f] {
			p.Effect[f][j][k] = c.effect[f][j]
		}
	}
	for t := range c.t {
		p.T[t][k] = c.t[t]
	}
}

// join strings the chains' draws together.
func join(parts []*Posterior) *Posterior {
	p := parts[0]
	for _, q := range parts[1:] {
		p.Phi = append(p.Phi, q.Phi...)
		p.Balance = append(p.Balance, q.Balance...)
		extend(p.Mean, q.Mean)
		extend(p.Tau, q.Tau)
		extend(p.T, q.T)
		for f := range p.Effect {
			extend(p.Effect[f], q.Effect[f])
		}
	}
	return p
}

func extend(to, from [][]float64) {
	for i := range to {
		to[i] = append(to[i], from[i]...)
	}
}

// H is h(m) of draw k.
func (p *Posterior) H(k int, m float64) float64 { return shapeAt(p.Balance[k], m/p.Ref) }

// errorShare estimates the Monte Carlo error of the group means from the
// averages of 20 batches of consecutive draws in each chain.
func errorShare(parts []*Posterior) float64 {
	const batches = 20
	worst := 0.0
	for g := range parts[0].Mean {
		var means, draws []float64
		for _, p := range parts {
			size := len(p.Phi) / batches
			if size == 0 {
				return math.NaN()
			}
			draws = append(draws, p.Mean[g]...)
			for b := range batches {
				means = append(means, average(p.Mean[g][b*size:(b+1)*size]))
			}
		}
		se := deviation(means) / math.Sqrt(float64(len(means)))
		sort.Float64s(draws)
		half := (num.Quantile(draws, 0.975) - num.Quantile(draws, 0.025)) / 2
		if half > 0 {
			worst = math.Max(worst, se/half)
		}
	}
	return worst
}

func deviation(v []float64) float64 {
	mean, s := average(v), 0.0
	for _, x := range v {
		s += (x - mean) * (x - mean)
	}
	return math.Sqrt(s / float64(len(v)-1))
}
