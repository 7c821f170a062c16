// Package render puts numbers, times, units and small marks into the words and the
// markup of pages. It rounds and words; it computes nothing.
package render

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"time"

	"knownwater"
	"knownwater/report"
	"knownwater/science/unit"
	"knownwater/web/form"
)

// plain are what every template may call, each named by what it gives, beside what hangs on
// its reader (Reader.Funcs). What only one subject's pages need stands with them.
var plain = template.FuncMap{
	// words
	"words":    report.Words,
	"allWords": report.WordsAll,
	// numbers
	"number":      Number,
	"exact":       func(v *float64) string { return form.Exactly(*v) },
	"twoDigits":   TwoDigits,
	"twoDecimals": func(v float64) string { return Decimals(v, 2) },
	"whole":       func(v float64) string { return Number(math.Round(v)) },
	"percent":     func(share float64) string { return Decimals(100*share, 0) },
	"percent1":    func(share float64) string { return Decimals(100*share, 1) },
	"money":       func(v float64) string { return fmt.Sprintf("%.2f", v) },
	"negative":    func(v float64) float64 { return -v },
	"plus":        func(a, b int) int { return a + b },
	"valueWithU":  Value,
	"interval":    Interval,
	// units
	"scaleText": func(s unit.Scale) string { return strings.TrimSpace(s.String()) },
	"unitText":  Unit,
	"withUnit":  WithUnit,
	"hasNumber": HasNumber,
	// times
	"minutesText":  minutesText,
	"hoursText":    hoursText,
	"minutesClock": minutesClock,
	"isPast":       IsPast,
	// words
	"bytes":    Bytes,
	"capital":  Capital,
	"text":     func(v any) string { return fmt.Sprint(v) },
	"join":     strings.Join,
	"grouped":  knownwater.Grouped,
	"list":     func(xs ...string) []string { return xs },
	"isOwner":  func(w knownwater.Who) bool { return w.Role == knownwater.Owner },
	"progress": progress,
	"field":    form.NewField,
}

func minutesText(v float64) string {
	if v < 60 {
		return fmt.Sprintf("%.0f min", v)
	}
	n := int(v + .5)
	return fmt.Sprintf("%d h %02d min", n/60, n%60)
}

// hoursText is a time in hours: minutes below two of them.
func hoursText(h float64) string {
	if h < 2 {
		return fmt.Sprintf("%.0f minutes", math.Ceil(60*h))
	}
	return TwoDigits(h) + " hours"
}

// minutesClock is a time after a beginning, as a clock shows it.
func minutesClock(d time.Duration) string {
	n := int(d.Seconds() + .5)
	if n < 3600 {
		return fmt.Sprintf("%d:%02d", n/60, n%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", n/3600, n/60%60, n%60)
}

// IsPast says whether a day, written as 2026-03-01, is over now; no day never is.
func IsPast(day string, now time.Time) bool { return day != "" && day < now.Format(time.DateOnly) }
