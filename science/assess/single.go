package assess

import (
	"math"
	"sort"

	"knownwater/science/num"
	"knownwater/science/record"
)

// turnAt is how corrected results at c come about: through the response fitted
// without the known at c, where there is one that is not the lowest or highest.
func (st *study) turnAt(c float64) turn {
	for i, l := range st.levels {
		if l.value == c && i > 0 && i < len(st.levels)-1 {
			if t, ok := st.turnWithout(i); ok {
				return t
			}
		}
	}
	return turn{st.rec.Grid, st.rec.Mean}
}

// turn is a response tabulated for turning readings round.
type turn struct{ grid, mean []float64 }

// turnWithout is the response fitted without level i.
func (st *study) turnWithout(i int) (turn, bool) {
	if t, ok := st.without[i]; ok {
		return t, t.grid != nil
	}
	if st.without == nil {
		st.without = map[int]turn{}
	}
	t := turn{}
	if resp, err := record.Fit(drop(st.know, i)); err == nil {
		t.grid = st.rec.Grid
		for _, c := range t.grid {
			t.mean = append(t.mean, resp.At(c))
		}
	}
	st.without[i] = t
	return t, t.grid != nil
}

// drop leaves level i out, and thins the draws: only the best fit is wanted.
func drop(k record.Knowledge, i int) record.Knowledge {
	cut := func(v []float64) []float64 {
		return append(append([]float64(nil), v[:i]...), v[i+1:]...)
	}
	out := record.Knowledge{Level: cut(k.Level), Mean: cut(k.Mean), DF: k.DF, Signal: k.Signal}
	for _, d := range record.Thin(len(k.Draw)) {
		out.Draw = append(out.Draw, cut(k.Draw[d]))
		out.Known = append(out.Known, cut(k.Known[d]))
	}
	return out
}

// at is the tabulated response, going on straight beyond its ends.
func (t turn) at(c float64) float64 {
	n := len(t.grid)
	i := min(max(sort.SearchFloat64s(t.grid, c), 1), n-1)
	return t.mean[i-1] + (t.mean[i]-t.mean[i-1])*(c-t.grid[i-1])/(t.grid[i]-t.grid[i-1])
}

// error95 is the E within which 95 % of corrected single results at c lie, for
// readings with distribution dist.
func (t turn) error95(c float64, dist record.Normal, shown record.Shown) float64 {
	if shown.Answers != nil {
		return discrete95(dist, shown.Answers, func(a record.Answer) float64 {
			if a.Seen.OpenAbove() {
				return math.Inf(1) // no estimate
			}
			low := a.Seen.Low
			if a.Seen.OpenBelow() {
				low = math.Min(t.mean[0], a.Seen.High)
			}
			return math.Abs(math.Max(0, record.InvertOn(t.grid, t.mean, (low+a.Seen.High)/2)) - c)
		})
	}
	dist.SD = math.Hypot(dist.SD, shown.Step/math.Sqrt(12))
	return solve95(func(e float64) float64 {
		p := dist.Below(t.at(c + e))
		if c-e > 0 {
			p -= dist.Below(t.at(c - e))
		}
		return p
	}, math.Max(c, t.grid[len(t.grid)-1]/50))
}

// rawError is the E within which 95 % of single results as read lie.
func (st *study) rawError(c float64, dist record.Normal) float64 {
	shown := st.rec.Shown
	if shown.Answers != nil {
		return discrete95(dist, shown.Answers, func(a record.Answer) float64 { return math.Abs(a.Value - c) })
	}
	dist.SD = math.Hypot(dist.SD, shown.Step/math.Sqrt(12))
	b := dist.Mean - c
	return solve95(func(e float64) float64 {
		return num.Phi((e-b)/dist.SD) - num.Phi((-e-b)/dist.SD)
	}, math.Abs(b)+2*dist.SD)
}

// discrete95 is the smallest error that at least 95 % of answers keep within.
func discrete95(dist record.Normal, answers []record.Answer, miss func(record.Answer) float64) float64 {
	type one struct{ miss, p float64 }
	var all []one
	for _, a := range answers {
		if p := dist.Below(a.Seen.High) - dist.Below(a.Seen.Low); p > 1e-9 {
			all = append(all, one{miss(a), p})
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].miss < all[j].miss })
	sum := 0.0
	for _, o := range all {
		sum += o.p
		if sum >= within {
			return o.miss
		}
	}
	return math.Inf(1)
}

// solve95 finds where a rising probability reaches 95 %; infinite where it
// never does.
func solve95(p func(e float64) float64, guess float64) float64 {
	lo, hi := 0.0, guess
	for range 40 {
		if p(hi) >= within {
			break
		}
		lo, hi = hi, 2*hi
	}
	if p(hi) < within {
		return math.Inf(1)
	}
	for range 30 {
		mid := (lo + hi) / 2
		if p(mid) >= within {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
