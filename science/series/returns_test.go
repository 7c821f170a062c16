package series_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/series"
)

// dense is a level that departs from a mean and comes back, by its whole covariance matrix: what irregular.csv says of it.
type dense struct {
	days, y, sd   []float64
	departs       float64
	vy, v1        []float64 // V⁻¹y, V⁻¹1
	mean, oneVOne float64
	likelihood    float64
}

func (d *dense) cov(a, b float64) float64 {
	return d.departs * d.departs * math.Exp(-math.Abs(a-b)/series.Memory)
}

func denseOf(t *testing.T, departs float64) *dense {
	t.Helper()
	c := columns(t, "irregular.csv")
	d := &dense{days: c[0], y: c[1], sd: c[2], departs: departs}
	n := len(d.y)
	v, one := make([][]float64, n), make([]float64, n)
	for i := range v {
		one[i] = 1
		v[i] = make([]float64, n)
		for j := range v[i] {
			v[i][j] = d.cov(d.days[i], d.days[j])
		}
		v[i][i] += d.sd[i] * d.sd[i]
	}
	d.vy, d.v1 = d.solve(t, v, d.y), d.solve(t, v, one)
	d.oneVOne = num.Dot(one, d.v1)
	d.mean = num.Dot(one, d.vy) / d.oneVOne
	rest := num.Dot(d.y, d.vy) - d.mean*d.mean*d.oneVOne
	d.likelihood = -0.5 * (float64(n-1)*math.Log(2*math.Pi) + logDet(v) + math.Log(d.oneVOne) + rest)
	return d
}

func (d *dense) solve(t *testing.T, v [][]float64, c []float64) []float64 {
	t.Helper()
	p, err := num.NewPositive(v)
	if err != nil {
		t.Fatal(err)
	}
	return p.Solve(c)
}

func logDet(v [][]float64) (sum float64) {
	n := len(v)
	a := make([][]float64, n)
	for i := range a {
		a[i] = append([]float64(nil), v[i]...)
	}
	for i := range a {
		sum += math.Log(a[i][i])
		for r := i + 1; r < n; r++ {
			k := a[r][i] / a[i][i]
			for c := i; c < n; c++ {
				a[r][c] -= k * a[i][c]
			}
		}
	}
	return sum
}

// The filter's likelihood is that of the covariance matrix with a mean that nobody knows; the mean share over
// paths is that of the exact normal of every node, and the scatter of their means in time that of its covariances.
func TestReturnAgainstItsCovariance(t *testing.T) {
	for _, departs := range []float64{0.05, 0.5, 3} {
		d := denseOf(t, departs)
		n := len(d.days)
		var seen []series.Seen
		for i, y := range d.y {
			seen = append(seen, exact(y, d.sd[i]))
		}
		_, got := series.Return{Days: d.days, Departs: departs, Memory: series.Memory}.Fit(seen, nil)
		near(t, "log-likelihood", got, d.likelihood, 1e-8)

		var nodes []float64
		for day := d.days[0]; day <= d.days[n-1]; day++ {
			nodes = append(nodes, day)
		}
		if m := len(nodes); nodes[m-1] != d.days[n-1] || m > 1500 {
			t.Fatal("days of irregular.csv are no whole days from the first on")
		}
		v := make([][]float64, n)
		for i := range v {
			v[i] = make([]float64, n)
			for j := range v[i] {
				v[i][j] = d.cov(d.days[i], d.days[j])
			}
			v[i][i] += d.sd[i] * d.sd[i]
		}
		r := interval.Interval{Low: d.mean - 0.4*departs, High: d.mean + departs}
		share, variance := 0.0, 0.0
		kv, left, weight := make([][]float64, len(nodes)), make([]float64, len(nodes)), make([]float64, len(nodes))
		k := make([][]float64, len(nodes))
		for a, day := range nodes {
			k[a] = make([]float64, n)
			for i := range k[a] {
				k[a][i] = d.cov(day, d.days[i])
			}
			weight[a] = 1 / float64(len(nodes)-1)
			left[a] = 1 - num.Dot(k[a], d.v1)
		}
		weight[0], weight[len(nodes)-1] = weight[0]/2, weight[0]/2
		for a := range k {
			kv[a] = d.solve(t, v, k[a])
		}
		cov := func(a, b int) float64 {
			return d.cov(nodes[a], nodes[b]) - num.Dot(k[a], kv[b]) + left[a]*left[b]/d.oneVOne
		}
		for a := range nodes {
			m := d.mean + num.Dot(k[a], d.vy) - d.mean*num.Dot(k[a], d.v1)
			sd := math.Sqrt(cov(a, a))
			share += weight[a] * (num.Phi((r.High-m)/sd) - num.Phi((r.Low-m)/sd))
			for b := range nodes {
				variance += weight[a] * weight[b] * cov(a, b)
			}
		}
		h := series.Goings{Of: []series.Going{{Departs: departs, Memory: series.Memory}}, Weight: []float64{1}}.Held(d.days, seen, 1, nothingShared, []interval.Interval{r})
		_, sd := num.MeanSD(h.Shares[0])
		near(t, "mean share", num.Mean(h.Shares[0]), share, 4*sd/math.Sqrt(512))
		near(t, "doubt of the mean level", h.Doubt, math.Sqrt(variance), 0.13*math.Sqrt(variance))
	}
}

// Readings that are a little wider than what counts as a value are, by expectation propagation, worth what values with
// the variance of their width are: up to width⁴/sd⁴/2880 each.
func TestReturnOfIntervals(t *testing.T) {
	d := denseOf(t, 3)
	var values, wide []series.Seen
	widths := 0.0
	for i, y := range d.y {
		w := 0.6 * d.sd[i]
		values = append(values, exact(y, math.Sqrt(d.sd[i]*d.sd[i]+w*w/12)))
		wide = append(wide, series.Seen{Interval: interval.Interval{Low: y - w/2, High: y + w/2}, SD: d.sd[i]})
		widths += math.Log(w)
	}
	_, want := series.Return{Days: d.days, Departs: 3, Memory: series.Memory}.Fit(values, nil)
	_, got := series.Return{Days: d.days, Departs: 3, Memory: series.Memory}.Fit(wide, nil)
	near(t, "log-likelihood", got-widths, want, float64(len(wide))*2e-4)
}

// A water that keeps still in a range narrower than a test scatters, and one that departs by one scatter and is back within a
// week: the share of the time is held by its interval, where the range is wider than what is open of the level. So it is of one that keeps
// still just beside a limit, all the time or at no time inside.
func TestShareOfWatersThatStayAndComeBack(t *testing.T) {
	for _, w := range []struct {
		departs  float64
		runs     int
		narrow   int // ranges at most
		far, few float64
	}{{0, 25, 15, 0.54, 0.06}, {1, 25, 0, 1, 0.5}} {
		held, all, narrow, beside := 0, 0, 0, 0
		for run := range w.runs {
			rng := num.Source(uint64(run), 311)
			var days, level []float64
			var seen []series.Seen
			away, keep := w.departs*rng.NormFloat64(), math.Exp(-1./7)
			for day := range 7*25 + 1 {
				level = append(level, 20+away)
				if day%7 == 0 {
					days, seen = append(days, float64(day)), append(seen, exact(20+away+rng.NormFloat64(), 1))
				}
				away = keep*away + w.departs*math.Sqrt(1-keep*keep)*rng.NormFloat64()
			}
			var ranges []interval.Interval
			for range 3 {
				ranges = append(ranges, interval.Interval{Low: 20 - w.few - w.far*rng.Float64(), High: 20 + w.few + w.far*rng.Float64()})
			}
			ranges[2].Low *= 1 - w.departs // all that lies below
			ranges = append(ranges, interval.Interval{High: 19.999}, interval.Interval{High: 20.001})
			h := series.GoingsOf(days, seen, oneDraw).Held(days, seen, 1, nothingShared, ranges)
			past := series.PastOf(days, seen, oneDraw).Held(days, seen, 1, nothingShared, ranges)
			if _, low, _ := series.ShareOf(h.Shares[3], past.Shares[3], h.Stays[3]); low == 0 {
				beside++
			}
			if _, _, high := series.ShareOf(h.Shares[4], past.Shares[4], h.Stays[4]); high == 1 {
				beside++
			}
			for i, r := range ranges[:3] {
				if r.Width() < 1.96*h.Doubt {
					narrow++
					continue
				}
				inside := 0.0
				for _, c := range level {
					if r.Low <= c && c <= r.High {
						inside += 1 / float64(len(level))
					}
				}
				all++
				if _, low, high := series.ShareOf(h.Shares[i], past.Shares[i], h.Stays[i]); low-0.005 <= inside && inside <= high+0.005 {
					held++
				}
			}
		}
		t.Logf("departs by %g: held %d of %d, %d narrow, beside a limit %d of %d", w.departs, held, all, narrow, beside, 2*w.runs)
		if w.departs == 0 && beside < 2*w.runs*97/100 { // 46 of 50 by paths that wander alone
			t.Errorf("of a water that keeps still beside a limit the share is held in %d of %d", beside, 2*w.runs)
		}
		if held < all*93/100 || narrow > w.narrow {
			t.Errorf("share of a water that departs by %g: held in %d of %d; %d ranges too narrow", w.departs, held, all, narrow)
		}
	}
}

// quarter are factors of a scatter that is known to a quarter.
var quarter = func() (out []float64) {
	for d := range 32 {
		out = append(out, math.Exp(0.25*num.PhiInv((float64(d)+0.5)/32)))
	}
	return out
}()

// How much readings scatter is not known better than spread says: the weight of a way is by the mean of its likelihoods at all factors,
// and the factors that are left are those by which readings are likely.
func TestWaysOverTheDoubtOfScatter(t *testing.T) {
	var days []float64
	var seen, wide []series.Seen
	for i := range 12 {
		y := 10 + 1.5*num.PhiInv((float64(5*i%12)+0.5)/12)
		days, seen, wide = append(days, float64(7*i)), append(seen, exact(y, 1)), append(wide, series.Seen{Interval: interval.Interval{Low: y - 1, High: y + 1}, SD: 1})
	}
	for _, seen := range [][]series.Seen{seen, wide} {
		g := series.GoingsOf(days, seen, quarter)
		likely := func(way series.Going) (mean, factor float64) {
			for _, f := range quarter {
				more := slices.Clone(seen)
				for i := range more {
					more[i].SD *= f
				}
				_, l := series.Walk{Days: days, PerDay: way.PerDay}.Fit(more, nil)
				if way.Departs > 0 {
					_, l = series.Return{Days: days, Departs: way.Departs, Memory: way.Memory}.Fit(more, nil)
				}
				mean += math.Exp(l) / float64(len(quarter))
				factor += f * math.Exp(l) / float64(len(quarter))
			}
			return mean, factor / mean
		}
		stays := slices.Index(g.Of, series.Going{})
		base, factor := likely(series.Going{})
		near(t, "scatter of what stays", num.Mean(g.Scatter[stays]), factor, 0.005)
		for i, way := range g.Of {
			if way.Departs != 0.5 && way.PerDay != 0.25/7 {
				continue
			}
			mean, _ := likely(way)
			near(t, fmt.Sprint("weight of ", way, " to that of staying"), g.Weight[i]/g.Weight[stays], mean/base/(1+0.5/4), 0.01)
		}
	}
}

// Readings that scatter by 1.7 of what a record of few says are no sign that the water departs, where that may be so much.
func TestAWaterStaysWhereScatterIsInDoubt(t *testing.T) {
	var days []float64
	var seen []series.Seen
	for i := range 26 {
		days, seen = append(days, float64(7*i)), append(seen, exact(20+1.7*num.PhiInv((float64(7*i%26)+0.5)/26), 1))
	}
	below := []interval.Interval{{High: 20.1}}
	share := func(spread []float64) (low, high float64) {
		h := series.GoingsOf(days, seen, spread).Held(days, seen, 1, nothingShared, below)
		past := series.PastOf(days, seen, spread).Held(days, seen, 1, nothingShared, below)
		_, low, high = series.ShareOf(h.Shares[0], past.Shares[0], h.Stays[0])
		return low, high
	}
	if low, high := share(quarter); low > 0 || high < 1 {
		t.Errorf("a water that stays 0.1 below a limit was inside for %.2f to %.2f of the time", low, high)
	}
	if low, high := share(oneDraw); low == 0 || high == 1 {
		t.Errorf("by a scatter that is known: %.2f to %.2f", low, high)
	}
}
