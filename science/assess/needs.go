package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

// needFindings judges single results against each need, as read and after
// turning the record round.
//
// At each concentration c of the needed range, and for each draw of the
// record, error_95 is the E with P(|result − c| ≤ E) = 95 %: bias, spread,
// answers' widths and the knowns' own doubt together. Either verdict is meant to
// be wrong in at most 5 of 100 trials, at the border too; see errorWithin.
//
// Corrected results at a known inside the range are "fit" by the response fitted without that
// known, and "not fit" by the one that was found (turnsAt).
func (st *study) needFindings() {
	for _, n := range st.needs {
		f := st.judge(n)
		f.WithinLimits = withinLimits(st.method, n, 0)
		st.finding.Needs = append(st.finding.Needs, f)
	}
}

// place is one concentration of a need, with its draws of error ÷ permitted.
type place struct {
	at, permitted float64
	raw, corr     ratios
}

func (st *study) judge(n knownwater.Need) NeedFinding {
	none := ErrorWithin{Undecided, num.None, num.None, num.None, num.None, num.None}
	f := NeedFinding{Need: n.Name, Verdict: Undecided, Raw: none, Corrected: none, MoreTests: num.None, Why: []note.Note{}, Along: []AlongNeed{}}
	if !tried(st.levels, n) {
		f.Verdict = NotTried
		f.because(note.New("not-tested-between").Number("low", n.Low).Number("high", n.High))
		return f
	}
	if st.rec == nil {
		f.because(note.New("no-response"))
		return f
	}
	low, high := st.span(n)
	if st.opt.Few || st.briefly {
		st.onlyVerdicts(&f, n, st.spots(low, high))
	} else {
		f.judge(st.places(n, low, high), st.rule(0))
	}
	gap, open := st.uncovered(n)
	if open {
		f.Raw.Verdict, f.Corrected.Verdict = unlessNotFit(f.Raw.Verdict), unlessNotFit(f.Corrected.Verdict)
	}
	f.Verdict = together(f.Raw, f.Corrected)
	switch {
	case f.Verdict == Undecided && open:
		f.because(gap)
	case f.Verdict == Undecided && f.Raw.Verdict == NotFit:
		f.because(note.New("correction-undecided"))
	}
	if st.post == nil {
		st.withoutRepeats(&f)
	}
	if f.Verdict == Undecided && !open && st.post != nil && st.promises() && !st.briefly {
		st.moreTests(&f, n)
	}
	return f
}

// judge gives the errors, as read and corrected, along the places, and their verdicts.
func (f *NeedFinding) judge(places []place, by rule) {
	for _, p := range places {
		f.Along = append(f.Along, along(p))
	}
	f.Raw = errorWithin(places, func(p place) ratios { return p.raw }, by)
	f.Corrected = errorWithin(places, func(p place) ratios { return p.corr }, by)
}

// withoutRepeats lets no method pass, and no correction fail, on single readings.
func (st *study) withoutRepeats(f *NeedFinding) {
	f.Raw.Verdict, f.Corrected.Verdict = unlessNotFit(f.Raw.Verdict), Undecided
	f.Verdict = Undecided
	f.Why = []note.Note{note.New("judged-on-single-readings")}
	if f.Raw.Verdict == NotFit {
		f.Why = []note.Note{note.New("corrected-on-single-readings")}
	}
}

func unlessNotFit(v string) string {
	if v == NotFit {
		return v
	}
	return Undecided
}

// uncovered is the end of a need that no known reached; one that agrees with it
// within its uncertainty did.
func (st *study) uncovered(n knownwater.Need) (note.Note, bool) {
	slack := 0.02 * (n.High - n.Low)
	bottom, top := reach(st.levels, st.rec.Bottom)
	switch {
	case n.Low < bottom-slack:
		return note.New("not-tested-below").Number("level", st.rec.Bottom), true
	case n.High > top+slack:
		return note.New("not-tested-above").Number("level", st.rec.Top), true
	}
	return note.Note{}, false
}

// together joins the two verdicts into one.
func together(raw, corr ErrorWithin) string {
	switch {
	case raw.Verdict == Fit:
		return Fit
	case corr.Verdict == Fit:
		return FitWhenCorrected
	case raw.Verdict == NotFit && corr.Verdict == NotFit:
		return NotFit
	}
	return Undecided
}

// places are concentrations of the needed range: both ends, ten between, and
// every known inside.
func (st *study) places(n knownwater.Need, low, high float64) []place {
	var ps []place
	for _, c := range st.spots(low, high) {
		ps = append(ps, st.place(n, c))
	}
	return ps
}

// spots are the concentrations of places.
func (st *study) spots(low, high float64) []float64 {
	at := []float64{}
	if high <= low { // one known, as good as at an end
		return append(at, math.Max(low, high))
	}
	for i := range 12 {
		at = append(at, low+(high-low)*float64(i)/11)
	}
	for _, l := range st.levels {
		if l.value > low && l.value < high {
			at = append(at, l.value)
		}
	}
	sort.Float64s(at)
	return slices.CompactFunc(at, func(a, b float64) bool { return math.Abs(b-a) <= 1e-9*high })
}

func (st *study) place(n knownwater.Need, c float64) place {
	return placeOf(c, n.PermittedAt(c), st.errorsAt(c))
}

// placeOf is a place by its errors, as read and corrected.
func placeOf(c, permitted float64, e [2]ratios) place {
	e[0].by, e[1].by = math.Log(permitted), math.Log(permitted)
	return place{c, permitted, e[0], e[1]}
}

// glimpse is a place of one study, ahead: as read or corrected.
func (st *study) glimpse(n knownwater.Need, c float64, corrected bool) glimpse {
	e, told := st.errorAt(c, corrected)
	return glimpseAt(e, told, st.drawsAt(c), n.PermittedAt(c))
}

// errorAt is the error at c, as read or corrected; told is the same, or of results at a known that
// are corrected by the response found, that known in it.
func (st *study) errorAt(c float64, corrected bool) (e, told errorAt) {
	if corrected {
		return st.correctedAt(c)
	}
	e = st.rawAt(c)
	return e, e
}

// errorsAt are the draws of log(error_95) at c, as read and corrected: the same for
// every need, so they are worked out once.
func (st *study) errorsAt(c float64) [2]ratios {
	if e, ok := st.errors[c]; ok {
		return e
	}
	b, by := st.behaviourAt(c), st.rule(0)
	var all [2]ratios
	for i, corrected := range []bool{false, true} {
		e, told := st.errorAt(c, corrected)
		all[i] = ratiosAt(e, told, b, by)
		if bare := st.leastScatter(c, b.wide); bare != nil {
			g := glimpseAt(e, told, behaviour{wide: bare, varMean: b.varMean}.draws(), 1)
			all[i].low = math.Min(all[i].low, logOr(quantile(drawn(g.wides, g.wide), 0.025), -endless))
		}
	}
	if st.errors == nil {
		st.errors = map[float64][2]ratios{}
	}
	st.errors[c] = all
	return all
}
