package choose

import (
	"knownwater"
	"knownwater/science/num"
)

// Cost is what an answer takes, not a test.
type Cost struct {
	Money   num.Number // a year; none where nothing has a price or no tests a month are given
	Refill  bool       // bought as refills, which are the cheaper here
	Spoils  bool       // a pack goes bad before it is used up
	Minutes num.Number // from the first start to the last reading, one test after the other
	HandsOn num.Number // of them with hands on it
	WasteML num.Number // a year
}

// costOf is the cost of a use when answers are wanted so often a month. Money a year is
// that of tests × answers a month in the long run (knownwater.Method.MoneyAYear).
func costOf(u Use, answersAMonth float64) Cost {
	c := Cost{Money: num.None, Minutes: num.None, HandsOn: num.None, WasteML: num.None}
	m := u.method
	tests := answersAMonth * float64(u.Tests)
	if money, by, ok := m.MoneyAYear(tests); ok && tests > 0 {
		c.Money, c.Refill, c.Spoils = num.Number(money), by.Refill, tests < by.Spoils()
	}
	if m.Minutes > 0 {
		c.Minutes = num.Number(m.Minutes * float64(u.Tests))
	}
	if m.HandsOnMinutes > 0 {
		c.HandsOn = num.Number(m.HandsOnMinutes * float64(u.Tests))
	}
	if m.WasteML > 0 && tests > 0 {
		c.WasteML = num.Number(12 * tests * m.WasteML)
	}
	return c
}

// MoneyAt is a use's money a year at so many answers a month.
func (u Use) MoneyAt(answersAMonth float64) (float64, bool) {
	money, _, ok := u.method.MoneyAYear(answersAMonth * float64(u.Tests))
	return money, ok
}

// kinks are the answers a month at which a use's money a year changes its slope: where a
// pack or a refill begins to be used up before it spoils, and where the one takes over
// from the other.
func (u Use) kinks() (at []float64) {
	supplies := u.method.Supplies()
	k := float64(u.Tests)
	for _, s := range supplies {
		if s.Spoils() > 0 {
			at = append(at, s.Spoils()/k)
		}
	}
	if len(supplies) == 2 {
		a, b := supplies[0], supplies[1]
		for _, p := range [][2]knownwater.Supply{{a, b}, {b, a}} { // the one used up, the other spoiled
			at = append(at, p[1].Price/p[1].Months*float64(p[0].Tests)/p[0].Price/k)
		}
	}
	return at
}
