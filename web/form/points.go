package form

import (
	"regexp"
	"strings"
)

// written is a number as somebody writes it, with its marks.
var written = regexp.MustCompile(`\d[\d.,]*\d|\d`)

// WithPoints is a reading with a decimal point where somebody wrote a comma: 6,5..15,2 means
// 6.5..15.2. Groups of thousands are never guessed: a number with both marks, or with one
// twice, stays as it is, and so does 1,500 from somebody who writes points (comma false), to
// whom it may be fifteen hundred. What stays is refused as a reading, with what would be right.
func WithPoints(text string, comma bool) string {
	ends := strings.Split(text, "..")
	for i, end := range ends {
		ends[i] = written.ReplaceAllStringFunc(end, func(n string) string {
			whole, part, found := strings.Cut(n, ",")
			switch {
			case !found, strings.Contains(part, ","), strings.Contains(n, "."):
				return n
			case !comma && len(part) == 3 && whole != "0" && len(whole) <= 3:
				return n
			}
			return whole + "." + part
		})
	}
	return strings.Join(ends, "..")
}

// Points writes the readings in fields with points, for somebody who writes commas or not.
func (f *Form) Points(comma bool, names ...string) {
	for _, name := range names {
		for i, text := range f.Values[name] {
			f.Values[name][i] = WithPoints(text, comma)
		}
	}
}
