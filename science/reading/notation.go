// Package reading turns what somebody wrote down into what was seen: the text
// of a reading becomes an interval on the method's scale, or a fault that says
// what would be right. It is the only place where a method's kind decides how
// a reading is understood.
//
//	10       the value shown; on a chart "at swatch 10"; with drops ten drops
//	6..15    between two swatches, or any interval
//	<0.5     below
//	>50      above
//	7d       seven drops
package reading

import (
	"math"
	"strconv"
	"strings"

	"knownwater"
	"knownwater/science/interval"
)

// Form is which of the notation's forms a text has.
type Form int

// The forms of the notation.
const (
	Value Form = iota // 10 or 7d
	Range             // 6..15
	Under             // <0.5
	Over              // >50
)

// Typed is a reading as it was written, before any method gives it a meaning.
type Typed struct {
	Form     Form
	Low      float64 // the number; the lower one of a range
	High     float64 // the upper one of a range, else the number again
	Drops    bool    // the numbers count drops
	Decimals int     // most digits after the decimal point
}

// Parse reads the notation: spaces around numbers and signs do not matter, the
// decimal mark is a point (see Point for files that use a comma).
func Parse(text string) (Typed, error) {
	s := strings.TrimSpace(text)
	if s == "" {
		return Typed{}, fault("no reading", wantNotation)
	}
	switch {
	case strings.Contains(s, "..."):
		return Typed{}, fault("%s has three dots", "two dots between the ends of an interval, such as 6..15", Quote(s))
	case strings.Contains(s, ".."):
		return parseRange(s)
	case s[0] == '<':
		return parseOne(Under, s, s[1:])
	case s[0] == '>':
		return parseOne(Over, s, s[1:])
	}
	return parseOne(Value, s, s)
}

const wantNotation = "a reading such as 10, 6..15, <0.5, >50 or 7d"

func parseOne(form Form, whole, text string) (Typed, error) {
	n, err := parseEnd(whole, text)
	if err != nil {
		return Typed{}, err
	}
	return Typed{Form: form, Low: n.value, High: n.value, Drops: n.drops, Decimals: n.decimals}, nil
}

func parseRange(s string) (Typed, error) {
	left, right, _ := strings.Cut(s, "..")
	a, err := parseEnd(s, left)
	if err != nil {
		return Typed{}, err
	}
	b, err := parseEnd(s, right)
	if err != nil {
		return Typed{}, err
	}
	// "6..8d" counts drops at both ends: nobody mixes drops and concentrations.
	t := Typed{Form: Range, Low: a.value, High: b.value,
		Drops: a.drops || b.drops, Decimals: max(a.decimals, b.decimals)}
	switch {
	case a.value > b.value:
		return Typed{}, fault("%s runs backwards", "the lower end first: %s..%s", Quote(s), tidy(right), tidy(left))
	case a.value == b.value:
		return Typed{}, fault("%s has two equal ends", "one value: %s", Quote(s), tidy(left))
	case t.Drops && (a.value < 0 || a.value != math.Trunc(a.value) || b.value != math.Trunc(b.value)): // ".1..1d"
		return Typed{}, fault("%s is no count of drops", "whole numbers of drops, such as 6..8d", Quote(s))
	}
	return t, nil
}

func tidy(s string) string { return strings.TrimSpace(s) }

type end struct {
	value    float64
	decimals int
	drops    bool
}

// parseEnd reads one number of a reading, with its d for drops.
func parseEnd(whole, text string) (end, error) {
	s := strings.TrimSpace(text)
	drops := false
	if n := len(s); n > 1 && (s[n-1] == 'd' || s[n-1] == 'D') {
		drops = true
		s = strings.TrimSpace(s[:n-1])
	}
	v, decimals, err := Number(s)
	if err != nil {
		return end{}, notNumber(whole, s, err)
	}
	if drops && (v < 0 || v != math.Trunc(v)) {
		return end{}, fault("%s is no count of drops", "a whole number of drops, such as 7d", Quote(whole))
	}
	return end{v, decimals, drops}, nil
}

// notNumber names the likely slip behind a text that is not in the notation.
func notNumber(whole, part string, err error) error {
	if err == errRange {
		return fault("%s is too large a number", wantNotation, Quote(whole))
	}
	if part == "" {
		return fault("%s lacks a number", wantNotation, Quote(whole))
	}
	for _, dash := range []string{"–", "—", "-", "…", " to "} {
		a, b, found := strings.Cut(part, dash)
		_, _, errA := Number(tidy(a))
		_, _, errB := Number(tidy(b))
		if found && errA == nil && errB == nil {
			return fault("%s is no reading", "two dots for an interval: %s..%s", Quote(whole), tidy(a), tidy(b))
		}
	}
	if strings.Contains(part, ",") {
		return fault("%s has a comma in a number", "a decimal point here: %s", Quote(whole), strings.ReplaceAll(whole, ",", "."))
	}
	return fault("%s is no reading", wantNotation, Quote(whole))
}

// Plain is what was written taken for what it says: a value exact, an interval as it
// stands. It is how a signal is understood, which no method gives a meaning.
func (t Typed) Plain() interval.Interval {
	switch t.Form {
	case Under:
		return interval.Below(t.Low)
	case Over:
		return interval.Above(t.Low)
	}
	return interval.Interval{Low: t.Low, High: t.High}
}

// Point rewrites a reading from a file with decimal commas so that it has
// decimal points: 6,5..15 becomes 6.5..15.
func Point(text string) string { return strings.ReplaceAll(text, ",", ".") }

// String writes the reading in the notation; Parse reads the same back.
func (t Typed) String() string {
	mark := ""
	if t.Drops {
		mark = "d"
	}
	switch t.Form {
	case Range:
		return Format(t.Low) + mark + ".." + Format(t.High) + mark
	case Under:
		return "<" + Format(t.Low) + mark
	case Over:
		return ">" + Format(t.Low) + mark
	}
	return Format(t.Low) + mark
}

// Format writes a number in the notation: shortest decimal that reads back the same.
func Format(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// Quote shows what was found, shortened where it is long.
func Quote(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "…"
	}
	return strconv.Quote(s)
}

func fault(found, want string, values ...any) error {
	return knownwater.Fault{Found: found, Want: want}.Of(values...)
}
