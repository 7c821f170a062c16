package assess

import (
	"cmp"
	"sync"

	"knownwater/science/num"
	"knownwater/science/record"
)

// glimpse is error_95 ÷ permitted at one place by draw, each worked out when it is asked for.
type glimpse struct {
	forms, wides    int // how many draws there are
	form, wide, own func(k int) float64
	above           float64 // the share of draws that an upper limit leaves above it here; 0: as the rule says
	// of errors without bias that rise with the standard deviation of the readings alone: that, and the error of it
	sd    func(k int) float64
	alone func(sd float64) float64
}

// glimpseAt is that of results whose error is e; told is that by which "not fit" is said (study.errorAt).
func glimpseAt(e, told errorAt, b drawsOf, permitted float64) glimpse {
	of := func(e errorAt, d record.Normal, shown func(k int) rounded, k int) float64 {
		if shown == nil {
			return e.of(d) / permitted
		}
		return e.in(d.Mean, shown(k)) / permitted
	}
	g := glimpse{forms: b.forms, wides: b.wides,
		form: func(k int) float64 { return of(e, b.form(k), b.formShown, k) },
		wide: func(k int) float64 { return of(told, told.least(b.wide(k), b.varMean()), b.wideShown, k) },
		own: func(k int) float64 {
			d := b.wide(k)
			d.Mean = told.centre
			return of(told, d, b.wideShown, k)
		}}
	if b.wideShown == nil {
		g.sd = func(k int) float64 { return b.wide(k).SD }
		g.alone = func(sd float64) float64 {
			return told.of(record.Normal{Mean: told.centre, SD: sd}) / permitted
		}
	}
	return g
}

// whole is what all draws say; of errors in steps without own.
func (g glimpse) whole(by rule) (r ratios) {
	room := scratch.Get().(*[]float64)
	defer scratch.Put(room)
	drawn := func(n int, draw func(k int) float64) []float64 {
		out := (*room)[:0]
		for k := range n {
			out = append(out, draw(k))
		}
		*room = out
		return out
	}
	q := num.QuantilesOf(drawn(g.forms, g.form), 0.5, 1-cmp.Or(g.above, by.above))
	r.middle, r.high = logOr(q[0], endless), logOr(q[1], endless)
	wide := drawn(g.wides, g.wide)
	if by.steps {
		r.low, r.wide = logOr(quantile(wide, 0.025), -endless), sampleOf(wide, true)
		return r
	}
	q = num.QuantilesOf(wide, 0.025, 0.159, 0.5)
	r.low, r.wide = logOr(q[0], -endless), sampleAlong(wide, q[1], q[2], func(e float64) float64 { return e })
	if g.alone == nil {
		r.own = sampleOf(drawn(g.wides, g.own), false)
		return r
	}
	sds := drawn(g.wides, g.sd)
	q = num.QuantilesOf(sds, 0.159, 0.5)
	r.own = sampleAlong(sds, q[0], q[1], g.alone)
	return r
}

// scratch is room for draws that are looked at once.
var scratch = sync.Pool{New: func() any { return new([]float64) }}

// fits says whether the upper limit stays within what is permitted.
func (g glimpse) fits(by rule) bool { return g.within(1, by) }

// within says whether the upper limit is at most so much. It looks no further once more
// draws lie beyond than may.
func (g glimpse) within(most float64, by rule) bool {
	form, beyond, above := make([]float64, g.forms), 0, cmp.Or(g.above, by.above)
	for k := range form {
		if form[k] = g.form(k); !(form[k] <= most) {
			if beyond++; float64(beyond) > above*float64(g.forms-1)+1 {
				return false
			}
		}
	}
	return quantile(form, 1-above) <= most
}

// mayMiss says whether the lower band can lie above what is permitted. It lies no higher
// than the tail quantile of the place's own draws, and so not where more of them lie below.
func (g glimpse) mayMiss(by rule) bool {
	misses := func(draw func(k int) float64) bool {
		below := 0
		for k := range g.wides {
			if !(draw(k) > 1) {
				if below++; float64(below) > by.tail*float64(g.wides-1)+2 {
					return false
				}
			}
		}
		return true
	}
	return misses(g.wide) || !by.steps && misses(g.own)
}

func drawn(n int, draw func(k int) float64) []float64 {
	out := make([]float64, n)
	for k := range out {
		out[k] = draw(k)
	}
	return out
}
