package report

import (
	"fmt"
	"math"
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
	"knownwater/wording"
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
	}
	if !h.Next.IsZero() {
		j.Next, j.TestBy = day(h.Next), day(h.TestBy)
	}
	return j
}

// HoldsOf a water in sentences, one for each range and stretch.
func HoldsOf(l *wording.Language, h history.History, water string) (lines []string) {
	s, _ := h.ScaleOf(water)
	unitText := UnitBehind(s)
	for _, x := range h.Holds {
		if x.Water == water {
			lines = append(lines, clean(water)+", "+holdSays(speech{l}, x, unitText))
		}
	}
	return lines
}

// holdSays is how a water kept to a range, and how long it may go untested.
func holdSays(l speech, h history.Hold, unitText string) string {
	s := l.Say("{1} to {2}{3}", three(h.Range.Low), three(h.Range.High), unitText)
	if h.Range.Need != "" {
		s = fmt.Sprintf("%s (%s)", clean(h.Range.Need), s)
	}
	if h.Why != nil {
		s = l.Say("{1}, from {2} to {3}: {4}.", s, l.onDay(h.From), l.onDay(h.To), l.words(*h.Why))
	} else {
		s += ": " + l.Say("from {1} to {2} it was inside {3}.", l.onDay(h.From), l.onDay(h.To), shareOf(l, h))
	}
	if h.Next.IsZero() {
		return s
	}
	if h.Now < 1-h.Range.Sure {
		return s + " " + l.Say("By now it is outside (inside with {1} in 100).", InHundred(l.Language, h.Now))
	}
	s += " " + l.Say("On {1}, the next day of testing at its usual pace, it is inside with {2} in 100", l.onDay(h.Next), InHundred(l.Language, h.Inside))
	if h.Inside < 0.995 {
		s += " " + l.Say("(below {1}, above {2})", InHundred(l.Language, h.Below), InHundred(l.Language, h.Above))
	}
	sure := InHundred(l.Language, h.Range.Sure)
	switch {
	case h.Now < h.Range.Sure:
		s += ". " + l.Say("Not even on the day of the last test is it inside with {1} in 100 ({2} are): test again now.", sure, InHundred(l.Language, h.Now))
	case h.Beyond:
		s += ". " + l.Say("{1} in 100 still hold on {2}, which is as far ahead as this log can tell.", sure, l.onDay(h.TestBy))
	case h.TestBy.Before(h.To):
		s += ". " + l.Say("A day after the last test it is inside with less than {1} in 100: test every day, or with a method that scatters less.", sure)
	default:
		s += ". " + l.Say("To be sure of it with {1} in 100, test by {2}.", sure, l.onDay(h.TestBy))
	}
	return s
}

// shareOf is how long it was inside, in words.
func shareOf(l speech, h history.Hold) string {
	a, b := math.Round(100*h.Low), math.Round(100*h.High)
	switch {
	case b == 0:
		return l.Say("at no time")
	case a == 100:
		return l.Say("all the time")
	}
	return l.Say("for {1} of the time ({2} to {3} %)", ofHundred(h.Share), fmt.Sprintf("%.0f", a), fmt.Sprintf("%.0f", b))
}
