package assess

import (
	"fmt"
	"math"
	"sort"

	"knownwater"
	"knownwater/science/num"
	"knownwater/science/record"
)

// needDraws is how many draws of the record the error of single results is
// worked out for; within is the share of single results that it holds for.
const (
	needDraws = 160
	within    = 0.95
)

// needFindings judges single results against each need, as read and after
// turning the record round.
//
// At each concentration c of the needed range, and for each draw of the
// record, error_95 is the E with P(|result − c| ≤ E) = 95 %: bias, spread,
// answers' widths and the knowns' own doubt together. The draws give it an
// interval. The method is fit when the upper 97.5 % limit of the largest ratio
// E/permitted over the whole range is at most 1, not fit when the lower limit
// at the worst concentration is above 1, else undecided: either statement is
// wrong in at most 5 of 100 trials.
//
// Corrected results at a known inside the range are judged by the response
// fitted without that known.
func (st *study) needFindings() {
	for _, n := range st.needs {
		st.finding.Needs = append(st.finding.Needs, st.judge(n))
	}
	st.askShares()
}

// place is one concentration of a need, with its draws of error ÷ permitted.
type place struct {
	at, permitted float64
	raw, corr     []float64
}

func (st *study) judge(n knownwater.Need) NeedFinding {
	none := ErrorWithin{Undecided, None, None, None, None, None}
	f := NeedFinding{Need: n.Name, Verdict: Undecided, Raw: none, Corrected: none, MoreTests: None, Along: []AlongNeed{}}
	if st.rec == nil {
		f.Why = "there is no usable response to judge"
		return f
	}
	low, high := math.Max(n.Low, st.rec.Bottom), math.Min(n.High, st.rec.Top)
	if low > high {
		f.Why = fmt.Sprintf("no known was tested between %s and %s", short(n.Low), short(n.High))
		return f
	}
	places := st.places(n, low, high)
	for _, p := range places {
		f.Along = append(f.Along, along(p))
	}
	f.Raw = errorWithin(places, func(p place) []float64 { return p.raw })
	f.Corrected = errorWithin(places, func(p place) []float64 { return p.corr })
	gap := uncovered(n, st.rec)
	if gap != "" {
		f.Raw.Verdict, f.Corrected.Verdict = unlessNotFit(f.Raw.Verdict), unlessNotFit(f.Corrected.Verdict)
	}
	f.Verdict, f.Why = together(f.Raw, f.Corrected, gap)
	if st.post == nil {
		st.withoutRepeats(&f)
	}
	if f.Verdict == Undecided && gap == "" && st.post != nil {
		st.moreTests(&f, places)
	}
	return f
}

// withoutRepeats lets no method pass, and no correction fail, on single readings.
func (st *study) withoutRepeats(f *NeedFinding) {
	f.Raw.Verdict, f.Corrected.Verdict = unlessNotFit(f.Raw.Verdict), Undecided
	f.Verdict = Undecided
	f.Why = "undecided with so few readings: every level was read once"
	if f.Raw.Verdict == NotFit {
		f.Why = "not fit as read; whether a correction would help is undecided with so few readings: every level was read once"
	}
}

func unlessNotFit(v string) string {
	if v == NotFit {
		return v
	}
	return Undecided
}

func uncovered(n knownwater.Need, r *record.Record) string {
	slack := 0.02 * (n.High - n.Low)
	switch {
	case n.Low < r.Bottom-slack:
		return fmt.Sprintf("no known was tested below %s", short(r.Bottom))
	case n.High > r.Top+slack:
		return fmt.Sprintf("no known was tested above %s", short(r.Top))
	}
	return ""
}

// together joins the two verdicts into one.
func together(raw, corr ErrorWithin, gap string) (verdict, why string) {
	switch {
	case raw.Verdict == Fit:
		return Fit, ""
	case corr.Verdict == Fit:
		return FitWhenCorrected, ""
	case raw.Verdict == NotFit && corr.Verdict == NotFit:
		return NotFit, ""
	case gap != "":
		return Undecided, gap
	case raw.Verdict == NotFit:
		return Undecided, "not fit as read; whether a correction would do is undecided"
	}
	return Undecided, ""
}

// places are concentrations of the needed range: both ends, ten between, and
// every known inside.
func (st *study) places(n knownwater.Need, low, high float64) []place {
	at := []float64{}
	for i := range 12 {
		at = append(at, low+(high-low)*float64(i)/11)
	}
	for _, l := range st.levels {
		if l.value > low && l.value < high {
			at = append(at, l.value)
		}
	}
	sort.Float64s(at)
	var ps []place
	for i, c := range at {
		if i > 0 && c == at[i-1] {
			continue
		}
		ps = append(ps, st.place(n, c))
	}
	return ps
}

func (st *study) place(n knownwater.Need, c float64) place {
	p := place{at: c, permitted: n.PermittedAt(c)}
	turn := st.turnAt(c)
	r := st.rec
	draws := min(needDraws, r.Draws())
	for i := range draws {
		d := i * r.Draws() / draws
		dist := r.Reading(d, c)
		p.raw = append(p.raw, st.rawError(c, dist)/p.permitted)
		p.corr = append(p.corr, turn.error95(c, dist, r.Shown)/p.permitted)
	}
	sort.Float64s(p.raw)
	sort.Float64s(p.corr)
	return p
}

// turnAt is how corrected results at c come about: through the response fitted
// without the known at c, where there is one that is not the lowest or highest.
func (st *study) turnAt(c float64) turn {
	for i, l := range st.levels {
		if l.value == c && i > 0 && i < len(st.levels)-1 {
			if t, ok := st.turnWithout(i); ok {
				return t
			}
		}
	}
	return turn{st.rec.Grid, st.rec.Mean}
}

// turn is a response tabulated for turning readings round.
type turn struct{ grid, mean []float64 }

// turnWithout is the response fitted without level i.
func (st *study) turnWithout(i int) (turn, bool) {
	if t, ok := st.without[i]; ok {
		return t, t.grid != nil
	}
	if st.without == nil {
		st.without = map[int]turn{}
	}
	t := turn{}
	if resp, err := record.Fit(drop(st.know, i)); err == nil {
		t.grid = st.rec.Grid
		for _, c := range t.grid {
			t.mean = append(t.mean, resp.At(c))
		}
	}
	st.without[i] = t
	return t, t.grid != nil
}

// drop leaves level i out, and thins the draws: only the best fit is wanted.
func drop(k record.Knowledge, i int) record.Knowledge {
	cut := func(v []float64) []float64 {
		return append(append([]float64(nil), v[:i]...), v[i+1:]...)
	}
	out := record.Knowledge{Level: cut(k.Level), Mean: cut(k.Mean), DF: k.DF, Signal: k.Signal}
	for _, d := range record.Thin(len(k.Draw)) {
		out.Draw = append(out.Draw, cut(k.Draw[d]))
		out.Known = append(out.Known, cut(k.Known[d]))
	}
	return out
}

// at is the tabulated response, going on straight beyond its ends.
func (t turn) at(c float64) float64 {
	n := len(t.grid)
	i := min(max(sort.SearchFloat64s(t.grid, c), 1), n-1)
	return t.mean[i-1] + (t.mean[i]-t.mean[i-1])*(c-t.grid[i-1])/(t.grid[i]-t.grid[i-1])
}

// error95 is the E within which 95 % of corrected single results at c lie, for
// readings with distribution dist.
func (t turn) error95(c float64, dist record.Normal, shown record.Shown) float64 {
	if shown.Answers != nil {
		return discrete95(dist, shown.Answers, func(a record.Answer) float64 {
			if a.Seen.OpenAbove() {
				return math.Inf(1) // no estimate
			}
			low := a.Seen.Low
			if a.Seen.OpenBelow() {
				low = math.Min(t.mean[0], a.Seen.High)
			}
			return math.Abs(math.Max(0, record.InvertOn(t.grid, t.mean, (low+a.Seen.High)/2)) - c)
		})
	}
	dist.SD = math.Hypot(dist.SD, shown.Step/math.Sqrt(12))
	return solve95(func(e float64) float64 {
		p := dist.Below(t.at(c + e))
		if c-e > 0 {
			p -= dist.Below(t.at(c - e))
		}
		return p
	}, math.Max(c, t.grid[len(t.grid)-1]/50))
}

// rawError is the E within which 95 % of single results as read lie.
func (st *study) rawError(c float64, dist record.Normal) float64 {
	shown := st.rec.Shown
	if shown.Answers != nil {
		return discrete95(dist, shown.Answers, func(a record.Answer) float64 { return math.Abs(a.Value - c) })
	}
	dist.SD = math.Hypot(dist.SD, shown.Step/math.Sqrt(12))
	b := dist.Mean - c
	return solve95(func(e float64) float64 {
		return num.Phi((e-b)/dist.SD) - num.Phi((-e-b)/dist.SD)
	}, math.Abs(b)+2*dist.SD)
}

// discrete95 is the smallest error that at least 95 % of answers keep within.
func discrete95(dist record.Normal, answers []record.Answer, miss func(record.Answer) float64) float64 {
	type one struct{ miss, p float64 }
	var all []one
	for _, a := range answers {
		if p := dist.Below(a.Seen.High) - dist.Below(a.Seen.Low); p > 1e-9 {
			all = append(all, one{miss(a), p})
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].miss < all[j].miss })
	sum := 0.0
	for _, o := range all {
		sum += o.p
		if sum >= within {
			return o.miss
		}
	}
	return math.Inf(1)
}

// solve95 finds where a rising probability reaches 95 %; infinite where it
// never does.
func solve95(p func(e float64) float64, guess float64) float64 {
	lo, hi := 0.0, guess
	for range 40 {
		if p(hi) >= within {
			break
		}
		lo, hi = hi, 2*hi
	}
	if p(hi) < within {
		return math.Inf(1)
	}
	for range 30 {
		mid := (lo + hi) / 2
		if p(mid) >= within {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// errorWithin finds the worst place and its verdict. The upper limit is that
// of the largest ratio over all places, the lower that at the worst place.
func errorWithin(places []place, of func(place) []float64) ErrorWithin {
	worst, ratio := 0, math.Inf(-1)
	for i, p := range places {
		if m := num.Quantile(of(p), 0.5); m > ratio {
			worst, ratio = i, m
		}
	}
	p := places[worst]
	low, high := num.Quantile(of(p), 0.025), 0.0
	for _, q := range places {
		high = math.Max(high, num.Quantile(of(q), 0.975))
	}
	e := ErrorWithin{Undecided, Number(p.at), Number(ratio * p.permitted), Number(low * p.permitted), Number(high * p.permitted), Number(p.permitted)}
	switch {
	case high <= 1:
		e.Verdict = Fit
	case low > 1:
		e.Verdict = NotFit
	}
	return e
}

func along(p place) AlongNeed {
	q := func(v []float64, at float64) Number { return Number(num.Quantile(v, at) * p.permitted) }
	return AlongNeed{p.at, p.permitted,
		q(p.raw, 0.5), q(p.raw, 0.025), q(p.raw, 0.975), q(p.corr, 0.5), q(p.corr, 0.025), q(p.corr, 0.975)}
}

// moreTests says how many further tests would be expected to settle an
// undecided need. The arm h of the ratio's interval at the worst place, on the
// side where 1 lies, falls as 1/√n down to what the knowns' own doubt leaves, b; it has to come
// down to the distance from 1: n' = n·(h² − b²)/(d² − b²).
func (st *study) moreTests(f *NeedFinding, places []place) {
	e, of := f.Raw, func(p place) []float64 { return p.raw }
	if f.Raw.Verdict == NotFit {
		e, of = f.Corrected, func(p place) []float64 { return p.corr }
	}
	var p place
	for _, q := range places {
		if q.at == float64(e.WorstAt) {
			p = q
		}
	}
	middle := num.Quantile(of(p), 0.5)
	h := num.Quantile(of(p), 0.975) - middle // the side on which 1 lies
	if middle > 1 {
		h = middle - num.Quantile(of(p), 0.025)
	}
	d := math.Abs(1 - middle)
	b := 1.96 * st.knownU(p.at) / p.permitted
	settled := (h*h - b*b) / (d*d - b*b)
	switch {
	case math.IsInf(middle, 0) || math.IsNaN(h) || math.IsInf(h, 0):
		f.Why = orElse(f.Why, "readings there run off the top of what the method shows; more of the same will not settle it")
	case d <= b:
		f.Why = orElse(f.Why, fmt.Sprintf("at %s the knowns' own uncertainty is as large as what is to be decided: better knowns, not more tests", short(p.at)))
	case settled > 20 || math.IsNaN(settled):
		f.Why = orElse(f.Why, fmt.Sprintf("at %s the error lies so close to the permitted one that more tests of this kind would hardly settle it", short(p.at)))
	default:
		f.MoreTests = Number(math.Ceil(math.Max(1, float64(st.n)*(settled-1))))
		f.Why = orElse(f.Why, fmt.Sprintf("at %s the error lies too close to the permitted one for so few tests", short(p.at)))
	}
}

func orElse(s, other string) string {
	if s != "" {
		return s + "; " + other
	}
	return other
}

// knownU is the standard uncertainty of the known nearest to c.
func (st *study) knownU(c float64) float64 {
	best, u := math.Inf(1), 0.0
	for _, l := range st.levels {
		if d := math.Abs(l.value - c); d < best {
			best, u = d, l.u
		}
	}
	return u
}
