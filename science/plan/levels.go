package plan

import (
	"math"
	"sort"

	"knownwater"
	"knownwater/science/note"
)

// Proposed is one proposed level and why it is worth a vial.
type Proposed struct {
	Level float64
	Why   note.Note
}

// MostLevels is how many levels above zero are proposed.
const MostLevels = 8

// closest is how near two proposed levels may be, as a share of the larger.
const closest = 0.15

// Levels proposes levels for methods and needs, rising, beginning with the
// blank. Levels around the limits of the needs come first, half the permitted
// error to either side, because there the verdicts are made, and the two sides of a join, from
// which on a method dilutes: a method that no known shows there, read as samples will be, is not found fit. Then come middles
// of the gaps between swatches (a level on a swatch flatters a chart), steps above
// the join of methods that dilute (a dilution is judged by itself), and a ladder
// of factor 2 for methods without swatches; of these always the one that is
// farthest from what has been chosen. Where all needs lie far from zero (alkalinity
// from 7.5 to 9), so do the levels, and there is no blank: nothing near zero is asked
// for, and a vial there would be wasted. A level that happens to lie on a swatch
// of any chart is moved off it. Numbers have two digits, so that they can be
// made; four where the charts leave so little room.
func Levels(methods []knownwater.Method, needs []knownwater.Need) []Proposed {
	bottom, top := lowest(needs), highest(methods, needs)
	var out []Proposed
	most := MostLevels
	if bottom == 0 {
		out, most = append(out, Proposed{0, note.New("blank")}), MostLevels+1
	}
	add := func(p Proposed) {
		if p.Level > bottom && p.Level <= top*1.0000001 && len(out) < most && apart(p.Level, out, bottom) {
			out = append(out, p)
		}
	}
	for _, p := range append(atLimits(needs), atJoins(methods)...) {
		p.Level, _ = between(p.Level, methods)
		add(p)
	}
	rest := append(append(inGaps(methods), aboveJoins(methods, top)...), ladder(methods, bottom, top)...)
	for len(rest) > 0 {
		i := farthest(rest, out, bottom, top)
		if v, ok := between(rest[i].Level, methods); ok {
			add(Proposed{v, rest[i].Why})
		}
		rest = append(rest[:i], rest[i+1:]...)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Level < out[j].Level })
	return out
}

// lowest is as far below the lowest limit of a need as the needs are wide, where that
// is more than half of that limit, else 0: nearer to zero, zero itself is wanted.
func lowest(needs []knownwater.Need) float64 {
	if len(needs) == 0 {
		return 0
	}
	low, high := math.Inf(1), 0.0
	for _, n := range needs {
		low, high = min(low, n.Low), max(high, n.High)
	}
	if bottom := low - (high - low); bottom > low/2 {
		return bottom
	}
	return 0
}

// highest is a third above the highest limit of a need, else the top of the
// methods' scales, else nothing.
func highest(methods []knownwater.Method, needs []knownwater.Need) float64 {
	var top float64
	for _, n := range needs {
		top = max(top, n.High*4/3)
	}
	if bottom := lowest(needs); bottom > 0 { // as far above the needs as below
		top = 0
		for _, n := range needs {
			top = max(top, n.High)
		}
		for _, n := range needs {
			top = max(top, n.Low+n.High-bottom)
		}
	}
	if top > 0 {
		return top
	}
	for _, m := range methods {
		f := max(1, m.DilutionFactor)
		if k := len(m.Swatches); k > 0 {
			top = max(top, m.Swatches[k-1]*f)
		}
		if m.Range != nil {
			top = max(top, m.Range.High*f)
		}
	}
	return top
}

func atLimits(needs []knownwater.Need) []Proposed {
	var out []Proposed
	for _, n := range needs {
		for _, limit := range []float64{n.Low, n.High} {
			if e := n.PermittedAt(limit) / 2; limit > 0 && e > 0 {
				out = append(out,
					Proposed{limit - min(e, limit/2), note.New("below-limit").Number("limit", limit).Name("need", n.Name)},
					Proposed{limit + e, note.New("above-limit").Number("limit", limit).Name("need", n.Name)})
			}
		}
	}
	return out
}

func inGaps(methods []knownwater.Method) []Proposed {
	var out []Proposed
	for _, m := range methods {
		for i := 1; i < len(m.Swatches); i++ {
			a, b := m.Swatches[i-1], m.Swatches[i]
			out = append(out, Proposed{(a + b) / 2, note.New("between-swatches").Number("swatch", a, b).Name("method", m.Name)})
		}
	}
	return out
}

// atJoins are a twentieth below the join of methods that dilute, read undiluted, and a little above, diluted.
func atJoins(methods []knownwater.Method) (out []Proposed) {
	for _, m := range methods {
		if m.DilutionOver > 0 && m.DilutionFactor > 1 {
			out = append(out,
				Proposed{0.95 * m.DilutionOver, note.New("below-join").Name("method", m.Name).Number("join", m.DilutionOver)},
				Proposed{1.15 * m.DilutionOver, note.New("above-join").Name("method", m.Name).Number("join", m.DilutionOver)})
		}
	}
	return out
}

// aboveJoins are steps of factor 1.4 from a fifth above the join.
func aboveJoins(methods []knownwater.Method, top float64) []Proposed {
	var out []Proposed
	for _, m := range methods {
		if m.DilutionOver > 0 && m.DilutionFactor > 1 {
			for v := 1.2 * m.DilutionOver; v <= top; v *= 1.4 {
				out = append(out, Proposed{v, note.New("above-join").Name("method", m.Name).Number("join", m.DilutionOver)})
			}
		}
	}
	return out
}

// ladder is for methods without swatches only: with a chart, its gaps do. From
// zero its steps double, far from it they are even.
func ladder(methods []knownwater.Method, bottom, top float64) []Proposed {
	if !(top > 0) || len(inGaps(methods)) > 0 {
		return nil
	}
	var out []Proposed
	if bottom > 0 {
		for i := 1; i <= MostLevels; i++ {
			out = append(out, Proposed{bottom + (top-bottom)*float64(i)/MostLevels, note.New("even-step")})
		}
		return out
	}
	for v := top; v > top/100; v /= 2 {
		out = append(out, Proposed{v, note.New("ladder-step")})
	}
	return out
}

// between moves a level off the swatches of every chart and rounds it to two
// digits, or to four where two would move it back. Where charts leave no room it
// gives the level as it was, rounded, and false.
func between(v float64, methods []knownwater.Method) (float64, bool) {
	to := v
	for range 4 { // moving off one chart's swatch can land on another's
		for _, m := range methods {
			to, _ = offSwatch(to, m)
		}
	}
	for _, n := range []int{2, 4} {
		if r := digits(to, n); !onAny(r, methods) {
			return r, true
		}
	}
	return digits(v, 2), false
}

func onAny(v float64, methods []knownwater.Method) bool {
	for _, m := range methods {
		if _, on := offSwatch(v, m); on {
			return true
		}
	}
	return false
}

// onSwatch and besideSwatch are shares of a gap: a level nearer to a swatch than
// the first lies on it, and is moved to the second.
const (
	onSwatch     = 0.1
	besideSwatch = 0.15
)

// offSwatch says whether v lies on a swatch of m, and the nearest place that
// does not. Swatch 0 does not count: the blank lies on it for good.
func offSwatch(v float64, m knownwater.Method) (float64, bool) {
	for i, s := range m.Swatches {
		if s == 0 {
			continue
		}
		if i > 0 {
			gap := s - m.Swatches[i-1]
			if v <= s && v > s-onSwatch*gap {
				return s - besideSwatch*gap, true
			}
		}
		if i < len(m.Swatches)-1 {
			gap := m.Swatches[i+1] - s
			if v > s && v < s+onSwatch*gap {
				return s + besideSwatch*gap, true
			}
		}
	}
	return v, false
}

// apart says whether v is no nearer to a chosen level than a share of both, counted
// from bottom.
func apart(v float64, from []Proposed, bottom float64) bool {
	for _, p := range from {
		if p.Level > 0 && math.Abs(v-p.Level) < closest*(max(v, p.Level)-bottom) { // the blank has no neighbours
			return false
		}
	}
	return true
}

// farthest is the candidate farthest from all chosen levels, on a scale that is
// straight near zero and logarithmic above (asinh); far from zero straight throughout.
func farthest(rest, chosen []Proposed, bottom, top float64) int {
	at := func(v float64) float64 { return math.Asinh(v / (top / 40)) }
	if bottom > 0 {
		at = func(v float64) float64 { return v }
	}
	best, far := 0, -1.0
	for i, p := range rest {
		near := math.Inf(1)
		for _, c := range chosen {
			near = min(near, math.Abs(at(p.Level)-at(c.Level)))
		}
		if near > far {
			best, far = i, near
		}
	}
	return best
}

func digits(v float64, n int) float64 {
	if v == 0 {
		return 0
	}
	p := math.Pow10(n - 1 - int(math.Floor(math.Log10(math.Abs(v)))))
	return math.Round(v*p) / p
}
