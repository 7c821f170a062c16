package intake

import (
	"strings"

	"knownwater"
	"knownwater/science/reading"
)

// mark is the decimal mark of a file: decided from all its numbers, never
// from one cell.
type mark struct {
	comma     bool // decimal comma
	ambiguous bool // every comma could as well group thousands
}

// markOf looks at every distinct number of a file. A text with both marks, or
// with the rarer one, is a fault of its own later.
func markOf(columns ...[]string) mark {
	commas, points, likeThousands := 0, 0, 0
	for _, texts := range columns {
		for _, t := range texts {
			// "1,234..2,345" is two numbers, and ".." is no decimal point.
			for _, n := range strings.Split(t, "..") {
				comma, point := strings.Contains(n, ","), strings.Contains(n, ".")
				switch {
				case comma && !point:
					commas++
					if groupsThousands(n) {
						likeThousands++
					}
				case point && !comma:
					points++
				}
			}
		}
	}
	m := mark{comma: commas > points}
	m.ambiguous = m.comma && likeThousands == commas
	return m
}

// groupsThousands says whether a comma in a number could group thousands: 1,234.
func groupsThousands(n string) bool {
	whole, rest, _ := strings.Cut(strings.Trim(n, "<>d -+"), ",")
	return len(rest) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0' && !strings.Contains(rest, ",")
}

// point rewrites a number or reading with decimal points, or says what is wrong with it.
func (m mark) point(text string) (rewritten string, wrong knownwater.Fault) {
	comma := strings.Contains(text, ",")
	dot := strings.Contains(strings.ReplaceAll(text, "..", ""), ".")
	quoted := reading.Quote(text)
	switch {
	case comma && dot:
		return "", knownwater.Fault{Found: "%s has both a point and a comma", Want: "one decimal mark and no mark between thousands"}.Of(quoted)
	case m.comma && dot:
		return "", knownwater.Fault{Found: "%s has a decimal point", Want: "a decimal comma, as the file's other numbers have"}.Of(quoted)
	case comma && !m.comma:
		return "", knownwater.Fault{Found: "%s has a comma", Want: "a decimal point, as the file's other numbers have, and no mark between thousands"}.Of(quoted)
	case comma && m.ambiguous:
		return "", knownwater.Fault{Found: "%s could be thousands or a decimal comma", Want: "%s or %s (in the whole file)"}.
			Of(quoted, strings.ReplaceAll(text, ",", ""), reading.Point(text))
	case comma:
		return reading.Point(text), knownwater.Fault{}
	}
	return text, knownwater.Fault{}
}

// number is a distinct text of a numeric column, understood.
type number struct {
	value float64
	unit  string // of a level: what stood behind it
	odd   *odd   // where it is no such number, or something was made of it
}

func wrongNumber(found, want string, values ...any) number {
	return number{odd: wrongCell(found, want, values...).odd}
}

func (n number) fault() knownwater.Fault { return cell{odd: n.odd}.fault() }

// demand is what a numeric column allows.
type demand struct {
	want     string
	over     bool    // the number must be above 0, else 0 will do
	required bool    // an empty cell is a fault
	empty    float64 // else it means this
}

func (m mark) numbers(texts []string, d demand) []number {
	out := make([]number, len(texts))
	for i, t := range texts {
		out[i] = m.number(t, d)
	}
	return out
}

func (m mark) number(text string, d demand) number {
	if text == "" {
		if d.required {
			return wrongNumber("nothing", d.want)
		}
		return number{value: d.empty}
	}
	t, wrong := m.point(text)
	if wrong.Found != "" {
		return number{odd: &odd{fault: wrong}}
	}
	v, _, err := reading.Number(t)
	switch {
	case err != nil:
		return wrongNumber("%s is %v", d.want, reading.Quote(text), err)
	case v < 0, d.over && v == 0:
		return wrongNumber(reading.Quote(text), d.want)
	}
	return number{value: v}
}

// levels reads levels, which may have their unit behind them.
func (m mark) levels(cells []cell, d demand) []number {
	out := make([]number, len(cells))
	for i, c := range cells {
		if c.bad() {
			out[i].odd = c.odd
			continue
		}
		out[i] = m.number(c.text, d)
		out[i].unit = c.unit
		if r := c.read(); !r.plain() && out[i].odd == nil {
			out[i].odd = &odd{readAs: r}
		}
	}
	return out
}

// signed reads signals and other numbers of either sign.
func (m mark) signed(text, want string) number {
	if text == "" {
		return wrongNumber("nothing", want)
	}
	t, wrong := m.point(text)
	if wrong.Found != "" {
		return number{odd: &odd{fault: wrong}}
	}
	v, _, err := reading.Number(t)
	if err != nil {
		return wrongNumber("%s is %v", want, reading.Quote(text), err)
	}
	return number{value: v}
}
