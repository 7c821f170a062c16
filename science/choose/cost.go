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
	Minutes num.Number // from the first start to the last reading, one test after the other; of the longest answer
	Least   num.Number // … of the shortest
	HandsOn num.Number // of Minutes with hands on it
	WasteML num.Number // a year
	Again   float64    // the share of answers that take one more test, an undiluted one
}

// costOf is the cost of a use when answers are wanted so often a month. Money a year is
// that of tests × answers a month in the long run, by the supply of the use
// (knownwater.Supply.MoneyAYear), with the instrument's share. Where the sheet dilutes above a reading
// that reading is a test, too: such an answer takes one more.
func costOf(u Use, answersAMonth float64) Cost {
	c := Cost{Money: num.None, Minutes: num.None, Least: num.None, HandsOn: num.None, WasteML: num.None, Again: u.more.average}
	m := u.method
	tests := answersAMonth * u.testsEach()
	most, least := float64(u.Tests)+u.more.most, float64(u.Tests)+u.more.least
	if money, ok := u.MoneyAt(answersAMonth); ok && tests > 0 {
		c.Money, c.Refill, c.Spoils = num.Number(money), u.supply.Refill, tests < u.supply.Spoils()
	}
	if m.Minutes > 0 {
		c.Minutes, c.Least = num.Number(m.Minutes*most), num.Number(m.Minutes*least)
	}
	if m.HandsOnMinutes > 0 {
		c.HandsOn = num.Number(m.HandsOnMinutes * most)
	}
	if m.WasteML > 0 && tests > 0 {
		c.WasteML = num.Number(12 * tests * m.WasteML)
	}
	return c
}

// testsEach is how many tests an answer takes on average.
func (u Use) testsEach() float64 { return float64(u.Tests) + u.more.average }

// more are the tests that an answer takes beside those that are averaged: one where the undiluted reading sends
// the sample on, which the diluted one then follows.
type more struct{ least, average, most float64 }

// moreOf is that of a sheet that dilutes waters above a level, after it has read them undiluted.
func moreOf(n knownwater.Need, above float64) (m more) {
	if n.High > above {
		m.most = 1
	}
	if n.Low >= above {
		m.least = 1
	}
	m.average = n.ShareAbove(above)
	return m
}

// MoneyAt is a use's money a year at so many answers a month; not ok where nothing has a
// price.
func (u Use) MoneyAt(answersAMonth float64) (float64, bool) {
	if u.supply.Tests == 0 {
		return 0, false
	}
	return u.supply.MoneyAYear(answersAMonth*u.testsEach()) + u.method.DeviceAYear(), true
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

// kink is the answers a month at which the money a year of a use with a price changes its slope: where its
// supply begins to be used up before it spoils; without end where that never spoils.
func (u Use) kink() float64 { return u.supply.Spoils() / u.testsEach() }
