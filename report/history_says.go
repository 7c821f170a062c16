package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/unit"
	"knownwater/wording"
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
		lines = append(lines, english.Say("Note: {1}", n))
	}
	_, err := fmt.Fprintln(w, strings.TrimRight(strings.Join(lines, "\n"), "\n"))
	return err
}

// measuredHead names what a history of several is of.
func measuredHead(h history.History) string {
	s := measured(h)
	if s == (unit.Scale{}) {
		return english.Say("By methods without a record")
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
			waters = append(waters, WaterSays(nil, h, name)...)
		}
	}
	for _, s := range h.Slopes {
		if text := SlopeSays(nil, h, s); text != "" {
			waters = append(waters, text)
		}
	}
	part(waters)
	var holds []string
	for _, name := range h.Waters() {
		holds = append(holds, HoldsOf(nil, h, name)...)
	}
	part(holds)
	var links []string
	for _, b := range h.Bridges {
		links = append(links, BridgeSays(nil, b))
	}
	part(links)
	var checks []string
	for _, c := range h.Checks {
		checks = append(checks, ChecksSay(nil, c))
	}
	part(append(checks, PlansSay(nil, h.Checks)...))
	var results []string
	for _, r := range h.Results {
		results = append(results, loggedLine(r))
	}
	part(results)
	return lines
}

func onDay(t time.Time) string { return english.onDay(t) }

// onDay is a day in words.
func (l speech) onDay(t time.Time) string { return l.Time(t, "2 January 2006") }

// WaterHead is what became of a water in as few words as a title has room for.
func WaterHead(l *wording.Language, h history.History, water string) string {
	all, name := h.ChangesOf(water), clean(water)
	switch c := all.Whole; {
	case c == nil && len(all.Steps) == 0:
		return l.Say("{1}: too few results", name)
	case c == nil && slices.ContainsFunc(all.Steps, func(c history.Change) bool { return c.Verdict == history.Rose || c.Verdict == history.Fell }):
		return l.Say("{1} changed", name)
	case c != nil && c.Verdict == history.Rose:
		return l.Say("{1} rose", name)
	case c != nil && c.Verdict == history.Fell:
		return l.Say("{1} fell", name)
	case c != nil && c.Verdict == history.SameForNeed:
		return l.Say("{1} is the same for the need", name)
	}
	return l.Say("{1}: no change could be told", name)
}

// WaterSays is what became of a water: what it did from its first span to its last, each
// step that is called, and where its methods are not linked.
func WaterSays(l *wording.Language, h history.History, water string) (lines []string) {
	name := clean(water) + ": "
	all := h.ChangesOf(water)
	if len(all.Steps) == 0 && all.Whole == nil {
		return []string{name + l.Say("too few results to say whether it changed (four within five weeks, twice, are the least).")}
	}
	scale, _ := h.ScaleOf(water)
	unitText := UnitBehind(scale)
	if c := all.Whole; c != nil {
		lines = append(lines, name+SpanSays(l, *c, unitText))
	}
	called := 0
	for _, c := range all.Steps {
		if c.Verdict == history.Rose || c.Verdict == history.Fell {
			if all.Whole != nil && c.From.Equal(all.Whole.From) && c.To.Equal(all.Whole.To) {
				continue
			}
			called++
			lines = append(lines, "  "+stepSays(speech{l}, c, unitText))
		}
	}
	if all.Whole == nil && called == 0 {
		lines = append(lines, name+l.Say("no change could be told from one stretch to the next."))
	} else if all.Whole == nil {
		lines = append([]string{name + l.Say("it changed; the whole of it cannot be told.")}, lines...)
	}
	for _, c := range all.Broken {
		came := clean(c.Across)
		if came == "" {
			came = l.Say("the lot that is not named")
		}
		lines = append(lines, "  "+l.Say("What was read until {1} cannot be held against what was read since {2}: nothing links {3} with what came before.", speech{l}.onDay(c.Until), speech{l}.onDay(c.Since), came))
	}
	return lines
}

// daysOf are the days of a span, the year where it is not that of what follows.
func daysOf(l speech, from, to, next time.Time) string {
	s := l.Time(from, "2 January")
	if from.Year() != to.Year() {
		s = l.onDay(from)
	}
	last := wording.Key("2 January")
	if to.Year() != next.Year() {
		last = "2 January 2006"
	}
	if from.Format(time.DateOnly) == to.Format(time.DateOnly) {
		return l.Time(to, last)
	}
	return s + " – " + l.Time(to, last)
}

// SpanSays is a change in a sentence.
func SpanSays(l *wording.Language, c history.Change, unitText string) string {
	over := l.Say("from its results of {1} to those of {2}", daysOf(speech{l}, c.From, c.Until, c.To), daysOf(speech{l}, c.Since, c.To, time.Time{}))
	switch c.Verdict {
	case history.Rose:
		return l.Say("it rose by {1} {2}.", howMuch(speech{l}, c, unitText), over)
	case history.Fell:
		return l.Say("it fell by {1} {2}.", howMuch(speech{l}, c, unitText), over)
	case history.SameForNeed:
		return l.Say("the same for the need {1}: it changed by {2}.", over, byHowMuch(speech{l}, c, unitText))
	case history.CannotBeTold:
		return l.Say("whether it changed {1} cannot be told.", over)
	}
	if math.IsNaN(c.Difference) {
		return l.Say("whether it changed {1} cannot be told: its readings lie beyond what was tried.", over)
	}
	s := l.Say("no change of its level could be told {1}: {2}, its own coming and going counted as doubt; a change of {3}{4} would have been called in 95 of 100 cases.", over, byHowMuch(speech{l}, c, unitText), unit.Round(c.Smallest, c.U), unitText)
	switch {
	case c.PRise > 0.9:
		s += " " + l.Say("A rise is likely ({1} in 100).", InHundred(l, c.PRise))
	case c.PFall > 0.9:
		s += " " + l.Say("A fall is likely ({1} in 100).", InHundred(l, c.PFall))
	}
	return s
}

// stepSays is a called change between two neighbouring stretches.
func stepSays(l speech, c history.Change, unitText string) string {
	if c.Verdict == history.Fell {
		return l.Say("It fell by {1} between {2} and {3}.", howMuch(l, c, unitText), l.onDay(c.From), l.onDay(c.To))
	}
	return l.Say("It rose by {1} between {2} and {3}.", howMuch(l, c, unitText), l.onDay(c.From), l.onDay(c.To))
}

// howMuch is the size of a change with its interval, without sign.
func howMuch(l speech, c history.Change, unitText string) string {
	d, low, high := c.Difference, c.Low, c.High
	if d < 0 {
		d, low, high = -d, -high, -low
	}
	return l.Say("{1} ({2} to {3}){4}", unit.Round(d, c.U), unit.TrueMinus(unit.Round(low, c.U)), unit.Round(high, c.U), unitText)
}

func byHowMuch(l speech, c history.Change, unitText string) string {
	return l.Say("{1} ({2} to {3}){4}", unit.TrueMinus(unit.Round(c.Difference, c.U)), unit.TrueMinus(unit.Round(c.Low, c.U)), unit.TrueMinus(unit.Round(c.High, c.U)), unitText)
}

// BridgeSays is what links two sides of a change, in a sentence.
func BridgeSays(l *wording.Language, b history.Bridge) string {
	var s string
	day := speech{l}.onDay(b.At)
	switch b.Kind {
	case history.OfMethod:
		s = l.Say("{1}, then {2} from {3}:", clean(b.From), clean(b.To), day)
	case history.OfLot:
		s = l.Say("{1}, lot {2}, then {3} from {4}:", clean(b.Method), orNotNamed(speech{l}, b.From), orNotNamed(speech{l}, b.To), day)
	default:
		s = l.Say("{1}, {2}, then {3} from {4}:", clean(b.Method), orNotNamed(speech{l}, b.From), orNotNamed(speech{l}, b.To), day)
	}
	s += " "
	if b.By == history.ByNone && b.Wanted == 0 {
		return s + l.Say("nothing links them. One known read twice with each would, while both can still be had; so little is in this water that samples read with both hardly do.")
	}
	if b.By == history.ByNone && b.Kind == history.OfReader {
		return s + l.Say("nothing links them. {1} read by both would, or one known read twice by each.", capital(speech{l}.things(b.Wanted, "sample")))
	}
	if b.By == history.ByNone {
		return s + l.Say("nothing links them. {1} read with both would, or one known read twice with each, while both can still be had.", capital(speech{l}.things(b.Wanted, "sample")))
	}
	by := l.Say("the trial")
	switch {
	case b.By == history.ByPairs && b.Pairs > 0:
		by = l.Say("{1} read with both", speech{l}.things(b.Pairs, "sample"))
	case b.By == history.ByPairs:
		by = l.Say("samples read with both")
	case b.By == history.ByChecks:
		by = speech{l}.things(b.Checks, "check")
	}
	return s + l.Say("it reads {1} of what was read before ({2} to {3}), by {4}: {5}.", ofHundred(b.Ratio), ofHundred(b.Low), ofHundred(b.High), by, l.Say(string(b.Verdict)))
}

func orNotNamed(l speech, name string) string {
	if name == "" {
		return l.Say("not named")
	}
	return clean(name)
}

// SlopeSays is how a water went on the whole; empty where that is not known. It tells what the level did over those days, by whatever
// cause: a water that walks or comes back slowly rises for half a year without a trend, too.
func SlopeSays(l *wording.Language, h history.History, s history.Slope) string {
	if math.IsNaN(s.PerWeek) {
		return ""
	}
	scale, _ := h.ScaleOf(s.Water)
	unitText := UnitBehind(scale)
	says := slopeSays(l, s.PerWeek, s.Low, s.High, unitText, [3]string{wording.Key("{1}, from {2} to {3}: over these days it rose by {4}{5} a week ({6} to {7}) on a straight line, by a trend or by its own coming and going."),
		wording.Key("{1}, from {2} to {3}: over these days it fell by {4}{5} a week ({6} to {7}) on a straight line, by a trend or by its own coming and going."), wording.Key("{1}, from {2} to {3}: no slope can be told: {4}{5} a week ({6} to {7}).")},
		clean(s.Water), speech{l}.onDay(s.From), speech{l}.onDay(s.To))
	told := func(low, high float64) bool { return low > 0 || high < 0 }
	if math.IsNaN(s.Now) || !told(s.Low, s.High) && !told(s.NowLow, s.NowHigh) {
		return says
	}
	return says + " " + slopeSays(l, s.Now, s.NowLow, s.NowHigh, unitText, [3]string{wording.Key("On the last day it was rising by {1}{2} a week ({3} to {4})."),
		wording.Key("On the last day it was falling by {1}{2} a week ({3} to {4})."), wording.Key("On the last day no slope could be told: {1}{2} a week ({3} to {4}).")})
}

// slopeSays puts a slope into one of three sentences: it rises, it falls, nothing can be told.
func slopeSays(l *wording.Language, mid, low, high float64, unitText string, of [3]string, before ...string) string {
	u := (high - low) / 4
	says := of[0]
	switch {
	case high < 0:
		mid, low, high = -mid, -high, -low
		says = of[1]
	case low <= 0:
		says = of[2]
	}
	show := func(v float64) string { return unit.TrueMinus(unit.Round(v, u)) }
	return l.Say(says, append(before, show(mid), unitText, show(low), show(high))...)
}
