package series_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/series"
)

// testdata/trend_tests.json: R and rational arithmetic.
func TestRankTrend(t *testing.T) {
	type set struct {
		Data       struct{ T, Y []float64 }
		Recomputed struct {
			S      float64
			Var    float64  `json:"var_S"`
			Normal float64  `json:"p_normal_two_sided"`
			Exact  *float64 `json:"p_exact_two_sided"`
		}
	}
	var all map[string]set
	load(t, "trend_tests.json", &all)
	for name, s := range all {
		switch name {
		case "nile", "irregular":
			c := columns(t, name+".csv")
			s.Data.T, s.Data.Y = c[0], c[1]
		}
		r := series.Ranked{Days: s.Data.T}
		for _, y := range s.Data.Y {
			r.Seen = append(r.Seen, interval.Exact(y))
		}
		got := series.RankTrend([]series.Ranked{r})
		near(t, name+" score", got.Score, s.Recomputed.S, 0)
		near(t, name+" variance", got.Var, s.Recomputed.Var, 1e-8)
		want := s.Recomputed.Normal
		if s.Recomputed.Exact != nil {
			want = *s.Recomputed.Exact
		}
		near(t, name+" p", got.P, want, 1e-12)
	}
	if len(all) != 5 {
		t.Errorf("%d sets", len(all))
	}
}

// Open ends: the score by all pairs, the variance by shuffling.
func TestRankTrendOfOpenEnds(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	r := series.Ranked{}
	for i := range 24 {
		r.Days = append(r.Days, float64(i/2))
		low := math.Floor(4 * rng.Float64())
		s := interval.Interval{Low: low, High: low + 1 + math.Floor(2*rng.Float64())}
		switch i % 7 {
		case 0:
			s.Low = math.Inf(-1)
		case 3:
			s.High = math.Inf(1)
		case 5:
			s = interval.Exact(low)
		}
		r.Seen = append(r.Seen, s)
	}
	got := series.RankTrend([]series.Ranked{r})
	pairs := func(seen []interval.Interval) (score float64) {
		for i := range seen {
			for j := range i {
				if r.Days[i] == r.Days[j] {
					continue
				}
				if seen[i].Low >= seen[j].High {
					score++
				}
				if seen[j].Low >= seen[i].High {
					score--
				}
			}
		}
		return score
	}
	near(t, "score", got.Score, pairs(r.Seen), 0)
	mixed, square := append([]interval.Interval(nil), r.Seen...), 0.0
	const runs = 20000
	for range runs {
		rng.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		s := pairs(mixed)
		square += s * s / runs
	}
	near(t, "variance by shuffling", got.Var/square, 1, 0.04)
}

// The slope of independent readings without departures is that of weighted least squares;
// shared parts that are alike cancel exactly.
func TestSlope(t *testing.T) {
	rng := num.Source(11)
	hits, runs := 0, 400
	for range runs {
		var r series.Readings
		level := rng.NormFloat64()
		for i := range 12 {
			level = 0.8*level + 0.6*rng.NormFloat64()
			r.Days = append(r.Days, 7*float64(i))
			r.Value = append(r.Value, 0.05*7*float64(i)+0.3*level+0.4*rng.NormFloat64())
			r.Var = append(r.Var, 0.16)
		}
		r.Shared, r.Spread = make([][]float64, 4), []float64{1, 1, 1, 1}
		for d := range r.Shared {
			r.Shared[d] = make([]float64, 12)
			for i := range r.Shared[d] {
				r.Shared[d][i] = float64(d)
			}
		}
		e, ok := r.Slope()
		if !ok {
			t.Fatal("no slope")
		}
		r.Shared = [][]float64{make([]float64, 12)}
		r.Spread = []float64{1}
		alone, _ := r.Slope()
		near(t, "slope with what all share", e.Value, alone.Value, 1e-12)
		near(t, "its doubt", e.U, alone.U, 1e-12)
		if e.Low <= 0.05 && 0.05 <= e.High {
			hits++
		}
	}
	if share := float64(hits) / float64(runs); share < 0.92 || share > 0.99 {
		t.Errorf("intervals hold the slope in %.3f of runs", share)
	}
}
