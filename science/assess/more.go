package assess

import (
	"math"

	"knownwater/science/note"
)

// moreTests says how many further tests would be expected to settle an
// undecided need. The arm h of the ratio's interval at the worst place, on the
// side where 1 lies, falls as 1/√n down to what the knowns' own doubt leaves, b; it has to come
// down to the distance from 1: n' = n·(h² − b²)/(d² − b²).
func (st *study) moreTests(f *NeedFinding, places []place) {
	e, of := f.Raw, func(p place) ratios { return p.raw }
	if f.Raw.Verdict == NotFit {
		e, of = f.Corrected, func(p place) ratios { return p.corr }
	}
	var p place
	for _, q := range places {
		if q.at == float64(e.WorstAt) {
			p = q
		}
	}
	middle := math.Exp(quantile(of(p).form, 0.5))
	h := math.Exp(quantile(of(p).form, 0.975)) - middle // the side on which 1 lies
	if middle > 1 {
		h = middle - math.Exp(quantile(of(p).wide, 0.025))
	}
	d := math.Abs(1 - middle)
	b := 1.96 * st.knownU(p.at) / p.permitted
	settled := (h*h - b*b) / (d*d - b*b)
	switch {
	case middle > 1e5 || h > 1e5 || math.IsNaN(h):
		f.because(note.New("off-the-top"))
	case d <= b:
		f.because(note.New("knowns-too-loose").Number("at", p.at))
	case settled > 20 || math.IsNaN(settled):
		f.because(note.New("too-close").Number("at", p.at))
	default:
		f.MoreTests = Number(twoDigitsUp(math.Max(1, float64(st.n)*(settled-1))))
		f.because(note.New("too-few-tests").Number("at", p.at))
	}
}

// because adds what holds the verdict back.
func (f *NeedFinding) because(n note.Note) { f.Why = append(f.Why, n) }

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

// twoDigitsUp rounds a number up to two digits: more are not meant.
func twoDigitsUp(v float64) float64 {
	unit := math.Pow(10, math.Max(0, math.Floor(math.Log10(v))-1))
	return math.Ceil(v/unit) * unit
}
