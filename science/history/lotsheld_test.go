package history_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/num"
)

// threeLots is a record of three lots whose readings of a known may be off by N(0, 0.1²), all alike or each by itself, and scatter by 0.2.
type threeLots struct {
	*remembering
	apart bool
}

func (threeLots) TriedLots() []string { return []string{"L1", "L2", "L3"} }

func (r threeLots) Expect(known, _ float64, _, lot string, dilution float64) (assess.Expected, bool) {
	e := assess.Expected{Dilution: dilution, Slope: 1, Lots: r.TriedLots()}
	const many = 401
	order := 89 // of draws
	if r.apart {
		e.Record, order = lot, map[string]int{"L1": 1, "L2": 89, "L3": 400}[lot]
	}
	for d := range many {
		e.Draws = append(e.Draws, control.Normal{Mean: known + 0.1*num.PhiInv((float64(d*order%many)+0.5)/many), SD: 0.2})
	}
	return e, true
}

// Checks of two lots that were tried and have not moved say how a known reads, and a third is held against both; not where each lot has a
// record of its own. By hand: a normal mean of which is known beforehand N(10, 0.1²) and by ten checks, and the mean of ten more, each of 0.2.
func TestALotIsHeldAgainstTwo(t *testing.T) {
	recordOf(t)
	for _, apart := range []bool{false, true} {
		rng := num.Source(12)
		var l []history.Entry
		sum := map[bool]float64{}
		for i := range 20 {
			lot := "L" + fmt.Sprint(1+min(i/5, 2))
			y := math.Round(100*(10.05+0.2*rng.NormFloat64())) / 100
			sum[lot == "L3"] += y
			l = append(l, history.Entry{Row: i + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*i), Water: "check", Method: "Meter", Lot: lot, Reader: "Ines",
				Reading: fmt.Sprintf("%.2f", y), Dilution: 1, Check: true, Known: 10, UKnown: 0.02})
		}
		c := judged(t, l, threeLots{shared, apart}).Checks[2]
		held, at := 0.1*0.1, 10.0 // variance and mean of what a known should read
		if !apart {
			held = 1 / (1/held + 10/(0.2*0.2))
			at = held * (10/(0.1*0.1) + sum[false]/(0.2*0.2))
		}
		by, sd := sum[true]/10-at, math.Sqrt(0.2*0.2/10+held)
		for _, x := range []struct {
			name      string
			got, want float64
		}{{"ratio", c.Ratio, 1 + by/at}, {"low", c.Low, 1 + (by-num.Z95*sd)/at}, {"high", c.High, 1 + (by+num.Z95*sd)/at}} {
			if math.Abs(x.got-x.want) > 0.001 {
				t.Errorf("apart %v, %s: %.4f, by hand %.4f", apart, x.name, x.got, x.want)
			}
		}
	}
}
