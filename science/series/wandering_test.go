package series_test

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/series"
)

// departing are readings, of scatter 1, of a level that departs from 0 by sd and comes back with correlation exp(−days/memory).
func departing(run uint64, weeks int, sd, memory float64) (days, level, value []float64) {
	rng := num.Source(run, 941)
	x := sd * rng.NormFloat64()
	kept := math.Exp(-7 / memory)
	for i := range weeks {
		days, level, value = append(days, float64(7*i)), append(level, x), append(value, x+rng.NormFloat64())
		x = kept*x + sd*math.Sqrt(1-kept*kept)*rng.NormFloat64()
	}
	return days, level, value
}

// Waters that wander and have no slope: the 95 % interval of the slope holds 0. By memories of 35 days alone and half-Cauchy
// weights it left 0 out in 43 of 300 short rows, and in 17 of 300 long ones.
func TestSlopeOfAWaterThatWanders(t *testing.T) {
	for _, c := range []struct {
		weeks  int
		memory float64
	}{{8, 14}, {40, 35}} {
		missed := 0
		for run := range 300 {
			days, _, value := departing(uint64(run), c.weeks, 2.6, c.memory)
			r := series.Readings{Days: days, Value: value, Spread: []float64{1}, Shared: [][]float64{make([]float64, len(days))}}
			for range days {
				r.Var = append(r.Var, 1)
			}
			if e, ok := r.Slope(); !ok || e.Low > 0 || e.High < 0 {
				missed++
			}
		}
		t.Logf("%d weeks, back in %g days: missed %d of 300", c.weeks, c.memory, missed)
		if missed > 26 { // 5 % and three standard deviations of that
			t.Errorf("%d weeks, back in %g days: the slope's interval left 0 out in %d of 300", c.weeks, c.memory, missed)
		}
	}
}

// A slope that is called is one of the way that the level took, whatever made it: of waters that walk, without any trend, the interval holds the
// slope of the straight line through the level, and that has its sign.
func TestSlopeOfTheWayOfAWater(t *testing.T) {
	const weeks, runs = 26, 100
	called, missed := 0, 0
	for run := range runs {
		rng := num.Source(uint64(run), 78)
		r := series.Readings{Spread: []float64{1}, Shared: [][]float64{make([]float64, weeks)}}
		level, along, all := 0.0, 0.0, 0.0 // all: of squared days
		for k := range weeks {
			level += 0.6 * rng.NormFloat64()
			day := 7 * (float64(k) - (weeks-1)/2.0)
			along, all = along+day*level, all+day*day
			r.Days, r.Value, r.Var = append(r.Days, day), append(r.Value, level+rng.NormFloat64()), append(r.Var, 1)
		}
		e, _ := r.Slope()
		if e.Low > 0 || e.High < 0 {
			called++
		}
		if way := along / all; way < e.Low || way > e.High {
			missed++
		}
	}
	t.Logf("called %d of %d, the level's own slope missed %d", called, runs, missed)
	if called < runs/10 || missed > 4 {
		t.Errorf("called %d of %d, should be a tenth at least, or this tells nothing; the level's own slope missed %d", called, runs, missed)
	}
}

// Waters that come back within two weeks: the middle 95 % of the level hold it. By walks alone they left it out on 20 of 100 days.
func TestLevelOfAWaterThatComesBack(t *testing.T) {
	missed, all := 0, 0
	for run := range 60 {
		days, level, value := departing(uint64(run), 40, 1, 7)
		var seen []series.Seen
		for _, y := range value {
			seen = append(seen, series.Seen{Interval: interval.Exact(y), SD: 1})
		}
		for i, e := range series.PastOf(days, seen, oneDraw).Levels(days, seen, 0, nil) {
			all++
			if level[i] < e.Low || level[i] > e.High {
				missed++
			}
		}
	}
	t.Logf("missed %d of %d", missed, all)
	if missed > all*12/100 {
		t.Errorf("the level lies outside of its 95 %% limits on %d of %d days", missed, all)
	}
}

// The level of a water that comes back, with what readings share, is that of the whole covariance matrix.
func TestLevelsAgainstTheCovariance(t *testing.T) {
	d := denseOf(t, 0.5)
	var seen []series.Seen
	for i, y := range d.y {
		seen = append(seen, exact(y, d.sd[i]))
	}
	way := series.Goings{Of: []series.Going{{Departs: 0.5, Memory: series.Memory}}, Weight: []float64{1}}
	got := way.Levels(d.days, seen, 2, func(k int, into []float64) {
		for i := range into {
			into[i] = float64(2*k-1) * 0.3 // all alike, one way or the other: it stays in each level
		}
	})
	for i, day := range d.days {
		k := make([]float64, len(d.days))
		for j, other := range d.days {
			k[j] = d.cov(day, other)
		}
		near(t, "level", got[i].Value, d.mean+num.Dot(k, d.vy)-d.mean*num.Dot(k, d.v1), 1e-8)
		v := make([][]float64, len(d.days))
		for a := range v {
			v[a] = make([]float64, len(d.days))
			for b := range v[a] {
				v[a][b] = d.cov(d.days[a], d.days[b])
			}
			v[a][a] += d.sd[a] * d.sd[a]
		}
		left := 1 - num.Dot(k, d.v1)
		variance := d.cov(day, day) - num.Dot(k, d.solve(t, v, k)) + left*left/d.oneVOne
		near(t, "doubt", got[i].U, math.Sqrt(variance+0.09), 1e-8)
	}
}
