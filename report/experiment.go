package report

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
	"knownwater/science/unit"
	"knownwater/wording"
)

type effectJSON struct {
	Treated    []string      `json:"treated"`
	Control    []string      `json:"control"`
	From       string        `json:"from"`
	Settle     int           `json:"settle"`
	Since      *string       `json:"since"`
	Until      *string       `json:"until"`
	Unit       *string       `json:"unit"`
	Basis      *string       `json:"basis"`
	Effect     num.Number    `json:"effect"`
	Low        num.Number    `json:"low"`
	High       num.Number    `json:"high"`
	U          num.Number    `json:"u"`
	PRaised    num.Number    `json:"p_raised"`
	PLowered   num.Number    `json:"p_lowered"`
	PRaisedBy  num.Number    `json:"p_raised_matters"`
	PLoweredBy num.Number    `json:"p_lowered_matters"`
	Smallest   num.Number    `json:"smallest_seen"`
	Wander     num.Number    `json:"wander"`
	Verdict    string        `json:"verdict"`
	Waters     []steppedJSON `json:"waters"`
	Notes      []string      `json:"notes"`
	NoteCodes  []string      `json:"note_codes"`
}

type steppedJSON struct {
	Water   string     `json:"water"`
	Side    string     `json:"side"`
	Before  int        `json:"n_before"`
	After   int        `json:"n_after"`
	Level   num.Number `json:"level_before"`
	Step    num.Number `json:"step"`
	Low     num.Number `json:"low"`
	High    num.Number `json:"high"`
	Because *string    `json:"because"`
}

func sideOf(treated bool) string {
	if treated {
		return "treated"
	}
	return "control"
}

// EffectJSON is an experiment, judged, for programs.
func EffectJSON(e history.Effect) any { return effectWire(e) }

func effectWire(e history.Effect) effectJSON {
	day := func(t time.Time) *string {
		if t.IsZero() {
			return nil
		}
		return orNull(t.Format(time.DateOnly))
	}
	j := effectJSON{Treated: e.Treated, Control: e.Control, From: *day(e.From), Settle: e.Settle, Since: day(e.Since), Until: day(e.Until), Unit: orNull(e.Scale.Unit), Basis: orNull(e.Scale.Basis),
		Effect: num.Number(e.Value), Low: num.Number(e.Low), High: num.Number(e.High), U: num.Number(e.U), PRaised: num.Number(e.PRaised), PLowered: num.Number(e.PLowered),
		PRaisedBy: num.Number(e.PRaisedMatters), PLoweredBy: num.Number(e.PLoweredMatters), Smallest: num.Number(e.Smallest), Wander: num.Number(e.Wander), Verdict: string(e.Verdict),
		Waters: []steppedJSON{}, Notes: SayAll(e.Notes), NoteCodes: []string{}}
	for _, w := range e.Waters {
		s := steppedJSON{Water: w.Water, Side: sideOf(w.Treated), Before: w.Before, After: w.After, Level: num.Number(w.Level), Step: num.Number(w.Step), Low: num.Number(w.Low), High: num.Number(w.High)}
		if w.Why != nil {
			text := Say(*w.Why)
			s.Because = &text
		}
		j.Waters = append(j.Waters, s)
	}
	for _, n := range e.Notes {
		j.NoteCodes = append(j.NoteCodes, n.Code)
	}
	return j
}

// EffectText tells a person what an experiment came to.
func EffectText(w io.Writer, e history.Effect) error {
	head, more := EffectSays(nil, e)
	lines := []string{strings.TrimSpace(head + " " + more), ""}
	for _, s := range e.Waters {
		lines = append(lines, SteppedSays(nil, s, UnitBehind(e.Scale)))
	}
	if !math.IsNaN(e.Wander) {
		lines = append(lines, "", WanderSays(nil, e))
	}
	if len(e.Notes) > 0 {
		lines = append(lines, "")
	}
	for _, n := range SayAll(e.Notes) {
		lines = append(lines, english.Say("Note: {1}", n))
	}
	_, err := fmt.Fprintln(w, strings.Join(lines, "\n"))
	return err
}

// EffectSays is an experiment in a sentence, what it did, and in more: how sure that is, and what it could have shown.
func EffectSays(l *wording.Language, e history.Effect) (s, more string) {
	if math.IsNaN(e.Value) {
		return l.Say("What was done on {1}: whether it worked cannot be told.", speech{l}.onDay(e.From)), ""
	}
	unitText := UnitBehind(e.Scale)
	show := func(v float64) string { return unit.TrueMinus(unit.Round(v, e.U)) }
	size, low, high := e.Value, e.Low, e.High
	if e.Verdict == history.Lowered {
		size, low, high = -size, -high, -low
	}
	amount := l.Say("{1} ({2} to {3}){4}", show(size), show(low), show(high), unitText)
	done := l.Say("What was done on {1}", speech{l}.onDay(e.From))
	switch e.Verdict {
	case history.Raised, history.Lowered:
		s = l.Say("{1} {2} the treated waters by {3}, beside what the control waters did.", done, string(e.Verdict), amount)
	case history.SameForNeed:
		s = l.Say("{1} made no difference that matters to the treated waters: {2}, beside what the control waters did.", done, amount)
	default:
		s = l.Say("Whether {1} did anything to the treated waters is undecided: {2}, beside what the control waters did.", strings.ToLower(done[:1])+done[1:], amount)
		switch {
		case e.PRaised > 0.9:
			more = l.Say("A rise is likely ({1} in 100).", InHundred(l, e.PRaised)) + " "
		case e.PLowered > 0.9:
			more = l.Say("A fall is likely ({1} in 100).", InHundred(l, e.PLowered)) + " "
		}
	}
	if !math.IsNaN(e.PRaisedMatters) && e.Verdict != history.SameForNeed {
		chance, which := e.PRaisedMatters, "raised"
		if e.PLoweredMatters > chance {
			chance, which = e.PLoweredMatters, "lowered"
		}
		more += l.Say("That it {1} them by more than what matters has {2} in 100.", which, InHundred(l, chance)) + " "
	}
	return s, more + l.Say("Four of five such experiments would tell an effect of {1}{2}.", unit.Round(e.Smallest, e.U), unitText)
}

// WanderSays is by how much the waters of an experiment depart from their level, for the plan of the next one.
func WanderSays(l *wording.Language, e history.Effect) string {
	return l.Say("By themselves these waters go from their level and come back by about {1}{2} (a standard deviation; a plan asks for it).", brief(e.Wander), UnitBehind(e.Scale))
}

// SteppedSays is what one water of an experiment did.
func SteppedSays(l *wording.Language, s history.Stepped, unitText string) string {
	head := fmt.Sprintf("%s (%s)", clean(s.Water), sideOf(s.Treated))
	switch {
	case s.Why != nil:
		return head + ": " + l.Say("left out;") + " " + speech{l}.words(*s.Why) + "."
	case math.IsNaN(s.Step):
		return head + ": " + l.Say("cannot be told.")
	}
	u := (s.High - s.Low) / 4
	show := func(v float64) string { return unit.TrueMinus(unit.Round(v, u)) }
	did, step, low, high := "changed", s.Step, s.Low, s.High
	switch {
	case low > 0:
		did = "rose"
	case high < 0:
		did, step, low, high = "fell", -step, -high, -low
	}
	return l.Say("{1}: about {2}{3} before, then it {4} by {5} ({6} to {7}){8}; {9} before, {10} after.", head, unit.Round(math.Max(0, s.Level), u), unitText, did, show(step), show(low), show(high), unitText, speech{l}.things(s.Before, "test"), strconv.Itoa(s.After))
}

type plannedJSON struct {
	Treated     int             `json:"treated"`
	Control     int             `json:"control"`
	WeeksBefore int             `json:"weeks_before"`
	WeeksAfter  int             `json:"weeks_after"`
	TestsAWeek  float64         `json:"tests_a_week"`
	Level       float64         `json:"level"`
	Wander      float64         `json:"wander"`
	Methods     []plannedByJSON `json:"methods"`
	Notes       []string        `json:"notes"`
}

type plannedByJSON struct {
	Method  *string    `json:"method"`
	Scatter num.Number `json:"scatter"`
	Planned num.Number `json:"smallest"`
	Tests   num.Number `json:"twice_the_tests"`
	Waters  num.Number `json:"twice_the_waters"`
	Weeks   num.Number `json:"twice_the_weeks"`
}

// PlannedJSON is a planned experiment for programs; the last method is one that does not scatter.
func PlannedJSON(x history.ExperimentPlan, by []history.PlannedBy) any {
	j := plannedJSON{x.Treated, x.Control, x.WeeksBefore, x.WeeksAfter, x.TestsAWeek, x.Level, x.Wander, []plannedByJSON{}, []string{PlannedNote(x)}}
	for _, b := range by {
		j.Methods = append(j.Methods, plannedByJSON{orNull(b.Method), num.Number(b.Scatter), num.Number(b.Planned), num.Number(b.Tests), num.Number(b.Waters), num.Number(b.Weeks)})
	}
	return j
}

// PlannedHead says what is planned.
func PlannedHead(x history.ExperimentPlan) string {
	return english.Say("{1} and {2} at about {3}, {4} before and {5} after, {6} a week of each; they wander by {7}.", things(x.Treated, "treated water"), things(x.Control, "control water"), brief(x.Level), things(x.WeeksBefore, "week"), things(x.WeeksAfter, "week"), testsAWeek(x.TestsAWeek), brief(x.Wander))
}

func testsAWeek(n float64) string {
	if n == math.Trunc(n) {
		return things(int(n), "test")
	}
	return english.Say("{1} tests", brief(n))
}

// PlannedRow is what an experiment shows by one method, in cells: as planned, with twice the tests, the waters, the weeks.
func PlannedRow(b history.PlannedBy) (name, scatter string, cells [4]string) {
	if name, scatter = clean(b.Method), brief(b.Scatter); b.Method == "" {
		name, scatter = english.Say("a method without any scatter"), "0"
	}
	for i, v := range []float64{b.Planned, b.Tests, b.Waters, b.Weeks} {
		cells[i] = brief(v)
	}
	return name, scatter, cells
}

// PlannedText tells a person what a planned experiment would show.
func PlannedText(w io.Writer, x history.ExperimentPlan, by []history.PlannedBy, scale unit.Scale) error {
	lines := []string{PlannedHead(x), "", english.Say("The smallest effect that is told in four of five such experiments, in {1}:", scale.String()), "",
		fmt.Sprintf("%-30s %10s %10s %12s %12s %12s", "by", "one test", "as planned", "twice", "twice", "twice"),
		fmt.Sprintf("%-30s %10s %10s %12s %12s %12s", "", "scatters", "", "the tests", "the waters", "the weeks")}
	for _, b := range by {
		name, scatter, c := PlannedRow(b)
		lines = append(lines, fmt.Sprintf("%-30s %10s %10s %12s %12s %12s", name, scatter, c[0], c[1], c[2], c[3]))
	}
	lines = append(lines, "", PlannedNote(x))
	_, err := fmt.Fprintln(w, strings.Join(lines, "\n"))
	return err
}

// PlannedNote says what the numbers of a plan rest on.
func PlannedNote(x history.ExperimentPlan) string {
	s := "The last row is the waters' own wandering, which no better method takes away: more waters do, and tests close to the day, if what is done works at once. What methods share cancels, as long as treated and control waters are read alike."
	if x.Treated == 1 && x.Control == 1 {
		s += " " + english.Say("With one water a side nothing tells what was done from that water having gone its own way at that time: the numbers allow for it by a convention, a second water on each side measures it.")
	}
	return s
}
