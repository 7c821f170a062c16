package report

import (
	"fmt"
	"strings"
)

// intakeSentences are what was taken for granted when files were read.
func intakeSentences() map[string]phrase {
	return map[string]phrase{
		// The table.
		"above-header":         aboveHeader,
		"columns-understood":   columnsUnderstood,
		"read-as-windows-1252": text("{file} is not UTF-8 and was read as Windows-1252: look at names with accents, and save it as UTF-8 where they are wrong"),
		"one-sheet-read":       text("{file}: sheet “{sheet}” is read; of its other sheets ({others|,}) nothing is, unless one is chosen with --sheet"),
		"merged-cells":         text("{file}: merged cells hold for every row that they cover"),
		"wide-table":           text("{file} is read as a table with a column a method: {methods|,}"),
		"columns-not-read":     text("{file}: columns that are no readings of a method wanted here are not read: {columns|,}"),
		"numbered-methods":     text("{methods|;} are taken as methods of their own: if they are repeats of one method, give their columns one name"),
		"unknown-columns":      text("{file}: unknown columns are kept in the file and not used: {columns|,}"),
		"decimal-commas":       text("numbers in {file} have decimal commas"),

		// Rows and cells.
		"other-analyte-left-out": text("{file}: {rows|n row} of {of} left out, since {analyte} is judged here"),
		"other-method-left-out":  text("{file}: {rows|n row} by {method} left out, since only one method was asked for"),
		"cell-read-as":           cellReadAs,
		"cells-read-as":          text("{because} ({rows|n row}, from row {from|0} on)"),
		"more-cells-read-so":     text("{cells|n more cell} were read in such a way"),
		"rows-not-read":          rowsNotRead,
		"rows-left-out":          text("left out because not understood: row {rows|,}"),
		"rows-left-out-and-more": text("left out because not understood: row {rows|,} and more"),
		"log-rows-not-read":      text("{file}: in {rows|0} of {all|0} rows nothing was read"),
		"alike-but-for-capitals": alikeNames,
		"name-in-rows":           text("“{name}” ({rows|n row}, from row {from|0} on)"),
		"too-many-vials": text("more than {vials|0} vials or {rows|0} distinct rows: vials are not told apart, so what readings of one vial share cannot be " +
			"seen"),
		"single-vials-not-apart": text("vials that were read only once are not told apart in a file of {readings|0} readings or more"),

		// Units.
		"no-unit-anywhere":    text("no unit is given anywhere: mg/L is taken"),
		"unit-of-the-methods": text("no unit is given for the levels: {unit} is taken, as the methods’"),
		"no-basis-given":      text("no basis is given: {basis} is taken"),
		"analyte-not-known":   text("analyte “{analyte}” is not one whose bases are known: nothing can be converted"),
		"levels-turned":       text("levels given in {from} were turned into {to} (factor {factor|set})"),
		"levels-in-one-unit":  text("levels without a unit are taken in {unit}, as the others are"),
		"readings-turned":     text("readings of {method} given in {from} were turned into {to} (factor {factor|set})"),
		"ppm-is-mg-per-litre": text("the unit ppm is read as mg/L, as the trade means it; taken by weight, as mg/kg, it would differ by 2.3 % in sea water: write " +
			"mg/L or mg/kg to be plain"),
		"no-u-level":      text("no u_level is given: the knowns are taken as exact"),
		"u-level-missing": text("u_level is not given in {rows|0} of {all|0} rows: their knowns are taken as exact"),

		// Methods.
		"method-shows-other":      text("method “{method}” shows {own}: its readings were turned into {scale} (factor {factor|set})"),
		"signal-without-unit":     text("method “{method}” reads a signal, which has no unit of a concentration: its unit is not used"),
		"taken-as-display":        text("method “{method}” is not described in a methods file: taken as a display with steps of {step|set}"),
		"drops-without-d":         text("method “{method}”: whole numbers without a d are taken as counts of drops"),
		"method-without-readings": text("method “{method}” has no readings"),
		"more-without-readings":   text("{methods|n more method} have no readings"),
		"report-without-response": text("the report shows no response of {method}: nothing it reads is turned round"),
		"record-of-one-water":     text("{method} was tried in several waters: its record in “{matrix}”, which has most readings, is used"),
		"curve-past-its-day":      text("the curve was to be relied on until {day}: test a blank and a known in the middle (curve recheck)"),
	}
}

func aboveHeader(n told) string {
	return n.Say("{1}: what stands above the header in row {2} is not read: “{3}”", name(n, "file", 0), fmt.Sprintf("%.0f", at(n, "row", 0)), strings.Join(n.Names["text"], "”, “"))
}

func columnsUnderstood(n told) string {
	var pairs []string
	for i, called := range n.Names["called"] {
		pairs = append(pairs, n.Say("“{1}” as {2}", called, name(n, "as", i)))
	}
	return n.Say("{1}: columns were understood: {2}", name(n, "file", 0), strings.Join(pairs, ", "))
}

// cellReadAs quotes a cell; a blank is a level, the others are in the notation of readings.
func cellReadAs(n told) string {
	typed, as := name(n, "typed", 0), name(n, "as", 0)
	if strings.EqualFold(typed, "blank") {
		as = n.Say("a level of {1}", as)
	}
	return n.Say("“{1}” is read as {2}", typed, as)
}

// rowsNotRead names the first of the rows.
func rowsNotRead(n told) string {
	count, rows := int(at(n, "count", 0)), n.Numbers["rows"]
	words := "rows "
	if count == 1 {
		words = "row "
	}
	for i, r := range rows {
		if i > 0 {
			words += ", "
		}
		words += fmt.Sprintf("%.0f", float64(r))
	}
	if count > len(rows) && len(rows) >= 10 {
		words += ", …"
	}
	return n.Say("{1} without a reading: taken as not read ({2})", things(count, "row"), words)
}

func alikeNames(n told) string {
	var names []string
	for _, b := range n.Because {
		names = append(names, n.say(b))
	}
	return n.Say("is it one {1} or several? {2} differ in capitals or spaces only and are kept apart: write them alike if they are one", name(n, "column", 0), strings.Join(names, " and "))
}

// planSentences are what somebody should think about who plans a trial.
func planSentences() map[string]phrase {
	return map[string]phrase{
		"plan-knowns-exact":    text("no known has a stated uncertainty: all will be taken as exact"),
		"plan-known-exact":     text("“{known}” has no stated uncertainty: it will be taken as exact"),
		"plan-few-blanks":      text("{blanks|n blank} for each method: at least {wanted|0} are wanted to say what shows above zero"),
		"plan-few-levels":      text("{levels|n level} above zero: with fewer than three no bend can be seen"),
		"plan-few-vials":       text("there are fewer than three vials a level and no hidden duplicates: the spread will be poorly known"),
		"plan-no-check":        text("no check standard is named, whose readings at both ends of a session would show you whether the method drifts meanwhile"),
		"plan-no-need":         text("no need is named: there will be findings, but no verdict"),
		"plan-method-retired":  text("{method} is retired"),
		"plan-method-newer":    text("{method} has a newer version than the plan’s"),
		"plan-one-reader":      text("{method} is read by one pair of eyes: how readers differ will not be known"),
		"plan-no-lot":          text("{method}: no lot is named"),
		"plan-few-diluted":     text("{method} is diluted at {levels|n level} only: a dilution is judged by itself, from at least three"),
		"plan-level-on-swatch": text("{method}: level {levels|,} on a swatch, which flatters a chart"),
		"set-has-newer":        text("the set “{set}” has a newer version than the plan’s: pick it up again"),
	}
}
