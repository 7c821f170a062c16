package intake

import (
	"strconv"
	"strings"
	"time"
)

// readFormats finds the cell formats that show dates and times.
func (w *workbook) readFormats() error {
	own := map[string]bool{}
	cellFormats := false
	return w.each("xl/styles.xml", func(t *tags) error {
		switch {
		case t.name == "numFmt" && !t.end && len(own) < mostColumns:
			own[t.attr("numFmtId")] = showsDate(t.attr("formatCode"))
		case t.name == "cellXfs":
			cellFormats = !t.end
		case t.name == "xf" && !t.end && cellFormats && len(w.dates) < 1<<16:
			id := t.attr("numFmtId")
			n, _ := strconv.Atoi(id)
			date, mine := own[id]
			w.dates = append(w.dates, mine && date || !mine && (n >= 14 && n <= 22 || n >= 27 && n <= 36 || n >= 45 && n <= 47 || n >= 50 && n <= 58))
		}
		return nil
	})
}

// showsDate says whether a number format has a day, a month, a year or a time in
// it, outside of what it quotes.
func showsDate(code string) bool {
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case '\\', '_', '*':
			i++
		case '"':
			for i++; i < len(code) && code[i] != '"'; i++ {
			}
		case '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				return false
			}
			if in := strings.ToLower(code[i+1 : i+end]); strings.Trim(in, "hms") == "" && in != "" {
				return true // elapsed time
			}
			i += end
		case 'd', 'D', 'm', 'M', 'y', 'Y', 'h', 'H', 's', 'S':
			return true
		}
	}
	return false
}

// number is a stored number as spreadsheets show it: with fifteen digits, or as
// the date that its format makes of it.
func (w *workbook) number(text string, format int) string {
	if format >= 0 && format < len(w.dates) && w.dates[format] {
		if v, err := strconv.ParseFloat(text, 64); err == nil && v >= 0 && v < 3e6 {
			return w.date(v)
		}
	}
	return fifteenDigits(text)
}

// date is a count of days as a date, a time of day, or both.
func (w *workbook) date(days float64) string {
	start := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if w.from04 {
		start = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	at := start.AddDate(0, 0, int(days)).Add(time.Duration((days - float64(int(days))) * 24 * float64(time.Hour)).Round(time.Second))
	switch {
	case days == float64(int(days)):
		return at.Format("2006-01-02")
	case days < 1:
		return at.Format("15:04:05")
	}
	return at.Format("2006-01-02 15:04:05")
}

// fifteenDigits shows a stored number as spreadsheets do: 0.1+0.2 is stored as
// 0.30000000000000004 and would look like a display with seventeen decimals.
func fifteenDigits(cell string) string {
	if len(cell) <= 16 {
		return cell
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		return cell
	}
	return strconv.FormatFloat(v, 'g', 15, 64)
}
