package choose

import "knownwater/science/num"

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
// that of tests × answers a month in the long run, by the supply of the use
// (knownwater.Supply.MoneyAYear), with the instrument's share.
func costOf(u Use, answersAMonth float64) Cost {
	c := Cost{Money: num.None, Minutes: num.None, HandsOn: num.None, WasteML: num.None}
	m := u.method
	tests := answersAMonth * float64(u.Tests)
	if money, ok := u.MoneyAt(answersAMonth); ok && tests > 0 {
		c.Money, c.Refill, c.Spoils = num.Number(money), u.supply.Refill, tests < u.supply.Spoils()
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

// MoneyAt is a use's money a year at so many answers a month; not ok where nothing has a
// price.
func (u Use) MoneyAt(answersAMonth float64) (float64, bool) {
	if u.supply.Tests == 0 {
		return 0, false
	}
	return u.supply.MoneyAYear(answersAMonth*float64(u.Tests)) + u.method.DeviceAYear(), true
}

// bought are the ways to buy what a way of using takes: each supply is a way of its own.
func bought(ways []Way) (out []Way) {
	for _, w := range ways {
		supplies := w.method.Supplies()
		if len(supplies) == 0 {
			out = append(out, w)
		}
		for _, s := range supplies {
			w.supply, w.Supply = s, ""
			if len(supplies) > 1 {
				w.Supply = map[bool]string{false: Pack, true: Refill}[s.Refill]
			}
			out = append(out, w)
		}
	}
	return out
}

// kink is the answers a month at which a use's money a year changes its slope: where its
// supply begins to be used up before it spoils; 0 where that never spoils.
func (u Use) kink() float64 {
	if u.supply.Tests == 0 {
		return 0
	}
	return u.supply.Spoils() / float64(u.Tests)
}
