package history

import (
	"maps"
	"math"
	"slices"

	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/series"
)

// overs are what was seen before samples of a water were diluted, by result: where the sheet of a
// method has a sample diluted above some reading, and others of the water were read as they are, a diluted one
// was more than that first. Without it high readings would be made again and low ones kept, so
// that a water about that reading would be taken for too low. Who dilutes for another reason saw nothing before. How many samples of a
// method are taken which way is told, as nobody wrote it down.
func (l *links) overs(points []point) (out map[int]point, told []note.Note) {
	by := map[setup][]point{}
	for _, p := range points {
		k := setup{Method: p.Method, Lot: p.Lot}
		by[k] = append(by[k], p)
	}
	out = map[int]point{}
	taken := map[string]struct{ sheet, unsure, choice float64 }{} // how many samples, by method
	for k, list := range by {
		records := l.Records[k.Method]
		if len(records) == 0 || !slices.ContainsFunc(list, func(p point) bool { return p.Dilution <= 1 }) {
			continue
		}
		from, _ := records[len(records)-1].DilutesFrom()
		if !(from > 0) {
			continue
		}
		overs := map[int]point{}
		for _, p := range list {
			if p.Dilution > 1 {
				overs[p.at] = l.asOver(p, from)
			}
		}
		if len(overs) == 0 {
			continue
		}
		n, choice := taken[k.Method], l.byChoice(list, overs, from)
		switch more := float64(len(overs)); {
		case choice > likelyAsSheet:
			n.choice += more
		case choice > -hardlyTold:
			n.unsure += more
		default:
			n.sheet += more
		}
		if taken[k.Method] = n; choice <= likelyAsSheet {
			maps.Copy(out, overs)
		}
	}
	for method, n := range sorted(taken) {
		water := points[0].Water
		if n.sheet > 0 {
			told = append(told, note.New("diluted-as-sheet").Name("water", water).Name("method", method).Number("n", n.sheet))
		}
		if n.unsure > 0 {
			told = append(told, note.New("diluted-as-sheet-unsure").Name("water", water).Name("method", method).Number("n", n.unsure))
		}
		if n.choice > 0 {
			told = append(told, note.New("diluted-by-choice").Name("water", water).Name("method", method).Number("n", n.choice))
		}
	}
	return out, told
}

const (
	seldomLeft    = 0.05 // how often somebody who follows the sheet leaves a sample undiluted that read more
	likelyAsSheet = 6.0  // logarithm of how much likelier beforehand it is that somebody follows it
	hardlyTold    = 3.0  // … and of how much likelier the readings have to say it
)

// byChoice is the logarithm of how much likelier readings are if samples were diluted whatever they would have read. As the sheet says: each diluted one would have read so
// much undiluted, others hardly ever. By choice: a share of them was diluted at any level, the same all along or another
// from some result on, which is one in as many as there are. Over all ways in which the level may wander; points are of one setup.
func (l *links) byChoice(points []point, overs map[int]point, from float64) float64 {
	_, follows := l.rowOf(withOver(points, overs))
	_, free := l.rowOf(points)
	sheet := follows.Evidence
	before := make([]int, len(points)+1) // diluted ones among the first
	for i, p := range points {
		if before[i+1] = before[i]; p.Dilution > 1 {
			before[i+1]++
		} else if p.seen.Low >= l.asOver(p, from).seen.Low {
			sheet += math.Log(seldomLeft)
		}
	}
	n := len(points)
	often := sharesOf(before[n], n)
	for i := 1; i < n; i++ {
		often = math.Max(often, sharesOf(before[i], i)+sharesOf(before[n]-before[i], n-i)-math.Log(float64(n)))
	}
	return free.Evidence + often - sheet
}

// sharesOf is the logarithm of how likely k of n are at the share that they are.
func sharesOf(k, n int) float64 {
	if k == 0 || k == n {
		return 0
	}
	p := float64(k) / float64(n)
	return float64(k)*math.Log(p) + float64(n-k)*math.Log(1-p)
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
	if most <= 1 && by != nil {
		if c.over = c.readsOver(by, len(c.Entries)-count[most]); c.over > 0 {
			c.OtherwiseDiluted = 0
			return
		}
	}
	c.Entries = slices.DeleteFunc(slices.Clone(c.Entries), func(e Entry) bool { return e.Dilution != most })
}

// seldomOver is the chance of an undiluted reading above what the sheet takes so, below which a known is not diluted for it.
const seldomOver = 0.01

// readsOver is from which reading on undiluted checks of the known were diluted, if they read so much as often as that, by the record; 0: they do not. Of a
// colour between two swatches some may be taken for more than the sheet's reading and others not: it counts as more where more were
// diluted than read what all take for more (at 5 %).
func (c *Checks) readsOver(by Source, diluted int) float64 {
	from, least := by.DilutesFrom()
	first := c.Entries[slices.IndexFunc(c.Entries, func(e Entry) bool { return e.Dilution <= 1 })]
	e, ok := by.Expect(c.Known, first.UKnown, first.Reader, c.Lot, 1)
	if !ok || !(from > 0) || e.Dilution != 1 {
		return 0
	}
	above := func(from float64) (share, asMany float64) {
		for _, d := range e.Draws {
			p := num.Phi((d.Mean - from) / d.SD)
			share += p / float64(len(e.Draws))
			n, k := float64(len(c.Entries)), float64(diluted)-0.5
			asMany += num.Phi((n*p-k)/math.Sqrt(math.Max(n*p*(1-p), 1e-9))) / float64(len(e.Draws))
		}
		return share, asMany
	}
	share, asMany := above(from)
	if c.parted = least < from && asMany < 0.05; c.parted {
		from = least
		share, _ = above(from)
	}
	if share < seldomOver {
		return 0
	}
	return from
}

// isOver says of an undiluted check that it read so much that others like it were diluted: which are is not known, and all count as so much or more.
func (c *Checks) isOver(dilution float64, seen interval.Interval) bool {
	return c.parted && dilution <= 1 && seen.Low >= c.over*(1-1e-9)
}

// overOf is what was seen of a check before it was diluted; not there: nothing.
func (l *links) overOf(c *Checks, p point) (point, bool) {
	if !(c.over > 0) || p.Dilution <= 1 {
		return p, false
	}
	return l.asOver(p, c.over), true
}

// dilution is that at which the checks are held: where the diluted ones had read too much, that of the others.
func (c *Checks) dilution() float64 {
	if c.over > 0 {
		return 1
	}
	return c.Entries[0].Dilution
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
