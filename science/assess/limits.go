package assess

import (
	"math"

	"knownwater/science/note"
	"knownwater/science/num"
)

// The error rates of the limits, and the relative standard uncertainty at
// which a result counts as a quantity.
const (
	falseAlarm    = 0.05
	missed        = 0.05
	quantifiedAt  = 0.10
	leastLimitsDF = 3 // spread at the blank known within a factor of about two
)

// limitFinding gives the critical value, the detection limit and the
// quantification limit as true concentrations (Currie 1995, Pure Appl. Chem.
// 67, 1699; ISO 11843), on what the method can show:
//
//   - a reading counts as "something there" when it is shown above the boundary
//     b, the first one (swatch boundary, last digit) that at most 5 % of
//     readings of a blank exceed;
//   - critical: the concentration whose mean reading is b;
//   - detection: the lowest concentration of which 95 % of readings exceed b;
//   - quantification: the lowest concentration from which on the standard
//     uncertainty of a result, spread and width of an answer together, stays
//     within 10 %.
//
// Probabilities are averaged over the record's doubt, so that the rates hold
// for a trial as small as this one. The blank's spread is that of the pooled
// spread function at the blank's response.
func (st *study) limitFinding() {
	l := &st.finding.Limits
	*l = Limits{num.None, num.None, num.None, num.None, num.None}
	if why := st.noLimits(); why.Code != "" {
		st.note(note.New("no-limits").Since(why))
		return
	}
	r := st.rec
	b := st.boundary()
	if math.IsInf(b, 1) || b >= r.Mean[len(r.Mean)-1] {
		st.note(note.New("blank-reads-at-top"))
		return
	}
	l.Critical = num.Number(math.Max(0, r.Invert(b)))
	if at, ok := crossesUp(r.Grid, r.Limit(missed), b); ok {
		l.Detection = num.Number(at)
	} else {
		st.note(note.New("no-detection-limit"))
	}
	if at, ok := st.quantified(); ok {
		l.Quantification = num.Number(at)
		if l.Quantification < l.Detection {
			l.Quantification = l.Detection
			st.note(note.New("quantification-at-detection"))
		}
	} else {
		st.note(note.New("no-quantification-limit"))
	}
}

// boundary is the first one that at most 5 % of readings of a blank are shown above.
func (st *study) boundary() float64 { return st.rec.Shown.Up(st.rec.Limit(1 - falseAlarm)[0]) }

// noLimits is what is missing for limits; without a code where nothing is.
func (st *study) noLimits() note.Note {
	switch {
	case st.rec == nil && len(st.levels) == 1:
		return note.New("blanks-only")
	case st.rec == nil:
		return note.New("no-response")
	case st.post == nil:
		return note.New("no-repeats")
	case st.flat:
		return note.New("spread-at-most")
	case !st.likeBlank():
		return note.New("no-blank")
	}
	if df := st.blankDF(); df < leastLimitsDF {
		return note.New("few-repeats").Number("df", math.Round(df)).Number("wanted", leastLimitsDF)
	}
	return note.Note{}
}

// blankDF are the degrees of freedom behind the spread at the lowest known, as limits
// use it: under the prior that favours a form, 1/(2·var log s).
func (st *study) blankDF() float64 {
	g := st.groupAt(0)
	return 1 / (2 * variance(st.post.Form.LogSD[g]))
}

// crossesUp finds where a curve last rises through y and stays above.
func crossesUp(grid, curve []float64, y float64) (float64, bool) {
	n := len(grid)
	if curve[n-1] < y {
		return 0, false
	}
	i := n - 1
	for i > 0 && curve[i-1] >= y {
		i--
	}
	if i == 0 {
		return grid[0], true
	}
	return grid[i-1] + (y-curve[i-1])/(curve[i]-curve[i-1])*(grid[i]-grid[i-1]), true
}

// quantified finds the lowest concentration from which on results are good to 10 %.
func (st *study) quantified() (float64, bool) {
	r := st.rec
	n := len(r.Grid)
	worth := make([]float64, n) // minus the relative uncertainty: rises as results get better
	for i, c := range r.Grid {
		slope := (r.Mean[min(i+1, n-1)] - r.Mean[max(i-1, 0)]) / (r.Grid[min(i+1, n-1)] - r.Grid[max(i-1, 0)])
		worth[i] = math.Inf(-1)
		if c > 0 && slope > 0 {
			worth[i] = -math.Hypot(st.typicalSD(c), r.Shown.StepAt(r.Mean[i])/math.Sqrt(12)) / slope / c
		}
		worth[i] = math.Max(worth[i], -1e6)
	}
	return crossesUp(r.Grid, worth, -quantifiedAt)
}

// typicalSD is the middle standard deviation of a single reading at c.
func (st *study) typicalSD(c float64) float64 {
	s := make([]float64, st.rec.Draws())
	for d := range s {
		s[d] = st.rec.Spread.All(d, c)
	}
	return quantile(s, 0.5)
}
