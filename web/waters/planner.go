package waters

import (
	"math"

	"knownwater/bench"
	"knownwater/web/render"
)

// planner is how often a known is tested for which delay.
type planner struct {
	Title string
	Heads []string // what a method would have to read
	Rows  []planRow
}

type planRow struct {
	Every   string
	Vials   int
	Delays  []string
	Alarms  string // false ones
	AYear   int    // vials
	Default bool
}

// plannerOf works out, from the checks of one known, what testing it every one, two and four weeks
// would show when. Vials that are tested on one evening share whatever that evening does to all of
// them, so two count as two only where the record holds little of that.
func plannerOf(w bench.Watched) *planner {
	if w.Chart.NoLimits || math.IsNaN(w.Delays[0]) {
		return nil
	}
	p := &planner{Title: w.Method + ", known " + render.TwoDigits(w.Known)}
	for _, r := range bench.PlannedRatios {
		p.Heads = append(p.Heads, render.Number(math.Round(100*r))+" %")
	}
	for _, c := range []struct{ weeks, vials int }{{1, 1}, {2, 1}, {2, 2}, {4, 1}, {4, 3}} {
		row := planRow{Every: render.Count(c.weeks, "week"), Vials: c.vials, AYear: 52 / c.weeks * c.vials, Default: c.weeks == 2 && c.vials == 1}
		for _, d := range w.Delays {
			row.Delays = append(row.Delays, weeksSay(math.Ceil(d/float64(c.vials))*float64(c.weeks)))
		}
		years := w.Chart.RunLength / float64(c.vials) * float64(c.weeks) / 52
		row.Alarms = render.TwoDigits(years) + " years"
		p.Rows = append(p.Rows, row)
	}
	return p
}

func weeksSay(weeks float64) string {
	if !(weeks < 520) {
		return "more than ten years"
	}
	if weeks > 104 {
		return render.Number(math.Round(weeks/52)) + " years"
	}
	return render.Count(int(weeks), "week")
}
