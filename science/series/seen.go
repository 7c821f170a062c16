package series

import (
	"math"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Seen is one reading: the level with an error of standard deviation SD above 0 fell into
// Interval. Exact where both ends are equal; open ends are infinite.
type Seen struct {
	interval.Interval
	SD float64
}

// narrow says that the reading is as good as a value: its width adds its own variance,
// width²/12, and bends nothing (the next term is width⁴/SD⁴/2880).
func (s Seen) narrow() bool { return s.Width() <= 0.5*s.SD }

// value is the site of a reading by itself, where it has two ends: its middle, with the
// variance that every value between them equally likely has.
func (s Seen) value() Site {
	w := s.Width()
	return Normal(s.Mid(), math.Sqrt(s.SD*s.SD+w*w/12))
}

// Nothing is a day on which nothing was read.
func Nothing() Seen { return Seen{interval.Interval{Low: math.Inf(-1), High: math.Inf(1)}, 1} }

func (s Seen) nothing() bool { return s.OpenBelow() && s.OpenAbove() }

// open says that a reading has no two ends.
func (s Seen) open() bool { return s.OpenBelow() || s.OpenAbove() }

// tilted is the belief times the reading: its mass, mean and variance.
//
// With s² = Var + SD², a and b the ends less the mean in units of s, and Z normal between a
// and b: mean m + (Var/s)·E Z, variance Var + (Var²/s²)·(Var Z − 1).
func (s Seen) tilted(b Belief) (logMass, mean, variance float64) {
	m, v := b.Mean(), b.Var()
	all := math.Sqrt(v + s.SD*s.SD)
	t := num.Between((s.Low-m)/all, (s.High-m)/all)
	k := v / all
	return t.LogP, m + k*t.Mean, v + k*k*(t.Var-1)
}

const (
	mostSweeps = 60
	settled    = 1e-9 // of a standard deviation
)

// Fit finds the sites of readings under a walk, and the log-likelihood of all of them,
// every first level equally likely: what stands in the sites for a reading that is an
// interval has, with what all others say of its day, the same mean and variance as the
// reading itself (expectation propagation; T. P. Minka 2001, Uncertainty in Artificial
// Intelligence 17, 362). Exact where every reading is a value. Chances of normal errors in
// an interval fall off on both sides (log-concave), so that every step exists and the sweeps
// settle. Against integration on a grid (testdata/intervals.json) means are right to 0.002
// of a standard deviation, log-likelihoods to 0.002.
//
// start are sites of a fit under another walk, to begin with; nil: none.
func (w Walk) Fit(seen []Seen, start []Site) (sites []Site, logLikelihood float64) {
	return fit(&walking{Walk: w, back: make([]Belief, len(seen))}, seen, start)
}

// process is how a level goes, under way along its readings.
type process interface {
	later(sites []Site)                // works out what all after each day say of it
	others(i int, sites []Site) Belief // what all but i say of its day; called for one after another
	logMass(sites []Site) float64
}

type walking struct {
	Walk
	back []Belief
	here Belief
}

func (w *walking) later(sites []Site) { w.backward(sites, w.back) }

func (w *walking) others(i int, sites []Site) Belief {
	if i == 0 {
		w.here = Belief{}
	} else {
		w.here = w.here.with(sites[i-1]).after(w.gap(i))
	}
	return w.here.with(Site(w.back[i]))
}

func fit(p process, seen []Seen, start []Site) (sites []Site, logLikelihood float64) {
	n := len(seen)
	sites = make([]Site, n)
	bent := false
	for i, s := range seen {
		switch {
		case !s.open():
			sites[i] = s.value()
		case start != nil:
			sites[i] = start[i]
		}
		if !s.narrow() && !s.nothing() {
			bent = true
			if start != nil {
				sites[i] = start[i]
			}
		}
	}
	for sweep := 0; bent && sweep < mostSweeps; sweep++ {
		p.later(sites)
		moved := 0.0
		for i := range seen {
			others := p.others(i, sites)
			if seen[i].narrow() || seen[i].nothing() {
				continue
			}
			next := seen[i].site(others, sites[i])
			moved = math.Max(moved, math.Abs(next.Shift-sites[i].Shift)*math.Sqrt(1/(others.Precision+next.Precision)))
			sites[i] = next
		}
		if moved < settled {
			break
		}
	}
	return sites, logLikelihoodOf(p, seen, sites)
}

// site is what a reading amounts to beside what the others say of its day.
func (s Seen) site(others Belief, was Site) Site {
	if others.Precision <= 0 {
		if s.open() {
			return Site{}
		}
		return s.value()
	}
	_, mean, variance := s.tilted(others)
	p := 1/variance - others.Precision
	if !(p > 0) || math.IsInf(p, 0) { // nothing is told, to the last digit
		return Site{0, 0}
	}
	next := Site{p, mean/variance - others.Shift}
	if math.IsNaN(next.Shift) {
		return was
	}
	return next
}

func logLikelihoodOf(p process, seen []Seen, sites []Site) float64 {
	p.later(sites)
	var sum num.Sum
	sum.Add(p.logMass(sites))
	for i, s := range seen {
		others := p.others(i, sites)
		if s.narrow() {
			t := sites[i]
			sum.Add(0.5*math.Log(t.Precision/(2*math.Pi)) - 0.5*t.Shift*t.Shift/t.Precision)
			if s.Low < s.High {
				sum.Add(math.Log(s.Width()))
			}
			continue
		}
		if others.Precision <= 0 || sites[i].Precision == 0 {
			continue
		}
		logMass, _, _ := s.tilted(others)
		sum.Add(logMass - logJoin(others, sites[i]))
	}
	return sum.Value()
}
