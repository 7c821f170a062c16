package waters

import (
	"math"

	"knownwater/bench"
	"knownwater/report"
	"knownwater/science/history"
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

// plannerOf words what testing the known of some checks so often would show when.
func plannerOf(as render.Reader, w bench.Watched) *planner {
	plans := w.Plans(w.Delays)
	if plans == nil {
		return nil
	}
	p := &planner{Title: as.Language.Say("{1}, known {2}", w.Method, render.TwoDigits(w.Known))}
	for _, r := range history.PlannedRatios {
		p.Heads = append(p.Heads, render.Number(math.Round(100*r))+" %")
	}
	for _, x := range plans {
		row := planRow{Every: as.Count(x.Weeks, "week"), Vials: x.Vials, AYear: x.AYear, Alarms: as.Language.Say("{1} years", render.TwoDigits(x.Years)), Default: x.Usual}
		for _, weeks := range x.Shows {
			row.Delays = append(row.Delays, report.WeeksSay(as.Language, weeks))
		}
		p.Rows = append(p.Rows, row)
	}
	return p
}
