package intake

import (
	"regexp"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
)

// cell is a text of the table brought into the notation, with what was done to
// it. Marks of decimals stay as they are: they are settled with the whole file.
type cell struct {
	text    string // in the notation, without a unit
	unit    string // that stood behind the number
	notRead bool   // it says that nothing was read
	dashed  bool   // it was an interval with a dash or words, of which drops or not is not said
	odd     *odd   // most cells are plain
}

// odd is what there is to say of a cell.
type odd struct {
	readAs                  // what was made of it, where that is more than dropping a unit
	fault  knownwater.Fault // where it is nothing
}

// readAs is how a cell was understood; nothing where it is plain.
type readAs struct{ typed, as string }

func (r readAs) plain() bool { return r == readAs{} }

func (r readAs) note() note.Note {
	return note.New("cell-read-as").Name("typed", r.typed).Name("as", r.as)
}

func wrongCell(found, want string, values ...any) cell {
	return cell{odd: &odd{fault: knownwater.Fault{Found: found, Want: want}.Of(values...)}}
}

// fault is what is wrong with a cell, without a place; empty where nothing is.
func (c cell) fault() knownwater.Fault {
	if c.odd == nil {
		return knownwater.Fault{}
	}
	return c.odd.fault
}

// bad says whether a cell is nothing.
func (c cell) bad() bool { return c.fault().Found != "" }

// read is how the cell was understood, where that is not plain.
func (c cell) read() readAs {
	if c.odd == nil {
		return readAs{}
	}
	return c.odd.readAs
}

// notRead are the ways of saying that nothing was read.
var notRead = map[string]bool{"": true, "-": true, "--": true, "–": true, "—": true, "n/a": true, "na": true, "n.a.": true, "#n/a": true, "not read": true, "not tested": true}

const numeral = `[+\-−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+\-]?\d+)?`

var (
	fromTo  = regexp.MustCompile(`^(?i:between\s+)?(` + numeral + `\s*[dD]?)(\s*[^\d\s.,+\-−–—…]*[^\d.,+\-−–—…]*?)\s*(-|−|–|—|…|\s(?i:to|and)\s)\s*(` + numeral + `\s*[dD]?)$`)
	between = regexp.MustCompile(`^(?i:between)\s`)
	atMost  = regexp.MustCompile(`^(?:<=|=<|≤|(?i:at most|below|under|less than|up to)\s)\s*`)
	atLeast = regexp.MustCompile(`^(?:>=|=>|≥|(?i:at least|above|over|more than|greater than)\s)\s*`)
	drops   = regexp.MustCompile(`^(` + numeral + `)\s*(?i:drops?)$`)
	grouped = regexp.MustCompile(`\d[ \x{00a0}\x{202f}\x{2009}'’]\d{3}\b`)
	named   = `(?i:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|mär|mai|okt|dez)[a-z]*\.?`
	dateISO = regexp.MustCompile(`^\d{4}-\d{1,2}-\d{1,2}(?:[T ]\d{1,2}:\d{2}.*)?$`)
	dateish = regexp.MustCompile(`^(?:\d{1,4}[./-]\d{1,2}[./-]\d{2,4}|\d{1,2}[./ -]{1,2}` + named + `(?:[./ -]{1,2}\d{2,4})?|` + named + `[./ -]{1,2}\d{1,4}|\d{1,2}:\d{2}(?::\d{2})?)$`)
)

var (
	plainSpaces = strings.NewReplacer("\u00a0", " ", "\u202f", " ")
	ungroup     = strings.NewReplacer(" ", "", "'", "", "’", "", "\u2009", "")
)

// isDate says whether a text is a date or a time, as spreadsheets make them of
// 6-15 or 6.5.
func isDate(text string) bool { return dateISO.MatchString(text) || dateish.MatchString(text) }

const wantNoDate = "a spreadsheet takes such cells for dates (6-15 for the 15th of June): format the column as text and type it again, such as 6..15"

// readingCell brings a cell of a reading into the notation of readings.
func readingCell(typed string) cell {
	text := strings.TrimSpace(plainSpaces.Replace(typed))
	if notRead[strings.ToLower(text)] {
		return cell{notRead: true}
	}
	if isDate(text) {
		return wrongCell("%s is a date", wantNoDate, reading.Quote(text))
	}
	if low := strings.ToLower(text); low == "nd" || low == "n.d." || low == "not detected" {
		return wrongCell("%s does not say below what", "<0.5 for below 0.5, or the lowest swatch", reading.Quote(text))
	}
	c := cell{text: text}
	if number, u := splitUnit(text); u != "" {
		c.text, c.unit = number, u
	}
	// Plain notation is let alone: 1e-3 is no interval.
	if plain(c.text) {
		return c
	}
	whole := c.text
	switch m := fromTo.FindStringSubmatch(whole); {
	case m != nil:
		low, inside, mark, high := strings.TrimSpace(m[1]), strings.TrimSpace(m[2]), strings.TrimSpace(m[3]), strings.TrimSpace(m[4])
		if inside != "" && !strings.EqualFold(inside, c.unit) || strings.EqualFold(mark, "and") && !between.MatchString(whole) {
			break // two readings in a cell, perhaps
		}
		c.text = low + ".." + high
		c.dashed = !strings.ContainsAny(c.text, "dD")
	case drops.MatchString(whole):
		c.text = drops.FindStringSubmatch(whole)[1] + "d"
	case atMost.MatchString(whole):
		c.text = "<" + atMost.ReplaceAllString(whole, "")
	case atLeast.MatchString(whole):
		c.text = ">" + atLeast.ReplaceAllString(whole, "")
	case grouped.MatchString(whole):
		bare := ungroup.Replace(whole)
		return wrongCell("%s has a mark between thousands, or is two numbers", "%s, or one reading a cell", reading.Quote(text), bare)
	}
	if c.text != whole {
		c.odd = &odd{readAs: readAs{short(typed), c.text}}
	}
	return c
}

// short is a text as a note quotes it.
func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

var plainReading = regexp.MustCompile(`^[<>]?\s*` + numeral + `\s*[dD]?(?:\s*\.\.\s*` + numeral + `\s*[dD]?)?$`)

// plain says whether a text is in the notation already, whatever its marks.
func plain(text string) bool { return plainReading.MatchString(text) }

// levelCell brings a cell of a level into a plain number with its unit.
func levelCell(typed string) cell {
	text := strings.TrimSpace(plainSpaces.Replace(typed))
	if strings.EqualFold(text, "blank") {
		return cell{text: "0", odd: &odd{readAs: readAs{short(text), "0"}}}
	}
	if isDate(text) {
		return wrongCell("%s is a date", wantNoDate, reading.Quote(text))
	}
	if number, u := splitUnit(text); u != "" {
		return cell{text: number, unit: u}
	}
	if grouped.MatchString(text) {
		bare := ungroup.Replace(text)
		return wrongCell("%s has a mark between thousands, or is two numbers", "%s, or one number a cell", reading.Quote(text), bare)
	}
	return cell{text: text}
}

// splitUnit parts "5 mg/L" into number and unit; u is "" where no unit stands
// behind.
func splitUnit(text string) (number, u string) {
	// The unit begins at the first letter behind the last digit that stands before
	// any unit could: "<0.5 ppm", "6-15 mg/L NO3", "1e-3 mg/L".
	for i := 1; i < len(text); i++ {
		c := text[i]
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= 0x80 || c == '('
		if !letter || !(text[i-1] == ' ' || text[i-1] >= '0' && text[i-1] <= '9' || text[i-1] == '.') || !digitBefore(text[:i]) {
			continue
		}
		if behind := strings.Trim(text[i:], "()"); isUnit(behind) {
			return strings.TrimSpace(text[:i]), behind
		}
	}
	return text, ""
}

func digitBefore(text string) bool { return strings.ContainsAny(text, "0123456789") }
