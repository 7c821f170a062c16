package series

import (
	"math"

	"knownwater/science/num"
)

// Return is a level that stays at a mean which nobody knows, every one equally likely, from which it departs with the
// standard deviation Departs, above 0, and comes back: an Ornstein–Uhlenbeck process with correlation
// exp(−days/Memory), Memory in days. Days are those of the readings, never falling.
type Return struct {
	Days            []float64
	Departs, Memory float64
}

// Fit finds the sites of readings, and the log-likelihood of all of them, as Walk.Fit does.
func (r Return) Fit(seen []Seen, start []Site) (sites []Site, logLikelihood float64) {
	return fit(&returning{Return: r, back: make([]joint, len(seen))}, seen, start)
}

// step is what is left of a departure after some days, and the variance that comes to it.
func (r Return) step(days float64) (keep, variance float64) {
	keep = math.Exp(-days / r.Memory)
	return keep, r.Departs * r.Departs * (1 - keep*keep)
}

// first is what is known of a departure before anything was read.
func (r Return) first() joint { return joint{xx: 1 / (r.Departs * r.Departs)} }

// returning is a Return under way: what all later readings say of each day, and all before of one.
type returning struct {
	Return
	back []joint
	here joint
}

func (r *returning) later(sites []Site) {
	n := len(sites)
	r.back[n-1] = joint{}
	for i := n - 2; i >= 0; i-- {
		r.back[i] = r.back[i+1].with(sites[i+1]).over(r.step(r.Days[i+1] - r.Days[i]))
	}
}

func (r *returning) others(i int, sites []Site) Belief {
	if i == 0 {
		r.here = r.first()
	} else {
		r.here, _ = r.here.with(sites[i-1]).after(r.step(r.Days[i] - r.Days[i-1]))
	}
	return r.here.and(r.back[i]).level()
}

func (r *returning) logMass(sites []Site) float64 {
	var sum num.Sum
	sum.Add(-0.5 * math.Log(2*math.Pi*r.Departs*r.Departs))
	j := r.first()
	for i, s := range sites {
		if i > 0 {
			var l float64
			j, l = j.after(r.step(r.Days[i] - r.Days[i-1]))
			sum.Add(l)
		}
		j = j.with(s)
	}
	m := j.mean()
	sum.Add(math.Log(2*math.Pi) - 0.5*math.Log(j.xx) - 0.5*math.Log(m.Precision) + 0.5*j.sx*j.sx/j.xx + 0.5*m.Shift*m.Shift/m.Precision)
	return sum.Value()
}

// joint is what is said of a departure x and the mean m: exp(−(xx·x² + 2xm·x·m + mm·m²)/2 + x·sx + m·sm).
type joint struct{ xx, xm, mm, sx, sm float64 }

// with adds a reading of the level, x + m.
func (j joint) with(s Site) joint {
	return joint{j.xx + s.Precision, j.xm + s.Precision, j.mm + s.Precision, j.sx + s.Shift, j.sm + s.Shift}
}

func (j joint) and(k joint) joint {
	return joint{j.xx + k.xx, j.xm + k.xm, j.mm + k.mm, j.sx + k.sx, j.sm + k.sm}
}

// after is j when the departure has become keep·x and variance was added to it; over is j as what is said of the departure
// before that. Both integrate the other departure out: with D = keep² + variance·xx, or 1 + variance·xx, what
// is left of the mean loses variance/D times the square of what goes with x. logMass is the logarithm of the
// factor that comes before it.
func (j joint) after(keep, variance float64) (out joint, logMass float64) {
	return j.through(keep, variance, keep*keep+variance*j.xx, 1)
}

func (j joint) over(keep, variance float64) joint {
	out, _ := j.through(keep, variance, 1+variance*j.xx, keep*keep)
	return out
}

func (j joint) through(keep, variance, d, square float64) (joint, float64) {
	k := variance / d
	return joint{xx: square * j.xx / d, xm: keep * j.xm / d, sx: keep * j.sx / d, mm: j.mm - k*j.xm*j.xm, sm: j.sm - k*j.xm*j.sx},
		-0.5*math.Log(d) + 0.5*k*j.sx*j.sx
}

// level is what is said of x + m; nothing where it is lost in rounding.
func (j joint) level() Belief {
	across, rest := j.xm-j.xx, j.xx-2*j.xm+j.mm
	b := Belief{j.xx - across*across/rest, j.sx - across*(j.sm-j.sx)/rest}
	if !(b.Precision > 1e-12*j.xx) {
		return Belief{}
	}
	return b
}

// mean is what is said of the mean alone.
func (j joint) mean() Belief {
	return Belief{j.mm - j.xm*j.xm/j.xx, j.sm - j.xm*j.sx/j.xx}
}
