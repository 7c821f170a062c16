package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"

	"knownwater"
	"knownwater/science/history"
	"knownwater/science/inverse"
	"knownwater/science/reading"
	"knownwater/science/result"
)

// historyColumns of the table that HistoryCSV writes: those of a log, so that it can be read as one
// again, then what each row said as it was read, what it says now, where the water was on its day by all results, and how it
// went there (Level, Trend).
var historyColumns = []string{"taken_at", "water", "method", "reading", "known", "u_known", "lot", "reader", "technique", "dilution", "pair", "nitrite", "u_nitrite",
	"unit", "estimate", "low", "high", "open", "again_estimate", "again_low", "again_high", "again_open", "standing", "doubt",
	"level", "level_low", "level_high", "per_week", "per_week_low", "per_week_high"}

// HistoryCSV writes every row of a log, checks too, in order of time: as it was read, and as it
// is expressed now where that is another. Empty is what nothing can be said of.
func HistoryCSV(w io.Writer, hs []history.History) error {
	safe := knownwater.SafeCell
	type row struct {
		history.Entry
		of    *history.Result
		level *history.Level
		trend *history.Trend
	}
	var rows []row
	for _, h := range hs {
		levels, trends := map[int]*history.Level{}, map[int]*history.Trend{}
		for i := range h.Levels {
			levels[h.Levels[i].Entry.Row] = &h.Levels[i]
		}
		for i := range h.Trends {
			trends[h.Trends[i].Entry.Row] = &h.Trends[i]
		}
		for i := range h.Results {
			e := h.Results[i].Entry
			rows = append(rows, row{e, &h.Results[i], levels[e.Row], trends[e.Row]})
		}
		for _, c := range h.Checks {
			for _, e := range c.Entries {
				rows = append(rows, row{Entry: e})
			}
		}
	}
	slices.SortStableFunc(rows, func(a, b row) int { return a.At.Compare(b.At) })
	out := csv.NewWriter(w)
	out.Write(historyColumns) // csv.Writer keeps its first error for Flush
	for _, r := range rows {
		e := r.Entry
		known, u, water := "", "", e.Water
		if e.Check {
			known, u, water = reading.Format(e.Known), reading.Format(e.UKnown), ""
		}
		at := e.Typed
		if at == "" {
			at = e.At.Local().Format("2006-01-02T15:04:05")
		}
		line := []string{safe(at), safe(water), safe(e.Method), e.Reading, known, u, safe(e.Lot), safe(e.Reader), safe(e.Technique), reading.Format(e.Dilution), safe(e.Pair), "", ""}
		if e.NitriteKnown {
			line[11], line[12] = reading.Format(e.Nitrite), reading.Format(e.UNitrite)
		}
		line = append(line, said(r.of)...)
		went := make([]string, 6)
		if x := r.level; x != nil {
			went[0], went[1], went[2] = cellOf(x.Level), cellOf(x.Low), cellOf(x.High)
		}
		if x := r.trend; x != nil {
			went[3], went[4], went[5] = cellOf(x.PerWeek), cellOf(x.Least), cellOf(x.Most)
		}
		line = append(line, went...)
		out.Write(line)
	}
	if out.Flush(); out.Error() != nil {
		return fmt.Errorf("writing the log: %w", out.Error())
	}
	return nil
}

// said are the cells of what a result says; those of a check are empty.
func said(r *history.Result) []string {
	if r == nil {
		return make([]string, 11)
	}
	unit, doubt := "", ""
	for _, o := range []*result.Outcome{r.Again, r.Outcome} {
		if o != nil {
			unit = o.Scale.String()
		}
	}
	if r.Doubt != nil {
		doubt = Say(*r.Doubt)
	}
	out := append([]string{knownwater.SafeCell(unit)}, saidCells(r.Outcome)...)
	return append(append(out, saidCells(r.Again)...), string(r.Standing), knownwater.SafeCell(doubt))
}

func saidCells(o *result.Outcome) []string {
	if o == nil {
		return make([]string, 4)
	}
	high := cellOf(o.Result.High)
	if o.Result.Open == inverse.Above {
		high = ""
	}
	return []string{cellOf(o.Result.Estimate), cellOf(o.Result.Low), high, string(o.Result.Open)}
}

func cellOf(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return reading.Format(v)
}
