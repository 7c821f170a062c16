package known

import (
	"math"
	"sort"
)

// A pipette is surest at its full volume, a checked one where it was checked.
// So the best strength of an intermediate is often the one at which such a
// volume gives one of the levels exactly, and a grid steps past it.

const (
	refined  = 6    // ways to make an intermediate that are looked at closely
	nearby   = 1.35 // strengths within this factor of a good one
	closeTo  = 0.004
	fineStep = 1.02
)

// refine adds intermediates near the best ones found on the grid.
func (p *planner) refine(f *field) {
	p.score(f)
	type making struct {
		tool   string
		whole  Measure
		in     Diluent
		around int // tenth of a decade
	}
	seen := map[making]bool{}
	aims := p.aims(f.targets)
	_, ample := p.combos(f)
	for _, c := range ample {
		for _, k := range c.members {
			src := f.sources[k]
			key := making{src.made.Take.Device, src.made.Make, src.made.In, int(math.Round(10 * math.Log10(src.c)))}
			if seen[key] || len(seen) >= refined {
				continue
			}
			seen[key] = true
			p.addIntermediates(f, src.parent, p.only(src), around(src.c, aims), f.targets[0])
		}
		if len(seen) >= refined {
			break
		}
	}
}

// only is the one way to fill up that a source was made with.
func (p *planner) only(src source) map[Diluent][]step {
	out := map[Diluent][]step{}
	for _, w := range p.bulk[src.made.In] {
		if p.measure(&w) == src.made.Make {
			out[src.made.In] = []step{w}
		}
	}
	return out
}

// aims are the strengths at which a pipette at its best gives a target.
func (p *planner) aims(targets []float64) []float64 {
	var out []float64
	for i := range p.tools {
		t := &p.tools[i]
		if t.device.Kind != OneMark && !t.device.adjustable() {
			continue
		}
		full := []float64{t.device.Nominal}
		if t.device.Check != nil {
			full = append(full, t.device.Check.Setting)
		}
		for _, v := range full {
			u, _ := t.use(v)
			for n := 1; n <= p.limits.Deliveries; n++ {
				for _, whole := range p.fills[InMatrix] {
					for _, target := range targets {
						share := float64(n) * (v + u.correction) / whole.volume
						out = append(out, p.background+p.aimed(target)/share)
					}
				}
			}
		}
	}
	sort.Float64s(out)
	return out
}

// aimed is what a target has above the background.
func (p *planner) aimed(target float64) float64 {
	if p.limits.Added {
		return target
	}
	return target - p.background
}

// around are the aims near a strength, those closer together than 0.4 % once,
// and steps of 2 % between.
func around(c float64, aims []float64) []float64 {
	var out []float64
	last := 0.0
	for _, a := range aims {
		if a > c/nearby && a < c*nearby && a > last*(1+closeTo) {
			out = append(out, a)
			last = a
		}
	}
	for v := c / nearby; v < c*nearby; v *= fineStep {
		out = append(out, v)
	}
	return out
}
