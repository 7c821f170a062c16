package choose

import (
	"math"
	"slices"

	"knownwater/science/note"
)

// Change is a number of answers a month at which another way becomes the one to take. From
// and To are of Ways; −1: none that keeps to the money.
type Change struct {
	AnswersAMonth float64
	From, To      int
	Money         float64 // a year, there
}

// mostAMonth is how many answers a month are looked at: more than a person gives.
const mostAMonth = 1000

// changes are where the order of money changes among the ways that are fit and inside every
// limit but that of money. Money a year is made of straight pieces (Supply.MoneyAYear), so
// between two kinks of any way the crossings are those of straight lines,
//
//	m = (a₂ − a₁) / (b₁ − b₂)  of  a₁ + b₁·m  and  a₂ + b₂·m,
//
// and so is the point where a way reaches the limit of money.
func changes(n NeedChoice) []Change {
	out := []Change{}
	can := affordable(n)
	if len(can) == 0 {
		return out
	}
	at := crossings(n, can)
	was := -2
	for i := 1; i < len(at); i++ {
		is := n.cheapest(can, (at[i-1]+at[i])/2)
		if was != -2 && is != was {
			c := Change{AnswersAMonth: at[i-1], From: was, To: is}
			for _, j := range []int{is, was} {
				if j >= 0 {
					c.Money, _ = n.Ways[j].MoneyAt(c.AnswersAMonth)
					break
				}
			}
			out = append(out, c)
		}
		was = is
	}
	return out
}

// affordable are the ways that would do if money were no limit.
func affordable(n NeedChoice) (can []int) {
	for i, w := range n.Ways {
		if _, priced := w.MoneyAt(1); !priced || !w.Can() || !w.insideBut("beyond-money") {
			continue
		}
		can = append(can, i)
	}
	return can
}

// insideBut says whether no limit but one of that code is broken.
func (w Way) insideBut(code string) bool {
	return !slices.ContainsFunc(w.Beyond, func(b note.Note) bool { return b.Code != code })
}

// crossings are all numbers of answers a month at which the order may change, rising, with
// 0 and mostAMonth at the ends.
func crossings(n NeedChoice, can []int) []float64 {
	kinks := []float64{0, mostAMonth}
	for _, i := range can {
		if k := n.Ways[i].kink(); k > 0 && k < mostAMonth {
			kinks = append(kinks, k)
		}
	}
	kinks = sorted(kinks)
	at := slices.Clone(kinks)
	for k := 1; k < len(kinks); k++ {
		lo, hi := kinks[k-1], kinks[k]
		var lines [][2]float64
		for _, i := range can {
			a1, b1 := n.Ways[i].line(lo, hi)
			if limit := n.Need.MoneyAYear; limit > 0 {
				a, b := n.Ways[i].moneyLine(lo, hi)
				at = within(at, (limit-a)/b, lo, hi)
			}
			if slices.Contains(lines, [2]float64{a1, b1}) {
				continue
			}
			for _, l := range lines {
				at = within(at, (l[0]-a1)/(b1-l[1]), lo, hi) // parallel: infinite, so not within
			}
			lines = append(lines, [2]float64{a1, b1})
		}
	}
	return sorted(at)
}

// line is a way's money between two neighbouring kinks, with what wrong calls cost.
func (w Way) line(lo, hi float64) (a, b float64) {
	a, b = w.moneyLine(lo, hi)
	return a, b + w.lossAt(1)
}

func (w Way) moneyLine(lo, hi float64) (a, b float64) {
	third := (hi - lo) / 3
	y1, _ := w.MoneyAt(lo + third)
	y2, _ := w.MoneyAt(hi - third)
	b = (y2 - y1) / third
	return y1 - b*(lo+third), b
}

func within(list []float64, x, lo, hi float64) []float64 {
	if x > lo && x < hi {
		return append(list, x)
	}
	return list
}

// sorted is a list, rising, each once.
func sorted(list []float64) []float64 {
	slices.Sort(list)
	return slices.CompactFunc(list, func(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(a)) })
}

// cheapest is the way that one would take at so many answers a month; −1 where none keeps
// to the money.
func (n NeedChoice) cheapest(can []int, answersAMonth float64) int {
	best, least := -1, math.Inf(1)
	for _, i := range can {
		w := n.Ways[i]
		money, _ := w.MoneyAt(answersAMonth)
		if n.Need.MoneyAYear > 0 && money > n.Need.MoneyAYear {
			continue
		}
		money += w.lossAt(answersAMonth)
		if money < least*(1-1e-9) || best >= 0 && money <= least*(1+1e-9) && before(unpriced(w), unpriced(n.Ways[best])) < 0 {
			best, least = i, money
		}
	}
	return best
}

// unpriced is a way without its money, to be ordered by what remains.
func unpriced(w Way) Way {
	w.Cost.Money = 0
	w.Loss.Money = 0
	return w
}
