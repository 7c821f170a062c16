package report

import (
	"fmt"
	"math"
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
)

type holdJSON struct {
	Analyte   *string    `json:"analyte"`
	Water     string     `json:"water"`
	Need      string     `json:"need"`
	NeedLow   num.Number `json:"need_low"`
	NeedHigh  num.Number `json:"need_high"`
	From      string     `json:"from"`
	To        string     `json:"to"`
	N         int        `json:"n"`
	Share     num.Number `json:"share"`
	Low       num.Number `json:"low"`
	High      num.Number `json:"high"`
	PNow      num.Number `json:"p_inside"`
	Next      *string    `json:"next"`
	PBelow    num.Number `json:"p_below_next"`
	PInside   num.Number `json:"p_inside_next"`
	PAbove    num.Number `json:"p_above_next"`
	Sure      num.Number `json:"sure"`
	TestBy    *string    `json:"test_by"`
	ByAtLeast bool       `json:"test_by_at_least"`
	Because   *string    `json:"because"`
}

func holdOf(h history.Hold, analyte *string) holdJSON {
	day := func(t time.Time) *string { return orNull(t.Format(time.DateOnly)) }
	j := holdJSON{Analyte: analyte, Water: h.Water, Need: h.Range.Need, NeedLow: num.Number(h.Range.Low), NeedHigh: num.Number(h.Range.High), From: *day(h.From), To: *day(h.To), N: h.N,
		Share: num.Number(h.Share), Low: num.Number(h.Low), High: num.Number(h.High), PNow: num.Number(h.Now), PBelow: num.Number(h.Below), PInside: num.Number(h.Inside),
		PAbove: num.Number(h.Above), Sure: num.Number(h.Range.Sure), ByAtLeast: h.Beyond}
	if h.Why != nil {
		text := Say(*h.Why)
		j.Because = &text
	} else if h.Last {
		j.Next, j.TestBy = day(h.Next), day(h.TestBy)
	}
	return j
}

// HoldsOf a water in sentences, one for each range and stretch.
func HoldsOf(h history.History, water string) (lines []string) {
	s, _ := h.ScaleOf(water)
	unitText := UnitBehind(s)
	for _, x := range h.Holds {
		if x.Water == water {
			lines = append(lines, capital(clean(water))+", "+holdSays(x, unitText))
		}
	}
	return lines
}

// holdSays is how a water kept to a range, and how long it may go untested.
func holdSays(h history.Hold, unitText string) string {
	s := fmt.Sprintf("%s to %s%s", three(h.Range.Low), three(h.Range.High), unitText)
	if h.Range.Need != "" {
		s = fmt.Sprintf("%s (%s)", clean(h.Range.Need), s)
	}
	if h.Why != nil {
		return fmt.Sprintf("%s, from %s to %s: %s.", s, onDay(h.From), onDay(h.To), Words(*h.Why))
	}
	s += fmt.Sprintf(": from %s to %s it was inside %s.", onDay(h.From), onDay(h.To), shareOf(h))
	if !h.Last {
		return s
	}
	if h.Now < 1-h.Range.Sure {
		return s + fmt.Sprintf(" By now it is outside (inside with %s in 100).", InHundred(h.Now))
	}
	s += fmt.Sprintf(" On %s, the next day of testing at its usual pace, it is inside with %s in 100", onDay(h.Next), InHundred(h.Inside))
	if h.Inside < 0.995 {
		s += fmt.Sprintf(" (below %s, above %s)", InHundred(h.Below), InHundred(h.Above))
	}
	sure := InHundred(h.Range.Sure)
	switch {
	case h.Now < h.Range.Sure:
		s += fmt.Sprintf(". Not even on the day of the last test is it inside with %s in 100 (%s are): test again now.", sure, InHundred(h.Now))
	case h.Beyond:
		s += fmt.Sprintf(". %s in 100 still hold on %s, which is as far ahead as this log can tell.", sure, onDay(h.TestBy))
	case h.TestBy.Before(h.To):
		s += fmt.Sprintf(". A day after the last test it is inside with less than %s in 100: test every day, or with a method that scatters less.", sure)
	default:
		s += fmt.Sprintf(". To be sure of it with %s in 100, test by %s.", sure, onDay(h.TestBy))
	}
	return s
}

// shareOf is how long it was inside, in words.
func shareOf(h history.Hold) string {
	a, b := math.Round(100*h.Low), math.Round(100*h.High)
	switch {
	case b == 0:
		return "at no time"
	case a == 100:
		return "all the time"
	}
	return fmt.Sprintf("for %s of the time (%.0f to %.0f %%)", ofHundred(h.Share), a, b)
}
