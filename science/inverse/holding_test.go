package inverse_test

import (
	"fmt"
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/inverse"
)

// tried is a response of which only the range counts: 1 to 10.
type tried struct{ inverse.Response }

func (tried) Range() (bottom, top float64) { return 1, 10 }

func TestASetIsDrawnOutToWhatGaveIt(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	split := []interval.Interval{{Low: 2, High: 3}, {Low: 6, High: 7}}
	for _, x := range []struct {
		name string
		set  inverse.Answer
		c    float64
		want string
	}{
		{"inside", inverse.Answer{Estimate: 4, Low: 3, High: 5}, 4, `{4 3 5  []}`},
		{"below it", inverse.Answer{Estimate: 4, Low: 3, High: 5}, 2, `{4 2 5  []}`},
		{"above it", inverse.Answer{Estimate: 4, Low: 3, High: 5}, 8, `{4 3 8  []}`},
		{"the lowest known", inverse.Answer{Estimate: 4, Low: 3, High: 5}, 1, `{4 0 5 below []}`},
		{"the highest known", inverse.Answer{Estimate: 4, Low: 3, High: 5}, 10, `{4 3 NaN above []}`},
		{"open above already", inverse.Answer{Estimate: nan, Low: 8, High: nan, Open: inverse.Above}, 9, `{NaN 8 NaN above []}`},
		{"below one open above", inverse.Answer{Estimate: nan, Low: 8, High: nan, Open: inverse.Above}, 1, `{NaN 0 NaN above []}`},
		{"above one open below", inverse.Answer{Estimate: 1, Low: 0, High: 1.5, Open: inverse.Below}, 2, `{1 0 2 below []}`},
		{"in the gap, near the upper", inverse.Answer{Estimate: 3, Low: 2, High: 7, Parts: split}, 5, `{3 2 7  [{2 3} {5 7}]}`},
		{"in the gap, near the lower", inverse.Answer{Estimate: 3, Low: 2, High: 7, Parts: split}, 4, `{3 2 7  [{2 4} {6 7}]}`},
		{"split, the highest known", inverse.Answer{Estimate: 3, Low: 2, High: 7, Parts: split}, 10, fmt.Sprintf(`{3 2 NaN above [{2 3} {6 %v}]}`, inf)},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got := fmt.Sprint(x.set.Holding(tried{}, x.c)); got != x.want {
				t.Errorf("%s, want %s", got, x.want)
			}
		})
	}
	if split[0].High != 3 || split[1].Low != 6 {
		t.Error("the set that was given has changed")
	}
}
