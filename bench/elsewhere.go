package bench

import (
	"cmp"
	"context"
	"slices"

	"knownwater"
	"knownwater/science/result"
)

// Way is how another method on the bench would settle a need.
type Way struct {
	By             knownwater.Calibration
	Reader         string
	Readings       int
	Minutes, Price float64 // of all readings; 0: not said
}

// mostElsewhere readings by another method are worth naming.
const mostElsewhere = 3

// Elsewhere are the other methods in use whose readings of the same water would settle what an
// outcome leaves open, the quickest first, then the cheapest. Beyond the knowns of a method
// it is not asked.
func (b *Bench) Elsewhere(ctx context.Context, record int64, o result.Outcome, need int) (out []Way, err error) {
	v := o.Verdicts[need]
	if len(v.Cases) == 0 {
		return nil, nil
	}
	all, err := b.Calibrations(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range all {
		if c.Kind != knownwater.ByRecord || c.ID == record || c.Scale != o.Scale {
			continue
		}
		r, err := b.RecordVersion(ctx, c.Version)
		if err != nil {
			return nil, err
		}
		p, err := b.Performance(ctx, r)
		if err != nil {
			continue // its own page says why
		}
		dilution := 1.0
		if p.Method.DilutionOver > 0 && p.Method.DilutionFactor > 1 && v.Cases[len(v.Cases)/2] > p.Method.DilutionOver {
			dilution = p.Method.DilutionFactor
		}
		src := p.Source("", dilution)
		reader := ""
		for _, by := range o.Who() {
			if reader == "" && slices.Contains(p.Readers, by.Reader) {
				reader = by.Reader
			}
		}
		if n := result.Elsewhere(v.Cases, src, reader, o.Needs[need], mostElsewhere); n > 0 {
			out = append(out, Way{c, reader, n, float64(n) * p.Method.Minutes, float64(n) * priceOf(p.Method)})
		}
	}
	slices.SortStableFunc(out, func(a, b Way) int {
		return cmp.Or(cmp.Compare(a.Minutes, b.Minutes), cmp.Compare(a.Price, b.Price), cmp.Compare(a.Readings, b.Readings), cmp.Compare(a.By.Name, b.By.Name))
	})
	return out, nil
}

// priceOf is that of one test, by pack or refill, whichever is cheaper; 0: not said.
func priceOf(m knownwater.Method) float64 {
	price := 0.0
	for _, x := range []struct {
		price float64
		tests int
	}{{m.PackPrice, m.PackTests}, {m.RefillPrice, m.RefillTests}} {
		if one := x.price / float64(max(x.tests, 1)); x.tests > 0 && one > 0 && (price == 0 || one < price) {
			price = one
		}
	}
	return price
}
