package intake

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"

	"knownwater"
	"knownwater/science/history"
	"knownwater/science/reading"
)

// WriteReadings writes a trial as readings.csv, a row a reading, with the
// optional columns that hold anything. Read back with the trial's methods it
// gives the same observations. Texts are safe to open in a spreadsheet.
func WriteReadings(w io.Writer, t knownwater.Trial) error {
	columns := usedColumns(t)
	out := csv.NewWriter(w)
	row := make([]string, len(columns))
	for i, c := range columns {
		row[i] = c.name
	}
	out.Write(row) // csv.Writer keeps its first error for Flush
	for o := range t.Every() {
		for i, c := range columns {
			row[i] = c.cell(t, o)
		}
		for range max(1, o.Count) {
			out.Write(row)
		}
	}
	if out.Flush(); out.Error() != nil {
		return fmt.Errorf("writing readings: %w", out.Error())
	}
	return nil
}

// outColumn is a column of readings.csv as it is written.
type outColumn struct {
	name string
	cell func(knownwater.Trial, knownwater.WithNitrite) string
	need bool // written even if empty
}

func usedColumns(t knownwater.Trial) []outColumn {
	var used []outColumn
	for _, c := range outColumns {
		if c.need || usesColumn(t, c) {
			used = append(used, c)
		}
	}
	return used
}

func usesColumn(t knownwater.Trial, c outColumn) bool {
	for o := range t.Every() {
		if c.cell(t, o) != "" {
			return true
		}
	}
	return false
}

var outColumns = []outColumn{
	{"method", text(func(o knownwater.WithNitrite) string { return o.Method }), true},
	{"level", func(_ knownwater.Trial, o knownwater.WithNitrite) string { return reading.Format(o.Level) }, true},
	{"reading", func(_ knownwater.Trial, o knownwater.WithNitrite) string { return o.Text }, true}, // never a formula: Understand took it
	{"u_level", unless(0, func(o knownwater.WithNitrite) float64 { return o.ULevel }), false},
	{"u_shared", unless(0, func(o knownwater.WithNitrite) float64 { return o.UShared }), false},
	{"u_background", unless(0, func(o knownwater.WithNitrite) float64 { return o.UBackground }), false},
	{"nitrite", unless(0, func(o knownwater.WithNitrite) float64 { return o.Nitrite }), false},
	{"u_nitrite", unless(0, func(o knownwater.WithNitrite) float64 { return o.UNitrite }), false},
	{"unit", func(t knownwater.Trial, _ knownwater.WithNitrite) string { return knownwater.SafeCell(t.Scale.Unit) }, false},
	{"basis", func(t knownwater.Trial, _ knownwater.WithNitrite) string { return knownwater.SafeCell(t.Scale.Basis) }, false},
	{"dilution", unless(1, func(o knownwater.WithNitrite) float64 { return o.Dilution }), false},
	{"u_dilution", unless(0, func(o knownwater.WithNitrite) float64 { return o.UDilution }), false},
	{"technique", text(func(o knownwater.WithNitrite) string { return o.Technique }), false},
	{"session", text(func(o knownwater.WithNitrite) string { return o.Session }), false},
	{"reader", text(func(o knownwater.WithNitrite) string { return o.Reader }), false},
	{"lot", text(func(o knownwater.WithNitrite) string { return o.Lot }), false},
	{"vial", text(func(o knownwater.WithNitrite) string { return o.Vial }), false},
	{"matrix", text(func(o knownwater.WithNitrite) string { return o.Matrix }), false},
}

func text(of func(knownwater.WithNitrite) string) func(knownwater.Trial, knownwater.WithNitrite) string {
	return func(_ knownwater.Trial, o knownwater.WithNitrite) string {
		return knownwater.SafeCell(of(o))
	}
}

func unless(usual float64, of func(knownwater.WithNitrite) float64) func(knownwater.Trial, knownwater.WithNitrite) string {
	return func(_ knownwater.Trial, o knownwater.WithNitrite) string {
		if v := of(o); v != usual {
			return reading.Format(v)
		}
		return ""
	}
}

// WriteLog writes a log of routine readings.
func WriteLog(w io.Writer, log []history.Entry) error {
	out := csv.NewWriter(w)
	header := []string{"taken_at", "water", "method", "reading", "known", "u_known", "lot", "reader", "technique", "dilution", "pair"}
	nitrite := slices.ContainsFunc(log, func(e history.Entry) bool { return e.NitriteKnown })
	if nitrite {
		header = append(header, "nitrite", "u_nitrite")
	}
	out.Write(header)
	for _, e := range log {
		known, u := "", ""
		if e.Check {
			known, u = reading.Format(e.Known), reading.Format(e.UKnown)
		}
		row := []string{knownwater.SafeCell(e.Typed), knownwater.SafeCell(e.Water), knownwater.SafeCell(e.Method), knownwater.SafeCell(e.Reading), known, u, knownwater.SafeCell(e.Lot), knownwater.SafeCell(e.Reader), knownwater.SafeCell(e.Technique), reading.Format(e.Dilution), knownwater.SafeCell(e.Pair)}
		switch {
		case e.NitriteKnown:
			row = append(row, reading.Format(e.Nitrite), reading.Format(e.UNitrite))
		case nitrite:
			row = append(row, "", "")
		}
		out.Write(row)
	}
	out.Flush()
	return out.Error()
}
