package assess

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// aheadDraws is how many draws of each posterior are carried into a trial that
// was not made; the covariances come from covaryDraws.
const (
	aheadDraws  = 125
	covaryDraws = 1000
)

// further is what would be read besides: tests at every level, by the readers and
// lots of the trial, each of its own vial; new readers or new lots; knowns whose errors are so
// much smaller.
type further struct {
	tests  int
	new    int     // members of a source of spread besides those of the trial
	of     string  // "reader" or "lot"
	knowns float64 // the known's u is divided by it; 1: as they are
}

// foresight says what further readings would make of a posterior, without fitting
// it again. The draws are an ensemble: of what is judged (mean response and log
// spread at each place) and of what is seen (mean and log spread of new readings at
// each level, the knowns' errors, the readers' and the lots' share). A draw is taken for the
// truth, readings are drawn from it, and every other draw moves by
//
//	x′ = x + C_xz·(C_zz + R)⁻¹·(z + ε − z_draw),  ε ~ N(0, R)
//
// with C the covariances over the draws and R the variance of what is seen: the
// ensemble filter of G. Evensen (J. Geophys. Res. 99 (1994) 10143), exact where
// everything is normal. R is the inverse of Fisher's information of the mean and of
// the log spread in one reading as it is shown, divided by their number. What is seen of
// a log spread is not normal but ½·log(χ²_ν/ν): its limits reach further up than down,
// and upper ones are what "fit" is told by.
type foresight struct {
	st     *study
	spots  []float64
	truths []int // indices of draws that favour a form
	only   []int // tests at each level; nil: as many at every level as is asked for
	wide   ensemble
	form   ensemble
}

// ensemble is the draws of one prior: [quantity][draw].
type ensemble struct {
	x, z     [][]float64
	xx, varX []float64 // means and variances of x
	cxz, czz [][]float64
	draws    *posterior.Draws
	at       func(i int) int // draw of the posterior
}

// foresee prepares the spots of a study, and a number of equally likely truths.
func (st *study) foresee(spots []float64, truths int) *foresight {
	f := &foresight{st: st, spots: spots}
	f.form = st.ensemble(st.post.Form, st.post.Wide.Len(), spots, true)
	f.wide = st.ensemble(st.post.Wide, 0, spots, st.inSteps()) // whose upper limits are told by these, too
	n := len(f.form.x[0])
	for i := range truths {
		f.truths = append(f.truths, (2*i+1)*n/(2*truths))
	}
	return f
}

// fill has the study keep what it would work out once and keep, so that truths can be judged side
// by side and only read it.
func (f *foresight) fill() {
	for _, c := range f.spots {
		f.st.turnNow(c)
	}
	for i := range f.st.data.Shares {
		f.st.answersAs(i)
	}
}

func (st *study) ensemble(d *posterior.Draws, first int, spots []float64, untried bool) ensemble {
	n := min(covaryDraws, d.Len())
	e := ensemble{draws: d, at: func(i int) int { return i * d.Len() / n }}
	column := func(f func(k int) float64) []float64 {
		v := make([]float64, n)
		for i := range v {
			v[i] = f(e.at(i))
		}
		return v
	}
	for _, c := range spots {
		mean := make([]float64, n)
		log := make([]float64, n)
		draws := st.normalsAt(c, d, first, covaryDraws, untried)
		if d == st.post.Wide && !st.inSteps() { // of steps they are those of upper limits, too
			draws = st.surely(draws, st.along(c))
		}
		for i, b := range draws {
			mean[i], log[i] = b.Mean, math.Log(b.SD)
		}
		e.x = append(e.x, mean, log)
	}
	nested := posterior.None
	if f, ok := st.factor["vial"]; ok {
		nested = f
	}
	for i := range st.levels {
		g := st.groupAt(i)
		e.z = append(e.z,
			column(func(k int) float64 {
				return d.Mean[g][k] + math.Exp(d.LogSD[g][k])*(st.company(d, "reader", k, g)+st.company(d, "lot", k, g)+st.company(d, "session", k, g))
			}),
			column(func(k int) float64 { return d.LogSD[g][k] + math.Log(st.atGroup(g).within(d, k, nested)) }))
	}
	for i := range st.levels {
		e.z = append(e.z, column(func(k int) float64 { return st.know.Known[first+k][i] }))
	}
	for _, source := range newcomers {
		e.z = append(e.z, column(func(k int) float64 { return math.Log(st.widens(d, source, k)) }))
	}
	e.covary()
	return e
}

// newcomers are the sources of spread whose new members may settle a need.
var newcomers = []string{"reader", "lot"}

// company is the average effect of the trial's readers (or lots) in draw k in a group, in
// repeatabilities: what their further readings would have in common.
func (st *study) company(d *posterior.Draws, source string, k, g int) float64 {
	f, ok := st.factor[source]
	if !ok {
		return 0
	}
	sum := 0.0
	for _, e := range d.Effect[f] {
		sum += e[k] / float64(len(d.Effect[f]))
	}
	return sum * st.atGroup(g).over(d, f, k)
}

// widens is by what a source's standard deviation τ widens the spread in draw k,
// √(1 + τ²), τ in repeatabilities, at the middle level; 1 where it cannot be told.
func (st *study) widens(d *posterior.Draws, source string, k int) float64 {
	f, ok := st.factor[source]
	if !ok {
		return 1
	}
	if source == "lot" && st.lots != nil {
		at := st.atGroup(st.groupAt(st.middleLevel()))
		return math.Hypot(1, math.Sqrt(st.lots.at(k, at.above))/at.repeatability(d, k))
	}
	at := st.atGroup(st.groupAt(st.middleLevel()))
	if by := st.anyReader(d); source == "reader" && by != nil {
		return math.Hypot(1, math.Sqrt(by.tau[k])*at.over(d, f, k))
	}
	return math.Hypot(1, at.part(d, f, k))
}

func (e *ensemble) covary() {
	centre := func(rows [][]float64) (out [][]float64, means []float64) {
		for _, r := range rows {
			m := num.Mean(r)
			c := make([]float64, len(r))
			for i, v := range r {
				c[i] = v - m
			}
			out, means = append(out, c), append(means, m)
		}
		return out, means
	}
	x, means := centre(e.x)
	z, _ := centre(e.z)
	e.xx = means
	for _, row := range e.x {
		e.varX = append(e.varX, variance(row))
	}
	e.cxz, e.czz = covariances(x, z), covariances(z, z)
}

func covariances(a, b [][]float64) [][]float64 {
	out := make([][]float64, len(a))
	for i := range a {
		out[i] = make([]float64, len(b))
		for j := range b {
			sum := 0.0
			for k, v := range a[i] {
				sum += v * b[j][k]
			}
			out[i][j] = sum / float64(len(a[i]))
		}
	}
	return out
}

// added is how many tests a level further readings are, on average.
func (f *foresight) added(more further) float64 {
	if f.only == nil {
		return float64(more.tests)
	}
	sum := 0.0
	for _, n := range f.only {
		sum += float64(n) / float64(len(f.only))
	}
	return sum
}

// look is what a study would know at its spots after further readings, where draw
// i is the truth: draws and shift of the response at each spot, worked out when they are asked for.
type look struct {
	f          *foresight
	form, wide *moving
}

// after makes the readings of one truth and moves the draws.
func (f *foresight) after(truth int, more further) (*look, bool) {
	seen := f.seen(truth, more)
	rng := num.Source(2030, uint64(truth))
	noise := make([][]float64, aheadDraws)
	for k := range noise {
		noise[k] = make([]float64, len(seen))
		for j, s := range seen {
			if !math.IsInf(s.variance, 1) {
				noise[k][j] = s.noise(rng)
			}
		}
	}
	form, ok1 := f.form.moving(seen, noise)
	wide, ok2 := f.wide.moving(seen, noise)
	return &look{f, form, wide}, ok1 && ok2
}

func (l *look) at(c float64) drawsOf {
	i := slices.Index(l.f.spots, c)
	d := drawsOf{forms: aheadDraws, wides: aheadDraws, wide: func(k int) record.Normal { return l.wide.normals(i)[k] },
		varMean: sync.OnceValue(func() float64 { return variance(l.wide.row(2 * i)) })}
	if d.form = d.wide; !l.f.st.inSteps() {
		d.form = func(k int) record.Normal { return l.form.normals(i)[k] }
	}
	return d
}

// shift is by how much the response moves. It follows its mean, and what another fit found
// off it shrinks as the doubt does.
func (l *look) shift(c float64) float64 {
	f, i := l.f, slices.Index(l.f.spots, c)
	mean, now := num.MeanSD(l.form.row(2 * i))
	before := math.Sqrt(f.form.varX[2*i])
	off := f.st.turnNow(c).at(c) - f.form.xx[2*i]
	return mean - f.form.xx[2*i] - off*(1-math.Min(1, now/math.Max(before, 1e-300)))
}

// sign is one thing seen in further readings: a mean, a log spread, …
type sign struct {
	value, variance float64
	nu              float64 // of a log spread: the degrees of freedom that it is told by; else 0
}

func signOfLog(log, nu float64) sign {
	if !(nu > 0) {
		return sign{log, math.Inf(1), 0}
	}
	return sign{log, num.Trigamma(nu/2) / 4, nu}
}

// noise draws how far it lies off. The mean of ½·log(χ²_ν/ν) is not taken off: what is
// drawn for the truth and for every other draw has the same, and only their difference counts.
func (s sign) noise(rng *rand.Rand) float64 {
	if s.nu == 0 {
		return math.Sqrt(s.variance) * rng.NormFloat64()
	}
	return 0.5 * math.Log(math.Max(gamma(s.nu/2, rng)/(s.nu/2), 1e-300))
}

// seen are the further readings' means, log spreads and the rest.
func (f *foresight) seen(truth int, more further) (seen []sign) {
	st, d := f.st, f.form.draws
	rng := num.Source(2029, uint64(truth), uint64(more.tests))
	k := f.form.at(truth)
	n := float64(more.tests)
	share := 1.0 // of the average effect that is left with new members among them
	if had := len(st.members[more.of]); more.new > 0 {
		share = math.Sqrt(float64(had) / float64(had+more.new))
	}
	add := func(s sign) {
		s.value += s.noise(rng)
		seen = append(seen, s)
	}
	for i := range st.levels {
		g := st.groupAt(i)
		mean, log := f.form.z[2*i][truth], f.form.z[2*i+1][truth]
		mean -= (1 - share) * math.Exp(d.LogSD[g][k]) * st.company(d, more.of, k, g)
		im, iu := st.informationOf(mean, math.Exp(log))
		if f.only != nil {
			n = float64(f.only[i])
		}
		add(sign{mean, 1 / (n * im), 0}) // of none it is infinite: they have no say
		add(signOfLog(log, math.Max(0, n-0.5)*iu/2))
	}
	for i, l := range st.levels {
		variance := l.u * l.u / math.Max(more.knowns*more.knowns-1, 1e-15) // so that u/knowns is left
		add(sign{f.form.z[2*len(st.levels)+i][truth], math.Max(variance, 1e-18*(1+l.value*l.value)), 0})
	}
	for _, source := range newcomers {
		few, w := 1e-15, st.widens(d, source, k)
		if source == more.of {
			few = math.Max(float64(more.new), few)
		}
		slope := math.Max(1-1/(w*w), 0.1) // of log w by log τ, whose variance is 1/(2·new)
		add(sign{math.Log(w), slope * slope * 0.5 / few, 0})
	}
	return seen
}

// informationOf is Fisher's information of the mean and of the log spread in one
// reading, as the method shows it: 1/s² and 2 of an exact one of normal scatter, times what
// the kinds of scatter leave of them, by their weights.
func (st *study) informationOf(mean, sd float64) (ofMean, ofLog float64) {
	ofMean, ofLog = st.shownInformation(mean, sd)
	m, u := 0.0, 0.0
	for k, w := range st.post.Kind {
		ofM, ofU := posterior.Kind(k).Information()
		m, u = m+w*ofM, u+w*ofU
	}
	return m * ofMean, u * ofLog
}

func (st *study) shownInformation(mean, sd float64) (ofMean, ofLog float64) {
	const least = 1e-6
	if !st.inSteps() {
		s2 := sd*sd + st.rec.Shown.Step*st.rec.Shown.Step/12
		return 1 / s2, math.Max(least, 2*sd*sd*sd*sd/(s2*s2))
	}
	for _, a := range st.rec.Shown.Answers {
		low, high := (a.Seen.Low-mean)/sd, (a.Seen.High-mean)/sd
		p := num.Phi(high) - num.Phi(low)
		if p < 1e-12 {
			continue
		}
		slope := func(z float64) (m, u float64) {
			if math.IsInf(z, 0) {
				return 0, 0
			}
			return num.NormalPDF(z), z * num.NormalPDF(z)
		}
		lm, lu := slope(low)
		hm, hu := slope(high)
		ofMean += (hm - lm) * (hm - lm) / (p * sd * sd)
		ofLog += (hu - lu) * (hu - lu) / p
	}
	return math.Max(ofMean, least/(sd*sd)), math.Max(ofLog, least)
}

// moving moves the draws of x after something was seen, each when it is asked for.
type moving struct {
	*ensemble
	used  []int        // what was seen that has a say
	v     num.Positive // C_zz + R of that
	off   [][]float64  // by draw: how far what was seen lies off it
	rows  [][]float64
	spots [][]record.Normal
}

func (e *ensemble) moving(seen []sign, noise [][]float64) (*moving, bool) {
	m := &moving{ensemble: e, rows: make([][]float64, len(e.x)), spots: make([][]record.Normal, len(e.x)/2)}
	for j, s := range seen { // a part that nobody has, or that nothing new is seen of, has none
		if e.czz[j][j] > 1e-12*s.variance && e.czz[j][j] > 0 {
			m.used = append(m.used, j)
		}
	}
	v := make([][]float64, len(m.used))
	for a, i := range m.used {
		v[a] = make([]float64, len(m.used))
		for b, j := range m.used {
			v[a][b] = e.czz[i][j]
		}
		v[a][a] += seen[i].variance + 1e-9*e.czz[i][i]
	}
	n := len(e.x[0])
	m.off = make([][]float64, aheadDraws)
	for k := range m.off {
		m.off[k] = make([]float64, len(m.used))
		for a, j := range m.used {
			m.off[k][a] = seen[j].value - noise[k][j] - e.z[j][k*n/aheadDraws]
		}
	}
	var err error
	m.v, err = num.NewPositive(v)
	return m, err == nil
}

// row is the moved draws of x_i.
func (m *moving) row(i int) []float64 {
	if m.rows[i] != nil {
		return m.rows[i]
	}
	column := make([]float64, len(m.used))
	for a, j := range m.used {
		column[a] = m.cxz[i][j]
	}
	gain := m.v.Solve(column)
	out := make([]float64, aheadDraws)
	for k, off := range m.off {
		sum := m.x[i][k*len(m.x[i])/aheadDraws]
		for a, w := range gain {
			sum += w * off[a]
		}
		out[k] = sum
	}
	m.rows[i] = out
	return out
}

// normals are the moved draws at spot i, each with the sharing that it had.
func (m *moving) normals(i int) []record.Normal {
	if m.spots[i] == nil {
		mean, log := m.row(2*i), m.row(2*i+1)
		m.spots[i] = make([]record.Normal, aheadDraws)
		for k := range m.spots[i] {
			m.spots[i][k] = record.Normal{Mean: mean[k], SD: math.Exp(log[k]), Sharing: m.draws.Share[m.at(k*len(m.x[0])/aheadDraws)]}
		}
	}
	return m.spots[i]
}
