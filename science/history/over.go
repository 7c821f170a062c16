package history

import (
	"math"

	"knownwater/science/interval"
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
		p.Dilution, p.over, p.open = 1, true, true
		p.way = l.wayOf(p.Entry)
		p.seen = interval.Interval{Low: p.way.Level(from) - p.less, High: math.Inf(1)}
		out[p.at] = p
	}
	return out
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
