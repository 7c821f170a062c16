package history

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/series"
)

// By how much two spans of a test each, and two far apart, differ if a water departs by a variance of 0.09 and comes back, test by test. (Of neighbours of four
// weeks it is a third too much, in what they are held against as well.)
func TestApartCounted(t *testing.T) {
	at := func(days ...float64) *span {
		s := &span{}
		for _, d := range days {
			s.points = append(s.points, point{day: d})
		}
		return s.place()
	}
	for _, c := range []couple{{a: at(0), b: at(28)}, {a: at(0, 7), b: at(70, 77, 84, 91, 98)}} {
		want := 0.0
		for _, one := range []struct {
			a, b *span
			k    float64
		}{{c.a, c.a, 1}, {c.b, c.b, 1}, {c.a, c.b, -2}} {
			for _, p := range one.a.points {
				for _, q := range one.b.points {
					want += one.k * 0.09 * math.Exp(-math.Abs(p.day-q.day)/series.Memory) / float64(len(one.a.points)*len(one.b.points))
				}
			}
		}
		if got := c.apart(0.09); !(math.Abs(got/want-1) < 0.05) {
			t.Errorf("days %v and %v: %.4f, test by test %.4f", c.a.day, c.b.day, got, want)
		}
	}
}

// Readings that scatter by 0.8 wherever the water is, by hand: 0.2 of 4 and 0.25 of 3.2, and 2·((1.960 + 0.842)·0.2264/log 0.8)² = 16.2 pairs.
func TestPairsWantedCounted(t *testing.T) {
	p := point{way: asShown{share: 0.01, least: 0.8}, seen: interval.Exact(4)}
	for level, want := range map[float64]int{4: 17, 40: fewestPairs, 3: 0} {
		if n := wanted(p, p, level); n != want {
			t.Errorf("at %v: %d pairs, by hand %d", level, n, want)
		}
	}
}

// A reading of 6 by a method of which four pairs showed a scatter of a tenth, and whose yield is known to 4 %: Student's 3.182 tenths and
// 1.960 times 4 % in logarithms, exp 0.3277 = 1.388, and half a hundredth to which it is read. One of nothing is known to the hundredth.
func TestPlainResultCounted(t *testing.T) {
	way := asShown{share: 0.1, least: 0.005, t: 3.182}
	for c, want := range map[float64]interval.Interval{6: {Low: 4.318, High: 8.332}, 0: {Low: 0, High: 0.0148}} {
		p := point{way: way, seen: interval.Interval{Low: c - 0.005, High: c + 0.005}}
		if r := new(links).plainAgain(p, 1, 0.04).Result; !(math.Abs(r.Low-want.Low) < 0.001 && math.Abs(r.High-want.High) < 0.001) {
			t.Errorf("%v: %.4f to %.4f, by hand %v", c, r.Low, r.High, want)
		}
	}
}
