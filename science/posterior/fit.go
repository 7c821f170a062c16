package posterior

import "math"

// Posterior is what interval readings say about group means, spread and
// shared parts.
type Posterior struct {
	Wide *Draws // limits and "not fit" are told by these
	Form *Draws // and "fit" by these, under the prior that favours a form
	// Point is the most likely set of group means: free of Monte Carlo noise.
	Point []float64
	// Own are each group's limits of mean and whole spread from its own readings
	// alone, 4 % on each side; infinite where they say none. Where sources cross the groups:
	// given what all readings say of these, or, of few different answers, whoever read them.
	Own []Own
	// Kind and Share are the weights of the kinds of scatter and of the sharings.
	Kind  [kinds]float64
	Share []float64
	// ErrorShare is the largest Monte Carlo standard error of a limit that leaves 2.5 % outside, of a
	// group's mean, its whole spread, or a τ, as a share of its interval; 0 where nothing was sampled.
	ErrorShare float64
}

// wideDraws and formDraws are how many draws stand for each posterior.
const (
	wideDraws = 2000
	formDraws = 2000
	fewDraws  = 1000 // of each, where few are asked for
)

func (d Data) draws(all int) int {
	if d.Few {
		return fewDraws
	}
	return all
}

// Fit finds the posterior. Same data: same answer, whatever the order of the
// cells and the numbers of the members. Where no source crosses the groups everything is integrated, on fixed
// points; else latent readings are drawn, from a source that the data name.
// Cost grows with the number of cells, not of readings.
func Fit(d Data) (*Posterior, error) {
	unit := d.unit()
	p, err := fit(d.in(unit))
	if err == nil {
		p.times(unit)
	}
	return p, err
}

// unit is the size of the readings: everything is worked out in it, so that the same
// readings in another unit walk the same chain.
func (d Data) unit() float64 {
	size := 0.0
	for _, c := range d.Cells {
		for _, v := range c.Seen[0] {
			if !math.IsInf(v, 0) {
				size = math.Max(size, math.Abs(v))
			}
		}
	}
	if size == 0 {
		return 1
	}
	return math.Min(math.Max(size, 1e-150), 1e150)
}

func (d Data) in(unit float64) Data {
	cells := make([]Cell, len(d.Cells))
	for i, c := range d.Cells {
		cells[i] = c
		cells[i].Seen = make([][2]float64, len(c.Seen))
		for j, s := range c.Seen {
			cells[i].Seen[j] = [2]float64{s[0] / unit, s[1] / unit}
		}
	}
	d.Cells, d.MeanFloor, d.MeanTop = cells, d.MeanFloor/unit, d.MeanTop/unit
	return d
}

func (p *Posterior) times(unit float64) {
	log := math.Log(unit)
	for _, d := range []*Draws{p.Wide, p.Form} {
		for g := range d.Mean {
			for k := range d.Mean[g] {
				d.Mean[g][k] *= unit
				d.LogSD[g][k] += log
			}
		}
		for _, ways := range d.Along {
			for _, h := range ways {
				for g := range h {
					h[g] *= unit
				}
			}
		}
	}
	for g := range p.Point {
		p.Point[g] *= unit
		o := &p.Own[g]
		for _, v := range []*float64{&o.MeanLow, &o.MeanHigh, &o.SDLow, &o.SDHigh} {
			*v *= unit
		}
	}
}

func fit(d Data) (*Posterior, error) {
	var place [][]int
	if len(d.Factors) > 0 {
		d, place = d.byReadings()
	}
	l, err := lay(d)
	if err != nil {
		return nil, err
	}
	if place != nil {
		p := sample(l)
		p.Wide.asAsked(place)
		p.Form.asAsked(place)
		return p, nil
	}
	m := integrate(l)
	p := &Posterior{Wide: m.draws(Wide, d.draws(wideDraws)), Form: m.draws(FormFavouring, d.draws(formDraws))}
	if p.Wide == nil || p.Form == nil {
		return nil, ErrTooWide
	}
	m.describe(p)
	return p, nil
}

// mostKinds is the number of readings up to which kinds of scatter other than
// normal are tried: with more, every step of the scatter is seen level by level.
const mostKinds = 1000

// integrate fits every kind of scatter and every sharing.
func integrate(l *layout) *mixture {
	m := &mixture{l: l}
	list := []Kind{Normal}
	if n := l.readings(); n <= mostKinds {
		list = []Kind{Normal, FewSlips, MoreSlips, Heavy}
	}
	if len(l.Shares) > 1 {
		list = []Kind{Normal, MoreSlips, Heavy}
	}
	var total [priors]float64
	for _, k := range list {
		for p := range total {
			total[p] += kindPrior[p][k]
		}
	}
	for _, k := range list {
		for s, w := range l.Shares {
			m.fits = append(m.fits, fitLevels(l, k, s))
			m.kind = append(m.kind, k)
			m.at = append(m.at, s)
			m.log = append(m.log, [priors]float64{math.Log(w * kindPrior[Wide][k] / total[Wide]), math.Log(w * kindPrior[FormFavouring][k] / total[FormFavouring])})
		}
	}
	return m
}

func (l *layout) readings() float64 {
	n := 0.0
	for _, g := range l.group {
		n += g.n
	}
	return n
}

// describe fills what is told beside the draws.
func (m *mixture) describe(p *Posterior) {
	l := m.l
	p.Share = make([]float64, len(l.Shares))
	var normal []*levels // by sharing
	var weight []float64
	for i, w := range m.weights(Wide) {
		p.Kind[m.kind[i]] += w
		p.Share[m.at[i]] += w
		if m.kind[i] == Normal {
			normal, weight = append(normal, m.fits[i]), append(weight, w)
		}
	}
	p.Point = l.point(p, 0)
	for g := range l.group {
		tables := make([]*level, len(normal))
		for i, f := range normal {
			tables[i] = f.table[g]
		}
		p.Own = append(p.Own, l.own(g, tables, weight))
	}
}
