package history

import (
	"cmp"
	"iter"
	"maps"
	"math"
	"slices"
	"time"

	"knownwater/science/note"
	"knownwater/science/series"
)

// Level is where a water was on the day of a result.
type Level struct {
	Water     string
	Entry     Entry
	Level     float64
	Low, High float64 // 95 %
}

// Between is where a water was between two results.
type Between struct {
	Water            string
	At               time.Time
	Level, Low, High float64 // 95 %
}

// Trend is where a water was on the day of a result and how it went there, by a level and a slope that wander, whatever it did
// before and after. Only the last 200 results of a stretch have one.
type Trend struct {
	Water                string
	Entry                Entry
	Level, Low, High     float64 // 95 %
	PerWeek, Least, Most float64 // 95 %
}

// Slope is how a water went from one day to another. NaN: too few results to call.
type Slope struct {
	Water              string
	From, To           time.Time
	N                  int
	PerWeek, Low, High float64
	// Now is the slope on the last day, whatever the water did before, by a level and a slope that wander.
	Now, NowLow, NowHigh float64
	RankP                float64 // of a trend by ranks
	Why                  *note.Note
}

// What a slope takes.
const (
	fewestForSlope = 8
	fewestOfEach   = 3 // of every method and lot
	manyForSlope   = 400
)

// sorted goes through a map in order of its keys.
func sorted[K cmp.Ordered, V any](m map[K]V) iter.Seq2[K, V] {
	return func(yield func(K, V) bool) {
		for _, k := range slices.Sorted(maps.Keys(m)) {
			if !yield(k, m[k]) {
				return
			}
		}
	}
}

// used are the results of a water that something is said from, in order of time: not those
// that wait, unless it is known what became of their lot, nor those left out, nor samples
// that were only made to compare two methods.
func (l *links) used(results []Result) map[string][]point {
	out := map[string][]point{}
	for _, p := range l.points {
		if p.at < 0 || l.compared[p.Water] {
			continue
		}
		r := results[p.at]
		if r.Standing == LeftOut || r.Standing == Waits && r.Again == nil {
			continue
		}
		out[p.Water] = append(out[p.Water], p)
	}
	for w := range out {
		sortPoints(out[w])
	}
	return out
}

// stretches are the results of a water by the group of their setups, each in order of time,
// where they mean something in concentrations.
func (l *links) stretches(points []point) (out [][]point) {
	by := map[int][]point{}
	for _, p := range points {
		if a, plain := p.way.(asShown); plain && !(a.share > 0) {
			continue
		}
		by[l.group[p.set]] = append(by[l.group[p.set]], p)
	}
	for _, list := range sorted(by) {
		out = append(out, list)
	}
	slices.SortStableFunc(out, func(a, b []point) int { return cmp.Compare(a[0].day, b[0].day) })
	return out
}

// row is a stretch as the series knows it: scatter is that at the levels about each result.
type row struct {
	points []point
	days   []float64
	seen   []series.Seen
	levels []float64 // about each result
}

func (l *links) rowOf(points []point) (row, series.Wanders) {
	r := row{points: points, levels: make([]float64, len(points))}
	for i, p := range points {
		r.days = append(r.days, p.day)
		r.levels[i] = math.Max(0, (p.seen.Low+math.Min(p.seen.High, 3*math.Abs(p.seen.Low)+3))/2/l.yieldOf(p.set))
	}
	l.scatterAt(&r)
	w := series.Wandering(r.days, r.seen)
	for range 2 {
		for i, level := range w.Levels(r.days, r.seen) {
			r.levels[i] = math.Max(0, level)
		}
		l.scatterAt(&r)
	}
	return r, series.Wandering(r.days, r.seen)
}

// spread is by how much own scatter of the results differs in each draw, on average.
func (r row) spread() []float64 {
	out := make([]float64, draws)
	for _, p := range r.points {
		for d, f := range p.way.Spreads() {
			out[d] += f / float64(len(r.points))
		}
	}
	return out
}

func (l *links) scatterAt(r *row) {
	r.seen = r.seen[:0]
	for i, p := range r.points {
		q := l.yieldOf(p.set)
		r.seen = append(r.seen, p.told(q, r.levels[i]))
	}
}

// sharedOf are the errors that results share, by draw, for each result: of their records and
// readers, and of what is known of their lots.
func (l *links) sharedOf(points []point, levels []float64) [][]float64 {
	out := make([][]float64, len(points))
	type place struct {
		way way
		set int
		at  float64
	}
	known := map[place][]float64{}
	for i, p := range points {
		q := l.yieldOf(p.set)
		at := float64(float32(levels[i])) // nearly equal levels once
		k := place{p.way, p.set, at}
		if known[k] == nil {
			e := make([]float64, draws)
			p.way.Shared(at*q, 1/q, e)
			for d, off := range l.off[p.set] {
				e[d] -= at * off
			}
			known[k] = e
		}
		out[i] = known[k]
		if p.uFactor > 0 || p.unstated > 0 {
			out[i] = slices.Clone(out[i])
			byNitrite(points[i:i+1], unity, out[i])
		}
	}
	return out
}

// levelDraws of what is shared go through the smoother.
const levelDraws = 64

// Between two results that lie more than shortGap days apart the level is told at parts of the way.
const (
	shortGap = 2.0
	parts    = 4
)

// levelsOf are the levels of a stretch on the days of its results, and between them, by how it may have gone.
func (l *links) levelsOf(water string, r row, past series.Goings, shared [][]float64) (out []Level, between []Between) {
	var days []float64
	var seen []series.Seen
	var at []int // the result of each; −1: none
	for i, d := range r.days {
		for k := 1.0; i > 0 && d-r.days[i-1] > shortGap && k < parts; k++ {
			days, seen, at = append(days, r.days[i-1]+(d-r.days[i-1])*k/parts), append(seen, series.Nothing()), append(at, -1)
		}
		days, seen, at = append(days, d), append(seen, r.seen[i]), append(at, i)
	}
	for k, e := range past.Levels(days, seen, levelDraws, func(d int, into []float64) {
		for k, i := range at {
			if into[k] = 0; i >= 0 {
				into[k] = shared[i][d*draws/levelDraws]
			}
		}
	}) {
		value, low, high := notBelow0(e)
		switch i := at[k]; {
		case i < 0:
			between = append(between, Between{water, l.began.Add(time.Duration(days[k] * 24 * float64(time.Hour))), value, low, high})
		case !r.points[i].over:
			out = append(out, Level{water, r.points[i].Entry, value, low, high})
		}
	}
	return out, between
}

func notBelow0(e series.Estimate) (value, low, high float64) {
	low = math.Max(0, e.Low)
	return math.Max(0, e.Value), low, math.Max(low, e.High)
}

// slopeOf is the slope of a stretch, and beside it a rank test of what was seen, method by
// method, lot by lot and reader by reader.
func (l *links) slopeOf(water string, points []point, r row, w series.Wanders, shared [][]float64) (s Slope, trends []Trend) {
	n := len(points)
	s = Slope{Water: water, From: points[0].At, To: points[n-1].At, N: n, PerWeek: math.NaN(), Low: math.NaN(), High: math.NaN(), Now: math.NaN(), NowLow: math.NaN(), NowHigh: math.NaN(), RankP: math.NaN()}
	of := map[int]int{}
	for _, p := range points {
		of[p.set]++
	}
	fewest := n
	for _, k := range of {
		fewest = min(fewest, k)
	}
	if n < fewestForSlope || fewest < fewestOfEach {
		why := note.New("too-few-to-call").Name("water", water).Number("results", float64(n)).Number("wanted", fewestForSlope, fewestOfEach)
		s.Why = &why
		return s, nil
	}
	s.RankP = series.RankTrend(l.ranked(points)).P
	sites, errors := r.told(w, shared)
	few := draws
	if n > manyForSlope {
		few = draws / 4 // what scatters by itself is little then, and what is shared falls out of a slope
	}
	in := series.Readings{Spread: make([]float64, few)}
	var kept []int
	for i, t := range sites {
		if t.Precision > 0 {
			kept = append(kept, i)
			in.Days, in.Value, in.Var = append(in.Days, points[i].day), append(in.Value, t.Shift/t.Precision), append(in.Var, 1/t.Precision)
			for d := range in.Spread {
				in.Spread[d] += points[i].way.Spreads()[d]
			}
		}
	}
	if len(kept) < fewestForSlope {
		return s, nil
	}
	in.Shared = make([][]float64, few)
	for d := range in.Shared {
		in.Spread[d] /= float64(len(kept))
		in.Shared[d] = make([]float64, len(kept))
		for k, i := range kept {
			in.Shared[d][k] = errors[i][d]
		}
	}
	if e, ok := in.Slope(); ok {
		s.PerWeek, s.Low, s.High = 7*e.Value, 7*e.Low, 7*e.High
	}
	if e, ok := in.Went(); ok {
		s.Now, s.NowLow, s.NowHigh = 7*e.Now.Value, 7*e.Now.Low, 7*e.Now.High
		for k, slope := range e.Slopes {
			t := Trend{Water: water, Entry: points[kept[e.From+k]].Entry, PerWeek: 7 * slope.Value, Least: 7 * slope.Low, Most: 7 * slope.High}
			t.Level, t.Low, t.High = notBelow0(e.Levels[k])
			trends = append(trends, t)
		}
	}
	return s, trends
}

// ranked are the blocks that may be compared by rank.
func (l *links) ranked(points []point) (out []series.Ranked) {
	type block struct {
		set    int
		reader string
	}
	at := map[block]int{}
	for _, p := range points {
		k := block{p.set, p.Reader}
		i, there := at[k]
		if !there {
			i = len(out)
			at[k] = i
			out = append(out, series.Ranked{})
		}
		seen := p.seen
		if p.open {
			seen.High = math.Inf(1)
		}
		out[i].Days, out[i].Seen = append(out[i].Days, p.day), append(out[i].Seen, seen)
	}
	return out
}
