package series

import (
	"math"

	"knownwater/science/num"
)

// Course is a level that goes on with a slope, both of which wander: the local linear trend in
// continuous time. Over d days the variance of the level grows by Level·d + Slope·d³/3, that of the
// slope by Slope·d, their covariance by Slope·d²/2 (A. C. Harvey, Forecasting, Structural Time Series Models and
// the Kalman Filter, 1989, section 9.1, from memory; the same in testdata/irregular.json). Before the first reading
// every level and every slope is equally likely. Days are those of the readings, never falling.
type Course struct {
	Days         []float64
	Level, Slope float64
}

// motion is what is known of level and slope in natural form: the precision of the level, what lies
// between the two, the precision of the slope, and their shifts; logMass is the logarithm of the factor before it.
type motion struct{ ll, ls, ss, l, s, logMass float64 }

// moved is m, known of a day, when the level has gone on by d times the slope.
func (m motion) moved(d float64) motion {
	m.ss, m.ls, m.s = m.ss-2*d*m.ls+d*d*m.ll, m.ls-d*m.ll, m.s-d*m.l
	return m
}

// spread is m when level and slope have wandered for d days: with M its precision, g its shift and Q the variances that
// are added, M(I + QM)⁻¹ and (I + MQ)⁻¹g, which hold where nothing is known of a direction, too.
func (c Course) spread(m motion, d float64) motion {
	q1, q2, q3 := c.Level*d+c.Slope*d*d*d/3, c.Slope*d*d/2, c.Slope*d
	k11, k12 := 1+q1*m.ll+q2*m.ls, q1*m.ls+q2*m.ss // I + QM
	k21, k22 := q2*m.ll+q3*m.ls, 1+q2*m.ls+q3*m.ss
	det := k11*k22 - k12*k21
	out := motion{
		ll: (m.ll*k22 - m.ls*k21) / det, ls: (m.ls*k11 - m.ll*k12) / det, ss: (m.ss*k11 - m.ls*k12) / det,
		l: (k22*m.l - k21*m.s) / det, s: (k11*m.s - k12*m.l) / det,
	}
	out.logMass = m.logMass - 0.5*math.Log(det) + 0.5*(m.l*(q1*out.l+q2*out.s)+m.s*(q2*out.l+q3*out.s))
	return out
}

// after is m, known of a day, d days later.
func (c Course) after(m motion, d float64) motion { return c.spread(m.moved(d), d) }

// before is m as what is said of level and slope d days sooner.
func (c Course) before(m motion, d float64) motion { return c.spread(m, d).moved(-d) }

func (m motion) with(t Site) motion {
	m.ll, m.l = m.ll+t.Precision, m.l+t.Shift
	return m
}

// Moving is a level and its slope per day, with their variances.
type Moving struct{ Level, LevelVar, Slope, SlopeVar float64 }

func (m motion) told() Moving {
	det := m.ll*m.ss - m.ls*m.ls
	return Moving{(m.ss*m.l - m.ls*m.s) / det, m.ss / det, (m.ll*m.s - m.ls*m.l) / det, m.ll / det}
}

// Smoothed are level and slope on every reading's day given all readings, those before times those after times its own. The readings
// are normal densities, of two days at least.
func (c Course) Smoothed(sites []Site) []Moving {
	n := len(sites)
	ahead := make([]motion, n)
	for i, t := range sites {
		var m motion
		if i > 0 {
			m = c.after(ahead[i-1], c.Days[i]-c.Days[i-1])
		}
		ahead[i] = m.with(t)
	}
	out := make([]Moving, n)
	var back motion
	for i := n - 1; i >= 0; i-- {
		m := ahead[i]
		m.ll, m.ls, m.ss, m.l, m.s = m.ll+back.ll, m.ls+back.ls, m.ss+back.ss, m.l+back.l, m.s+back.s
		out[i] = m.told()
		if i > 0 {
			back = c.before(back.with(sites[i]), c.Days[i]-c.Days[i-1])
		}
	}
	return out
}

// Now is the slope per day on the last day with its variance, and the log-likelihood of all readings after those of
// the first two days, given these. The readings are normal densities, of two days at least.
func (c Course) Now(sites []Site) (slope, variance, logLikelihood float64) {
	var m motion
	var sum num.Sum
	second := false
	for i, t := range sites {
		if i > 0 {
			m = c.after(m, c.Days[i]-c.Days[i-1])
		}
		m = m.with(t)
		sum.Add(0.5*math.Log(t.Precision/(2*math.Pi)) - 0.5*t.Shift*t.Shift/t.Precision)
		if gap := c.Days[i] - c.Days[0]; gap > 0 && !second {
			second = true
			sum.Add(math.Log(gap)) // what level and slope that go through both make of the first two
		}
	}
	now := m.told()
	sum.Add(m.logMass + math.Log(2*math.Pi) - 0.5*math.Log(m.ll*m.ss-m.ls*m.ls) + 0.5*(m.l*now.Level+m.s*now.Slope))
	return now.Slope, now.SlopeVar, sum.Value()
}

// Steps that are tried: of the level in a week, in scatters of one reading, and of its weekly slope in a week.
var (
	levelSteps = []float64{0, 0.06, 0.12, 0.25, 0.5, 1}
	slopeSteps = []float64{0, 0.005, 0.01, 0.02, 0.04, 0.08, 0.16, 0.32}
)

const (
	usualSlopeStep = 0.1
	mostNow        = 200 // readings, the last ones
)

// Went is how a level went by a level and a slope that wander, whatever it did before and after.
type Went struct {
	Now  Estimate // the slope on the last day, per day
	From int      // the reading of the first state
	// Levels and Slopes on the days of the readings from there on, given all of them: mean and standard uncertainty over all that
	// is left open, as normal. Slopes are per day.
	Levels, Slopes []Estimate
}

// Went weighs how much level and slope wander: thirty pairs of sizes count by their likelihood times half-Cauchy weights, with the scale of the
// readings' scatter for the level's weekly step and a tenth of it for the slope's. What readings share goes
// through the likeliest of them draw by draw. Fewer than three days: not ok.
func (r Readings) Went() (e Went, ok bool) {
	from := max(0, len(r.Days)-mostNow)
	e.From = from
	days := r.Days[from:]
	if n := len(days); n < 3 || days[0] == days[n-1] || onTwoDays(days) {
		return e, false
	}
	sites := make([]Site, len(days))
	scale := 0.0
	for i := range days {
		v := r.Var[from+i]
		sites[i] = Site{1 / v, r.Value[from+i] / v}
		scale += math.Sqrt(v) / float64(len(days))
	}
	type fit struct {
		Course
		slope, u, log float64
	}
	var fits []fit
	top, likeliest := math.Inf(-1), Course{}
	for i, a := range levelSteps {
		for j, b := range slopeSteps {
			c := Course{days, a * scale * a * scale / week, b * scale * b * scale / (week * week * week)}
			slope, v, l := c.Now(sites)
			l += math.Log(widthAt(levelSteps, i) * widthAt(slopeSteps, j) / (1 + a*a) / (1 + b*b/(usualSlopeStep*usualSlopeStep)))
			if fits = append(fits, fit{c, slope, math.Sqrt(v), l}); l > top {
				top, likeliest = l, c
			}
		}
	}
	levels, slopes := make(pooled, len(sites)), make(pooled, len(sites))
	shared := make([]float64, len(r.Spread))
	moved := make([]Site, len(sites))
	for d := range shared {
		for i, s := range sites {
			moved[i] = Site{s.Precision, s.Precision * r.Shared[d][from+i]}
		}
		off := likeliest.Smoothed(moved)
		shared[d] = off[len(off)-1].Slope
		for i, m := range off {
			levels.share(i, m.Level)
			slopes.share(i, m.Slope)
		}
	}
	for _, f := range fits {
		w := math.Exp(f.log - top)
		if w < 1e-3 {
			continue
		}
		for d, off := range shared {
			e.Now.Add(w, f.slope-off, f.u*r.Spread[d])
		}
		for i, m := range f.Smoothed(sites) {
			levels.add(i, w, m.Level, m.LevelVar)
			slopes.add(i, w, m.Slope, m.SlopeVar)
		}
	}
	e.Now.Summarise()
	e.Levels, e.Slopes = levels.estimates(), slopes.estimates()
	return e, true
}

func onTwoDays(days []float64) bool {
	other := days[0]
	for _, d := range days {
		if d != days[0] {
			if other != days[0] && d != other {
				return false
			}
			other = d
		}
	}
	return true
}
