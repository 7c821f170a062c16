package intake

import (
	"fmt"
	"strings"

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

// point rewrites a number or reading with decimal points; the two texts say
// what is wrong with it and what would be right.
func (m mark) point(text string) (rewritten, found, want string) {
	comma := strings.Contains(text, ",")
	dot := strings.Contains(strings.ReplaceAll(text, "..", ""), ".")
	switch {
	case comma && dot:
		return "", reading.Quote(text) + " has both a point and a comma", "one decimal mark and no mark between thousands"
	case m.comma && dot:
		return "", reading.Quote(text) + " has a decimal point", "a decimal comma, as the file's other numbers have"
	case comma && !m.comma:
		return "", reading.Quote(text) + " has a comma", "a decimal point, as the file's other numbers have, and no mark between thousands"
	case comma && m.ambiguous:
		return "", reading.Quote(text) + " could be thousands or a decimal comma",
			strings.ReplaceAll(text, ",", "") + " or " + reading.Point(text) + " (in the whole file)"
	case comma:
		return reading.Point(text), "", ""
	}
	return text, "", ""
}

// number is a distinct text of a numeric column, understood.
type number struct {
	value float64
	unit  string // of a level: what stood behind it
	odd   *odd   // where it is no such number, or something was made of it
}

func wrongNumber(found, want string) number { return number{odd: &odd{found: found, want: want}} }

func (n number) fault() (found, want string) { return cell{odd: n.odd}.fault() }

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
	t, found, want := m.point(text)
	if found != "" {
		return wrongNumber(found, want)
	}
	v, _, err := reading.Number(t)
	switch {
	case err != nil:
		return wrongNumber(fmt.Sprintf("%s is %v", reading.Quote(text), err), d.want)
	case v < 0, d.over && v == 0:
		return wrongNumber(reading.Quote(text), d.want)
	}
	return number{value: v}
}

// levels reads levels, which may have their unit behind them.
func (m mark) levels(cells []cell, d demand) []number {
	out := make([]number, len(cells))
	for i, c := range cells {
		if found, want := c.fault(); found != "" {
			out[i].odd = &odd{found: found, want: want}
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
	t, found, better := m.point(text)
	if found != "" {
		return wrongNumber(found, better)
	}
	v, _, err := reading.Number(t)
	if err != nil {
		return wrongNumber(fmt.Sprintf("%s is %v", reading.Quote(text), err), want)
	}
	return number{value: v}
}
