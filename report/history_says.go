package report

import (
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// HistoryText tells a person what a log says: of each water first whether it changed, by how
// much and how sure that is, and where it cannot be told; then what links its methods and
// lots, what the checks say, and the results. Of several analytes each stands by itself.
func HistoryText(w io.Writer, hs []history.History, notes []note.Note) error {
	var lines []string
	for _, h := range hs {
		if len(hs) > 1 {
			lines = append(lines, measuredHead(h)+":", "")
		}
		lines = append(append(lines, historyLines(h)...), "")
	}
	for _, n := range SayAll(notesOf(hs, notes)) {
		lines = append(lines, "Note: "+n)
	}
	_, err := fmt.Fprintln(w, strings.TrimRight(strings.Join(lines, "\n"), "\n"))
	return err
}

// measuredHead names what a history of several is of.
func measuredHead(h history.History) string {
	s := measured(h)
	if s == (unit.Scale{}) {
		return "By methods without a record"
	}
	return strings.TrimSpace(capital(clean(s.Analyte)) + ", " + s.String())
}

// measured is the analyte and unit of a history; the zero one: it has no record.
func measured(h history.History) unit.Scale {
	for _, r := range h.Results {
		if r.Outcome != nil {
			return r.Outcome.Scale
		}
	}
	return unit.Scale{}
}

// notesOf are the notes of a log and of its histories, each once.
func notesOf(hs []history.History, notes []note.Note) (all []note.Note) {
	said := map[string]bool{}
	for _, list := range append([][]note.Note{notes}, notesOfEach(hs)...) {
		for _, n := range list {
			if s := Say(n); !said[s] {
				said[s] = true
				all = append(all, n)
			}
		}
	}
	return all
}

func notesOfEach(hs []history.History) (out [][]note.Note) {
	for _, h := range hs {
		out = append(out, h.Notes)
	}
	return out
}

func historyLines(h history.History) (lines []string) {
	part := func(more []string) {
		if len(more) > 0 && len(lines) > 0 {
			lines = append(lines, "")
		}
		lines = append(lines, more...)
	}
	var waters []string
	for _, name := range h.Waters() {
		if !h.OnlyCompared(name) {
			waters = append(waters, WaterSays(h, name)...)
		}
	}
	for _, s := range h.Slopes {
		if text := SlopeSays(h, s); text != "" {
			waters = append(waters, text)
		}
	}
	part(waters)
	var holds []string
	for _, name := range h.Waters() {
		holds = append(holds, HoldsOf(h, name)...)
	}
	part(holds)
	var links []string
	for _, b := range h.Bridges {
		links = append(links, BridgeSays(b))
	}
	part(links)
	var checks []string
	for _, c := range h.Checks {
		checks = append(checks, ChecksSay(c))
	}
	part(append(checks, PlansSay(h.Checks)...))
	var results []string
	for _, r := range h.Results {
		results = append(results, loggedLine(r))
	}
	part(results)
	return lines
}

func onDay(t time.Time) string { return t.Format("2 January 2006") }

// WaterSays is what became of a water: what it did from its first span to its last, each
// step that is called, and where its methods are not linked.
func WaterSays(h history.History, water string) (lines []string) {
	name := capital(clean(water)) + ": "
	all := h.ChangesOf(water)
	if len(all.Steps) == 0 && all.Whole == nil {
		return []string{name + "too few results to say whether it changed (four within five weeks, twice, are the least)."}
	}
	scale, _ := h.ScaleOf(water)
	unitText := UnitBehind(scale)
	if c := all.Whole; c != nil {
		lines = append(lines, name+SpanSays(*c, unitText))
	}
	called := 0
	for _, c := range all.Steps {
		if c.Verdict == history.Rose || c.Verdict == history.Fell {
			if all.Whole != nil && c.From.Equal(all.Whole.From) && c.To.Equal(all.Whole.To) {
				continue
			}
			called++
			lines = append(lines, "  "+stepSays(c, unitText))
		}
	}
	if all.Whole == nil && called == 0 {
		lines = append(lines, name+"no change could be told from one stretch to the next.")
	} else if all.Whole == nil {
		lines = append([]string{name + "it changed; the whole of it cannot be told."}, lines...)
	}
	for _, c := range all.Broken {
		came := clean(c.Across)
		if came == "" {
			came = "the lot that is not named"
		}
		lines = append(lines, fmt.Sprintf("  What was read until %s cannot be held against what was read since %s: nothing links %s with what came before.", onDay(c.Until), onDay(c.Since), came))
	}
	return lines
}

// daysOf are the days of a span, the year where it is not that of what follows.
func daysOf(from, to, next time.Time) string {
	s := from.Format("2 January")
	if from.Year() != to.Year() {
		s = onDay(from)
	}
	if !from.Equal(to) {
		s += " – " + to.Format("2 January")
	}
	if to.Year() != next.Year() {
		s += to.Format(" 2006")
	}
	return s
}

// SpanSays is a change in a sentence.
func SpanSays(c history.Change, unitText string) string {
	over := fmt.Sprintf("from %s to %s", daysOf(c.From, c.Until, c.To), daysOf(c.Since, c.To, time.Time{}))
	switch c.Verdict {
	case history.Rose, history.Fell:
		return fmt.Sprintf("it %s by %s %s.", c.Verdict, howMuch(c, unitText), over)
	case history.SameForNeed:
		return fmt.Sprintf("the same for the need %s: it changed by %s.", over, byHowMuch(c, unitText))
	case history.CannotBeTold:
		return fmt.Sprintf("whether it changed %s cannot be told.", over)
	}
	if math.IsNaN(c.Difference) {
		return fmt.Sprintf("whether it changed %s cannot be told: its readings lie beyond what was tried.", over)
	}
	s := fmt.Sprintf("no change could be told %s: it changed by %s; a change of %s%s would have been called in 95 of 100 cases.", over, byHowMuch(c, unitText), unit.Round(c.Smallest, c.U), unitText)
	switch {
	case c.PRise > 0.9:
		s += fmt.Sprintf(" A rise is likely (%s in 100).", InHundred(c.PRise))
	case c.PFall > 0.9:
		s += fmt.Sprintf(" A fall is likely (%s in 100).", InHundred(c.PFall))
	}
	return s
}

// stepSays is a called change between two neighbouring stretches.
func stepSays(c history.Change, unitText string) string {
	return fmt.Sprintf("It %s by %s between %s and %s.", c.Verdict, howMuch(c, unitText), onDay(c.From), onDay(c.To))
}

// howMuch is the size of a change with its interval, without sign.
func howMuch(c history.Change, unitText string) string {
	d, low, high := c.Difference, c.Low, c.High
	if d < 0 {
		d, low, high = -d, -high, -low
	}
	return fmt.Sprintf("%s (%s to %s)%s", unit.Round(d, c.U), unit.TrueMinus(unit.Round(low, c.U)), unit.Round(high, c.U), unitText)
}

func byHowMuch(c history.Change, unitText string) string {
	return fmt.Sprintf("%s (%s to %s)%s", unit.TrueMinus(unit.Round(c.Difference, c.U)), unit.TrueMinus(unit.Round(c.Low, c.U)), unit.TrueMinus(unit.Round(c.High, c.U)), unitText)
}

// BridgeSays is what links two sides of a change, in a sentence.
func BridgeSays(b history.Bridge) string {
	what := map[history.BridgeKind]string{history.OfLot: "lot ", history.OfMethod: "", history.OfReader: ""}[b.Kind]
	s := fmt.Sprintf("%s, then %s%s", capital(clean(b.From)), what, clean(b.To))
	if b.Kind != history.OfMethod {
		s = fmt.Sprintf("%s, %s%s, then %s", capital(clean(b.Method)), what, orNotNamed(b.From), orNotNamed(b.To))
	}
	s += " from " + onDay(b.At) + ": "
	if b.By == history.ByNone {
		return s + fmt.Sprintf("nothing links them. %s read with both would, or one known read with both, while both can still be had.", capital(things(b.Wanted, "sample")))
	}
	by := map[history.By]string{history.ByPairs: "samples read with both", history.ByChecks: "checks", history.ByTrial: "the trial"}[b.By]
	switch {
	case b.By == history.ByPairs && b.Pairs > 0:
		by = things(b.Pairs, "sample") + " read with both"
	case b.By == history.ByChecks:
		by = things(b.Checks, "check")
	}
	return s + fmt.Sprintf("it reads %s of what was read before (%s to %s), by %s: %s.", ofHundred(b.Ratio), ofHundred(b.Low), ofHundred(b.High), by, b.Verdict)
}

func orNotNamed(name string) string {
	if name == "" {
		return "not named"
	}
	return clean(name)
}

// SlopeSays is how a water went on the whole; empty where that is not known.
func SlopeSays(h history.History, s history.Slope) string {
	if math.IsNaN(s.PerWeek) {
		return ""
	}
	u := (s.High - s.Low) / 4
	scale, _ := h.ScaleOf(s.Water)
	unitText := UnitBehind(scale)
	way := "it rose by"
	mid, low, high := s.PerWeek, s.Low, s.High
	switch {
	case s.High < 0:
		way, mid, low, high = "it fell by", -mid, -high, -low
	case s.Low <= 0:
		way = "no slope can be told:"
	}
	return fmt.Sprintf("%s, from %s to %s: %s %s%s a week (%s to %s).", capital(clean(s.Water)), onDay(s.From), onDay(s.To), way, unit.TrueMinus(unit.Round(mid, u)), unitText, unit.TrueMinus(unit.Round(low, u)), unit.TrueMinus(unit.Round(high, u)))
}
