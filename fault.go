package knownwater

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// Plain is text of unknown origin as it may be printed on a terminal or in a line
// of a log: what would steer the terminal, hide text or turn its direction is
// written as an escape, \u001b or \u202e (also right within JSON), and so are bytes
// that are no text. Whoever
// prints what stands in somebody's file prints it so.
func Plain(s string) string {
	if !strings.ContainsFunc(s, Steers) && utf8.ValidString(s) {
		return s
	}
	var b strings.Builder
	for len(s) > 0 {
		r, n := utf8.DecodeRuneInString(s)
		switch {
		case r == utf8.RuneError && n <= 1:
			fmt.Fprintf(&b, `\x%02x`, s[0])
		case Steers(r):
			for _, unit := range utf16.Encode([]rune{r}) {
				fmt.Fprintf(&b, `\u%04x`, unit)
			}
		default:
			b.WriteRune(r)
		}
		s = s[n:]
	}
	return b.String()
}

// Steers says of a character that it is no text: control and format characters,
// the ends of lines and what sets the direction of writing among them.
func Steers(r rune) bool {
	if r < utf8.RuneSelf { // most text is: no table is looked at for it
		return r < ' ' || r == 0x7f
	}
	return unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) && r != '\u00ad'
}

// Of puts values into what was found and then into what would be right, by the verbs of
// package fmt; a text that has no verb stays as it is.
func (f Fault) Of(values ...any) Fault {
	n := verbsIn(f.Found, len(values))
	f.Found, f.found = placing(f.Found, values[:n])
	f.Want, f.want = placing(f.Want, values[n:])
	return f
}

// In is the fault as say has it in another language.
func (f Fault) In(say func(form string, parts ...string) string) Fault {
	f.Found, f.Want = f.found.said(f.Found, say), f.want.said(f.Want, say)
	return f
}

// Error gives the fault on one line: file:row:column: what: what would be right.
func (f Fault) Error() string { return Plain(f.line()) }

func (f Fault) line() string {
	var place []string
	if f.File != "" {
		place = append(place, f.File)
	}
	if f.Row > 0 {
		place = append(place, fmt.Sprint(f.Row))
	}
	if f.Column != "" {
		place = append(place, f.Column)
	}
	s := f.Found
	if len(place) > 0 {
		s = strings.Join(place, ":") + ": " + s
	}
	if f.Want != "" {
		s += ": " + f.Want
	}
	return s
}

// Faults are all the faults of one input, so that a person can mend them in one go.
type Faults []Fault

// MostFaults is how many faults are listed before the rest are only counted.
const MostFaults = 50

func (fs Faults) Error() string {
	var b strings.Builder
	for i, f := range fs {
		if i == MostFaults {
			fmt.Fprintf(&b, "and %d more like these\n", len(fs)-i)
			break
		}
		b.WriteString(f.Error())
		b.WriteByte('\n')
	}
	return strings.TrimSuffix(b.String(), "\n")
}
