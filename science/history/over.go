package history

import (
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/series"
)

// overs are what was seen before samples of a water were diluted, by result: where the sheet of a
// method has a sample diluted above some reading, and others of the water were read as they are, a diluted one
// was more than that first. Without it high readings would be made again and low ones kept, so
// that a water about that reading would be taken for too low.
func (l *links) overs(points []point) map[int]point {
	plain := map[setup]bool{}
	for _, p := range points {
		if p.Dilution <= 1 {
			plain[setup{Method: p.Method, Lot: p.Lot}] = true
		}
	}
	out := map[int]point{}
	for _, p := range points {
		records := l.Records[p.Method]
		if p.Dilution <= 1 || !plain[setup{Method: p.Method, Lot: p.Lot}] || len(records) == 0 {
			continue
		}
		from := records[len(records)-1].DilutesFrom()
		if !(from > 0) {
			continue
		}
		out[p.at] = l.asOver(p, from)
	}
	return out
}

// asOver is the undiluted reading of from or more that a diluted one followed.
func (l *links) asOver(p point, from float64) point {
	p.Dilution, p.over, p.open = 1, true, true
	p.way = l.wayOf(p.Entry)
	p.seen = interval.Interval{Low: p.way.Level(from) - p.less, High: math.Inf(1)}
	return p
}

// withOver are points, each with what was seen before its sample was diluted behind it.
func withOver(points []point, overs map[int]point) (out []point) {
	for _, p := range points {
		out = append(out, p)
		if over, there := overs[p.at]; there {
			out = append(out, over)
		}
	}
	return out
}

// told is what each result of a row amounts to under the likeliest walk, with what it shares: what was seen before a sample was
// diluted is put together with its result.
func (r row) told(w series.Wanders, shared [][]float64) (sites []series.Site, errors [][]float64) {
	for i, s := range w.Sites(r.days, r.seen) {
		if !r.points[i].over {
			sites, errors = append(sites, s), append(errors, shared[i])
			continue
		}
		last := len(sites) - 1
		was := sites[last]
		both := series.Site{Precision: was.Precision + s.Precision, Shift: was.Shift + s.Shift}
		if s.Precision > 0 {
			mixed := make([]float64, draws)
			for d := range mixed {
				mixed[d] = (was.Precision*errors[last][d] + s.Precision*shared[i][d]) / both.Precision
			}
			sites[last], errors[last] = both, mixed
		}
	}
	return sites, errors
}

// oneDilution leaves checks that were diluted otherwise than most out: they are read by another branch of the record, whose errors
// are its own. Where most were not and the sheet of the method has a sample diluted above some reading, those that were had read more than
// that first, and stay as such: without them what is left of a known about that reading would be the low ones, so that the method would be
// taken to read less. Those of a known that hardly ever reads so much were diluted for another reason. by is nil where there is no
// record.
func (c *Checks) oneDilution(by Source) {
	count := map[float64]int{}
	most := c.Entries[0].Dilution
	for _, e := range c.Entries {
		count[e.Dilution]++
	}
	for d, n := range count {
		if n > count[most] || n == count[most] && d < most {
			most = d
		}
	}
	if c.OtherwiseDiluted = len(c.Entries) - count[most]; c.OtherwiseDiluted == 0 {
		return
	}
	if most <= 1 && by != nil && c.readsOver(by) {
		c.OtherwiseDiluted, c.over = 0, by.DilutesFrom()
		return
	}
	c.Entries = slices.DeleteFunc(slices.Clone(c.Entries), func(e Entry) bool { return e.Dilution != most })
}

// seldomOver is the chance of an undiluted reading above what the sheet takes so, below which a known is not diluted for it.
const seldomOver = 0.01

// readsOver says whether undiluted checks of the known are to be diluted as often as that, by the record.
func (c *Checks) readsOver(by Source) bool {
	from, first := by.DilutesFrom(), c.Entries[0]
	e, ok := by.Expect(c.Known, first.UKnown, first.Reader, c.Lot, 1)
	if !ok || !(from > 0) || e.Dilution != 1 {
		return false
	}
	sum := 0.0
	for _, d := range e.Draws {
		sum += num.Phi((d.Mean - from) / d.SD)
	}
	return sum >= seldomOver*float64(len(e.Draws))
}

// overOf is what was seen of a check before it was diluted; not there: nothing.
func (l *links) overOf(c *Checks, p point) (point, bool) {
	if !(c.over > 0) || p.Dilution <= 1 {
		return p, false
	}
	return l.asOver(p, c.over), true
}

// tests are how many checks points are of: what was seen before one was diluted is no other.
func tests(points []point) (n int) {
	for _, p := range points {
		if !p.over {
			n++
		}
	}
	return n
}
