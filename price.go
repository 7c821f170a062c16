package knownwater

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// Supply is one way to buy a method's tests.
type Supply struct {
	Refill bool
	Price  float64
	Tests  int
	Months float64 // that an opened one is good for; infinite where nobody says
}

// Supplies are the ways to buy that have a price and a size.
func (m Method) Supplies() (out []Supply) {
	good := func(months float64) float64 {
		if months == 0 {
			return math.Inf(1)
		}
		return months
	}
	if m.PackTests > 0 && m.PackPrice > 0 {
		out = append(out, Supply{false, m.PackPrice, m.PackTests, good(m.ShelfMonths)})
	}
	if m.RefillTests > 0 && m.RefillPrice > 0 {
		out = append(out, Supply{true, m.RefillPrice, m.RefillTests, good(cmp.Or(m.RefillMonths, m.ShelfMonths))})
	}
	return out
}

// MoneyAYear is what so many tests a month cost in a year, in the long run:
//
//	12 · price · max(tests a month ÷ tests in it, 1 ÷ months that it is good for)
//
// since a new one is bought when the last is used up or spoiled, whichever is first.
func (s Supply) MoneyAYear(testsAMonth float64) float64 {
	return 12 * s.Price * math.Max(testsAMonth/float64(s.Tests), 1/s.Months)
}

// Spoils is the number of tests a month below which it spoils before it is used up.
func (s Supply) Spoils() float64 { return float64(s.Tests) / s.Months }

// DeviceAYear is the instrument's price over the years that it serves.
func (m Method) DeviceAYear() float64 {
	if m.DevicePrice == 0 || m.DeviceYears == 0 {
		return 0
	}
	return m.DevicePrice / m.DeviceYears
}

// MoneyAYear is what so many tests a month cost in a year by the cheapest supply, with
// the instrument's share; not ok where nothing has a price.
func (m Method) MoneyAYear(testsAMonth float64) (money float64, by Supply, ok bool) {
	money = math.Inf(1)
	for _, s := range m.Supplies() {
		if v := s.MoneyAYear(testsAMonth); v < money {
			money, by = v, s
		}
	}
	if math.IsInf(money, 1) {
		return 0, by, false
	}
	return money + m.DeviceAYear(), by, true
}

// hazards are the classes that a method's reagents may belong to (common practice, no
// source: what a hobbyist has to handle or collect in a way of its own).
var hazards = []string{"acid", "alkali", "heavy metal", "toxic", "dust", "sharps", "oxidiser", "heat"}

// HazardNames lists them as a fault does.
func HazardNames() string {
	last := len(hazards) - 1
	return strings.Join(hazards[:last], ", ") + " or " + hazards[last]
}

// NoHazard is the first that is no class; empty if all are.
func NoHazard(names []string) string {
	for _, n := range names {
		if !slices.Contains(hazards, n) {
			if n == "" {
				return "nothing"
			}
			return n
		}
	}
	return ""
}

// Waters is where waters lie: as they usually do, where somebody says how, else in the need.
func (n Need) Waters() [2]float64 {
	if n.Usual != [2]float64{} {
		return n.Usual
	}
	return [2]float64{n.Low, n.High}
}

// ShareAbove is the share of waters above a level, evenly over where they lie.
func (n Need) ShareAbove(level float64) float64 {
	w := n.Waters()
	if !(w[1] > w[0]) {
		return 0
	}
	return math.Min(math.Max((w[1]-level)/(w[1]-w[0]), 0), 1)
}

// TestsAnAnswer is how many tests an answer for a need takes, on average over waters and at most, of a sheet that has a sample diluted and read again
// above a reading: two where that lies inside the need. Where all of it lies above, samples are diluted at once.
func (n Need) TestsAnAnswer(over float64) (average, most float64) {
	if !(over > 0) || n.High <= over || n.Low >= over {
		return 1, 1
	}
	return 1 + n.ShareAbove(over), 2
}
