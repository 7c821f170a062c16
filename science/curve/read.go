package curve

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Sample is what was measured on one water.
type Sample struct {
	Signals []float64 // replicates
	// Seen are replicates that were seen as intervals, such as between two marks of a
	// scale; then there are no Signals. A plain number is taken for what it says: its last
	// digit rounds as those of the curve's points did, whose scatter holds that.
	Seen      []interval.Interval
	Dilution  float64 // factor by which the cell's concentration is multiplied; 0 means 1
	UDilution float64 // its relative standard uncertainty
	ULot      float64 // relative standard uncertainty of the reagent lot against the curve's
	// Own are signals of the same water without the reagent that makes the colour, and Clear those
	// of clear water without it: what Own has more is the water's own colour, taken off
	// once. No Clear: it was what the instrument's zero was set with.
	Own, Clear []float64
}

// colour is the water's own, and the variance that this costs beside S²·v(0).
func (s Sample) colour() (own, cost float64) {
	if len(s.Own) == 0 {
		return 0, 0
	}
	own, cost = num.Mean(s.Own), 1/float64(len(s.Own))
	if len(s.Clear) > 0 {
		own -= num.Mean(s.Clear)
		cost += 1 / float64(len(s.Clear))
	}
	return own, cost
}

// n is the number of replicates.
func (s Sample) n() int { return len(s.Signals) + len(s.Seen) }

// mean is the interval of the mean of the replicates.
func (s Sample) mean() interval.Interval {
	if len(s.Seen) == 0 {
		return interval.Exact(num.Mean(s.Signals))
	}
	return interval.Mean(s.Seen)
}

// Where a reading may lie outside what was measured.
const (
	Below = "below"
	Above = "above"
)

// Result is a signal turned round. NaN is what cannot be said.
type Result struct {
	N         int
	Level     float64     // concentration in the sample
	U         float64     // standard uncertainty (k = 1)
	Low, High float64     // 95 %
	Outside   string      // "", or Below or Above: no level in the range of the curve could well give the signal
	Open      string      // "", or Below or Above: the side to which the set of levels has no end of its own
	Parts     []Component // of U, largest first
	Notes     []note.Note
}

// Component is one named component of a standard uncertainty.
type Component struct {
	Name string
	U    float64
}

const outer = 0.025 // on each side of a 95 % interval

// Read turns a signal round, as every reading is (package inverse): the level is where
// the curve meets the mean of the replicates, the interval
//
//	{ c : 2.5 % ≤ P(mean ≤ what was seen | c) ≤ 97.5 % }.
//
// P is the average over weightings of
// Student's t with the weighting's degrees of freedom, centre f(c) and variance
//
//	S²·(v(c)/m + v(0)·own + gᵀ·(XᵀWX)⁻¹·g) + gᵀ·(knowns)·g + (f′(c)·c)²·(u_dilution² + u_lot²)
//
// own being 1/n + 1/n of the readings behind the water's own colour, 0 without. The last two terms are as stated, so that the degrees of freedom rise by
// Welch and Satterthwaite. For a line and fixed weights this is Fieller's
// interval (E. C. Fieller 1954, J. R. Statist. Soc. B 16, 175). With weights from
// the spread it covers the intervals of two beliefs about it (see odds). U is the
// first-order formula of QUAM (Eurachem/CITAC CG4, appendix E.3) with the
// spread between weightings. Where a dead zone fits as well, the interval covers what both say. There is nothing below zero, and nothing is said of what
// lies beyond the range.
func (c Curve) Read(s Sample) Result {
	r := c.read(s)
	if c.Beside != nil {
		r.cover(c.Beside.read(s))
	}
	return r
}

// cover widens a result to what another curve through the same points makes of the signal. Either may be the true
// one: what the levels differ by, ÷ √2, is the root mean square of what the first is off by.
func (r *Result) cover(other Result) {
	if other.Outside == "" {
		r.Outside = ""
	}
	r.Low, r.High = math.Min(r.Low, other.Low), math.Max(r.High, other.High) // NaN where either has no end
	if r.Open == "" || other.Open == Above {
		r.Open = other.Open
	}
	if d := math.Abs(r.Level-other.Level) / math.Sqrt2; d > 0 {
		r.U, r.Parts = math.Hypot(r.U, d), largestFirst(append(slices.Clone(r.Parts), Component{"shape", d}))
	}
}

func (c Curve) read(s Sample) Result {
	q, seen := c.ask(&s)
	r := Result{N: s.n(), Level: math.NaN(), U: math.NaN(), Low: math.NaN(), High: math.NaN()}
	if !c.scattered() {
		return c.withoutScatter(r, q, s)
	}
	t := turned{q}
	a := inverse.Turn(t, t.oriented(seen))
	switch top := c.Range.LevelHigh; {
	case a.Open == inverse.Above && a.Low == top, a.Open == inverse.Below && math.IsNaN(a.Estimate) && a.High == c.Range.LevelLow:
		return c.beyond(r, string(a.Open), s)
	case c.Range.Flat.reaches(t.signal(t.oriented(seen).High), q.m, c.falls()):
		r.Low, r.Open = a.Low*s.Dilution, Above
		r.Notes = append(r.Notes, note.New("signal-of-flat-knowns").Number("from", c.Range.Flat.From*s.Dilution).Number("low", r.Low))
		return r
	}
	r.Low, r.High, r.Open = a.Low*s.Dilution, a.High*s.Dilution, string(a.Open)
	u, parts := math.NaN(), []Component(nil)
	if !math.IsNaN(a.Estimate) {
		if math.IsNaN(q.y) { // open at an end: the middle of what was seen is none
			q.y = c.At(a.Estimate)
		}
		u, parts = q.uncertainty(a.Estimate)
		u, parts = t.withWidth(u, parts, t.oriented(seen))
		if u > c.Range.LevelHigh-c.Range.LevelLow {
			u, a.Estimate = math.NaN(), math.NaN()
		}
	}
	if math.IsNaN(a.Estimate) {
		r.Notes = append(r.Notes, noEstimate(r))
		return r
	}
	r.Level, r.U, r.Parts = a.Estimate*s.Dilution, u*s.Dilution, scaledParts(parts, s.Dilution)
	r.Notes = append(r.Notes, c.doubts(q, s, r)...)
	return r
}

// withWidth adds what an interval leaves open to u: its width as a concentration,
// every value in it as likely, w/√12. Of one that is open no u can be said.
func (t turned) withWidth(u float64, parts []Component, seen interval.Interval) (float64, []Component) {
	switch {
	case seen.Low == seen.High:
		return u, parts
	case seen.OpenBelow() || seen.OpenAbove():
		return math.NaN(), nil
	}
	w := (t.Level(seen.High) - t.Level(seen.Low)) / math.Sqrt(12)
	return math.Hypot(u, w), largestFirst(append(parts, Component{"interval seen", w}))
}

// ask is the query of a sample, and the interval of its mean signal with the water's
// own colour taken off. A dilution that is not given is 1.
func (c Curve) ask(s *Sample) (query, interval.Interval) {
	if s.Dilution == 0 {
		s.Dilution = 1
	}
	own, cost := s.colour()
	seen := s.mean()
	seen.Low, seen.High = seen.Low-own, seen.High-own
	return query{Curve: c, y: seen.Mid(), m: float64(s.n()), rel: math.Hypot(s.UDilution, s.ULot), own: cost}, seen
}

// withoutScatter is all that a curve can say whose scatter is not known.
func (c Curve) withoutScatter(r Result, q query, s Sample) Result {
	if out := q.outside(); out != "" {
		return c.beyond(r, out, s)
	}
	if x, ok := q.centre(); ok {
		r.Level = x * s.Dilution
	}
	r.Notes = append(r.Notes, c.doubts(q, s, r)...)
	return r
}

// beyond is the answer to a signal that no level in the range gives.
func (c Curve) beyond(r Result, side string, s Sample) Result {
	r.Outside, r.Open = side, side
	if side == Above {
		r.Low = c.Range.LevelHigh * s.Dilution
		r.Notes = append(r.Notes, note.New("signal-above-range").Number("level", r.Low))
		return r
	}
	if r.High = c.Range.LevelLow * s.Dilution; r.High == 0 {
		r.Notes = append(r.Notes, note.New("signal-of-no-water"))
		return r
	}
	r.Low = 0
	r.Notes = append(r.Notes, note.New("signal-below-range").Number("level", r.High))
	return r
}

// noEstimate says why no level is better than its neighbours.
func noEstimate(r Result) note.Note {
	switch {
	case r.Open == Above && !(r.Low > 0):
		return note.New("any-level-fits")
	case r.Open == Above:
		return note.New("levels-from-fit").Number("level", r.Low)
	case r.Open == Below:
		return note.New("levels-up-to-fit").Number("level", r.High)
	}
	return note.New("levels-between-fit").Number("low", r.Low).Number("high", r.High)
}

// ReadOn turns a signal round on the curve as far as that can be followed, below
// nothing and beyond its range too: to judge the curve by a known, which says itself
// where it is.
func (c Curve) ReadOn(s Sample) Result {
	q, seen := c.ask(&s)
	r := Result{N: s.n(), Level: math.NaN(), U: math.NaN(), Low: math.NaN(), High: math.NaN()}
	x, ok := q.centre()
	if r.Outside = q.outside(); r.Outside != "" || !ok || c.Range.Flat.reaches(q.y, q.m, c.falls()) {
		back := c.Read(s)
		back.Level, back.U = math.NaN(), math.NaN()
		return back
	}
	u, parts := q.uncertainty(x)
	t := turned{q}
	low, high := math.NaN(), math.NaN()
	if u > 0 {
		low, high = t.through(t.oriented(seen), x)
	}
	d := s.Dilution
	r.Level, r.U, r.Low, r.High, r.Parts = x*d, u*d, low*d, high*d, scaledParts(parts, d)
	return r
}

func scaledParts(parts []Component, k float64) []Component {
	for i := range parts {
		parts[i].U *= k
	}
	return parts
}

// doubts are what a person should know about a reading.
func (c Curve) doubts(q query, s Sample, r Result) (notes []note.Note) {
	switch {
	case !(c.DF > 0):
		notes = append(notes, note.New("signal-scatter-untold"))
	case !c.scattered():
		notes = append(notes, note.New("knowns-on-the-curve"))
	}
	if own, _ := s.colour(); len(s.Own) > 0 {
		notes = append(notes, note.New("own-colour-taken-off").Number("colour", own))
	}
	d := math.Max(s.Dilution, 1e-300)
	if least := c.critical(s.n()); least > 0 && r.Level/d < least && c.Range.LevelLow == 0 {
		notes = append(notes, note.New("could-be-a-blank").Number("level", least*s.Dilution))
	}
	if r.Open == Above {
		notes = append(notes, note.New("may-lie-above").Number("level", c.Range.LevelHigh*s.Dilution))
	}
	if s.Dilution != 1 && s.UDilution == 0 {
		notes = append(notes, note.New("dilution-taken-as-exact"))
	}
	if n := len(s.Signals); n > 1 && c.scattered() {
		_, sd := num.MeanSD(s.Signals)
		w := c.heaviest()
		expected := w.Size * math.Sqrt(w.Variance.at(r.Level/d))
		if p := num.FSurvival(sd*sd/(expected*expected), float64(n-1), w.DF); p < 0.01 {
			notes = append(notes, note.New("replicates-differ").Number("p", p))
		}
	}
	return notes
}
