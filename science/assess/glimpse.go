package assess

// glimpse is the ratios of one place by draw, each worked out when it is asked for.
type glimpse struct {
	forms, wides    int // how many draws there are
	form, wide, own func(k int) float64
}

func glimpseAt(e errorAt, b behaviour, permitted float64) glimpse {
	return glimpse{len(b.form), len(b.wide),
		func(k int) float64 { return logOr(e.of(b.form[k])/permitted, endless) },
		func(k int) float64 {
			return logOr(e.of(lessBias(b.wide[k], e.centre, b.varMean))/permitted, -endless)
		},
		func(k int) float64 {
			d := b.wide[k]
			d.Mean = e.centre
			return logOr(e.of(d)/permitted, -endless)
		}}
}

func (g glimpse) whole() ratios {
	r := ratios{drawn(g.forms, g.form), make([]float64, g.wides), make([]float64, g.wides)}
	for k := range r.wide {
		r.wide[k], r.own[k] = g.wide(k), g.own(k)
	}
	return r
}

// fits says whether the upper 97.5 % limit stays within what is permitted. It looks no
// further once more draws lie beyond than may.
func (g glimpse) fits() bool {
	form, beyond := make([]float64, g.forms), 0
	for k := range form {
		if form[k] = g.form(k); form[k] > 0 {
			if beyond++; float64(beyond) > 0.025*float64(g.forms-1)+1 {
				return false
			}
		}
	}
	return quantile(form, 0.975) <= 0
}

// mayMiss says whether the lower band can lie above what is permitted. It lies no higher
// than the tail quantile of the place's own draws, and so not where more of them lie below.
func (g glimpse) mayMiss(by rule) bool {
	misses := func(draw func(k int) float64) bool {
		below := 0
		for k := range g.wides {
			if draw(k) <= 0 {
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
