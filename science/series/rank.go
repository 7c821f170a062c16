package series

import (
	"math"
	"slices"
	"sort"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// Ranked is one block of readings that may be compared by rank: by one method, lot and
// reader, in the order of their days.
type Ranked struct {
	Days []float64
	Seen []interval.Interval
}

// Trend is a rank test for a trend. P is two-sided, NaN where nothing can be ordered.
type Trend struct {
	Score, Var, P float64
}

// mostExact readings without ties get their exact distribution.
const mostExact = 50

// RankTrend is the test of Mann and Kendall for readings with ends: every two readings of
// a block that surely differ are ordered, the others are ties (E. A. Gehan 1965, Biometrika
// 52, 203, for open ends). Score is Σ sign(later − earlier); its variance is that of
// all orders of the readings (H. E. Daniels 1944, Biometrika 33, 129),
//
//	4·Var = 4(Σaᵢ² − Σaᵢⱼ²)(Σbᵢ² − Σbᵢⱼ²)/(n(n−1)(n−2)) + 2·Σaᵢⱼ²·Σbᵢⱼ²/(n(n−1)),
//
// with a the signs of readings, b those of days, aᵢ and bᵢ their sums over j; without open
// ends it is the familiar one corrected for ties. Scores and variances of blocks add up (like
// is compared only with like). P is exact for one block of at most 50 readings without ties,
// else normal with half a step taken off. Cost n·log n. Readings that follow one another
// closely are not independent: P is then too small, which the slope beside it is not.
func RankTrend(blocks []Ranked) Trend {
	t := Trend{P: math.NaN()}
	tied := false
	for _, b := range blocks {
		score, variance, ties := b.score()
		t.Score, t.Var, tied = t.Score+score, t.Var+variance, tied || ties
	}
	switch {
	case !(t.Var > 0):
	case len(blocks) == 1 && !tied && len(blocks[0].Seen) <= mostExact:
		t.P = exactTrend(len(blocks[0].Seen), int(math.Abs(t.Score)))
	default:
		z := math.Max(0, math.Abs(t.Score)-1) / math.Sqrt(t.Var)
		t.P = math.Min(1, 2*num.Phi(-z))
	}
	return t
}

func (r Ranked) score() (score, variance float64, tied bool) {
	n := len(r.Seen)
	if n < 3 {
		return 0, 0, false
	}
	days := make([]interval.Interval, n)
	for i, d := range r.Days {
		days[i] = interval.Exact(d)
	}
	a, aa := margins(r.Seen)
	b, bb := margins(days)
	f := float64(n)
	variance = ((a-aa)*(b-bb)*4/(f*(f-1)*(f-2)) + 2*aa*bb/(f*(f-1))) / 4
	return r.sum(), variance, aa < f*(f-1) || bb < f*(f-1)
}

// margins are Σᵢ(Σⱼ aᵢⱼ)² and Σᵢⱼ aᵢⱼ².
func margins(seen []interval.Interval) (rows, cells float64) {
	n := len(seen)
	lows, highs := make([]float64, n), make([]float64, n)
	same := map[float64]int{}
	for i, s := range seen {
		lows[i], highs[i] = s.Low, s.High
		if s.Low == s.High {
			same[s.Low]++
		}
	}
	slices.Sort(lows)
	slices.Sort(highs)
	for _, s := range seen {
		below := upTo(highs, s.Low)
		above := n - sort.SearchFloat64s(lows, s.High)
		rows += float64((below - above) * (below - above))
		if s.Low == s.High {
			below, above = below-same[s.Low], above-same[s.Low]
		}
		cells += float64(below + above)
	}
	return rows, cells
}

// upTo is how many of a rising list are at most v.
func upTo(rising []float64, v float64) int {
	return sort.Search(len(rising), func(i int) bool { return rising[i] > v })
}

// sum is Σ sign over pairs on different days, counted in trees of the ends seen so far.
func (r Ranked) sum() float64 {
	n := len(r.Seen)
	lows, highs := make([]float64, n), make([]float64, n)
	for i, s := range r.Seen {
		lows[i], highs[i] = s.Low, s.High
	}
	slices.Sort(lows)
	slices.Sort(highs)
	low, high := make(tally, n+1), make(tally, n+1)
	total, before := 0, 0
	for i := 0; i < n; {
		j := i
		for ; j < n && r.Days[j] == r.Days[i]; j++ {
			total += high.upTo(upTo(highs, r.Seen[j].Low)) // surely below
			total -= before - low.upTo(sort.SearchFloat64s(lows, r.Seen[j].High))
		}
		for ; i < j; i++ {
			low.add(upTo(lows, r.Seen[i].Low))
			high.add(upTo(highs, r.Seen[i].High))
			before++
		}
	}
	return float64(total)
}

// tally counts places and sums them up in log n (P. M. Fenwick 1994, Software: Practice
// and Experience 24, 327). Equal ends share the last of their places.
type tally []int

func (t tally) add(place int) {
	for ; place < len(t); place += place & -place {
		t[place]++
	}
}

func (t tally) upTo(place int) (sum int) {
	for ; place > 0; place -= place & -place {
		sum += t[place]
	}
	return sum
}

// exactTrend is the two-sided chance of a score at least so far from 0, all orders of n
// equally likely: the number of orders with k inversions follows from that of n − 1.
func exactTrend(n, score int) float64 {
	chance := []float64{1}
	for m := 2; m <= n; m++ {
		next := make([]float64, len(chance)+m-1)
		for k, c := range chance {
			for j := range m {
				next[k+j] += c / float64(m)
			}
		}
		chance = next
	}
	most := n * (n - 1) / 2
	var sum num.Sum
	for k, c := range chance {
		if s := most - 2*k; s >= score || -s >= score {
			sum.Add(c)
		}
	}
	return math.Min(1, sum.Value())
}
