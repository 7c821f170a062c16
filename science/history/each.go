package history

import (
	"maps"
	"runtime"
	"slices"
	"sync"

	"knownwater/science/note"
	"knownwater/science/series"
)

// ofWater is what is said of one water.
type ofWater struct {
	changes []Change
	levels  []Level
	between []Between
	trends  []Trend
	slopes  []Slope
	holds   []Hold
	notes   []note.Note
}

// eachWater says it of every water, a few at once; in order of their names, whichever is done first.
func (l *links) eachWater(used map[string][]point) []ofWater {
	names := slices.Sorted(maps.Keys(used))
	out := make([]ofWater, len(names))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(names), mostAtOnce) {
		wg.Go(func() {
			for i := range next {
				out[i] = l.ofWater(names[i], used[names[i]])
			}
		})
	}
	for i := range names {
		next <- i
	}
	close(next)
	wg.Wait()
	return out
}

// mostAtOnce waters are worked out at once: each takes memory.
const mostAtOnce = 4

func (l *links) ofWater(water string, points []point) (o ofWater) {
	overs, told := l.overs(points)
	o.notes = told
	o.changes = l.changesOf(water, points, overs, l.Matters)
	for _, stretch := range l.stretches(points) {
		r, w := l.rowOf(withOver(stretch, overs))
		shared := l.sharedOf(r.points, r.levels)
		past := series.PastOf(r.days, r.seen, r.spread())
		levels, between := l.levelsOf(water, r, past, shared)
		o.levels, o.between = append(o.levels, levels...), append(o.between, between...)
		slope, trends := l.slopeOf(water, stretch, r, w, shared)
		o.slopes, o.trends = append(o.slopes, slope), append(o.trends, trends...)
		o.holds = append(o.holds, l.holdsOf(water, points, stretch, r, w, past, shared)...)
	}
	return o
}
