package web

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"

	"knownwater/bench"
	"knownwater/science/plan"
	"knownwater/science/unit"
)

// funcs are what templates may call: wording and rounding, no arithmetic.
var funcs = template.FuncMap{
	"day":      func(t time.Time) string { return dash(t, "2 January 2006") },
	"when":     func(t time.Time) string { return dash(t, "2 Jan 2006, 15:04") },
	"clock":    func(t time.Time) string { return dash(t, "15:04:05") },
	"num":      num,
	"money":    func(v float64) string { return fmt.Sprintf("%.2f", v) },
	"scale":    func(s unit.Scale) string { return strings.TrimSpace(s.String()) },
	"unit":     unitWords,
	"withUnit": withUnit,
	"measured": measured,
	"percent":  func(v float64) string { return fmt.Sprintf("%.0f", 100*v) },
	"field":    newField,
	"join":     strings.Join,
	"add":      func(a, b int) int { return a + b },
	"isOwner":  func(w bench.Who) bool { return w.Role == bench.Owner },
	"stamp":    func(s bench.Stamp) string { return stampWords(s) },
	"minutes":  minutes,
	"count":    count,
	"str":      func(v any) string { return fmt.Sprint(v) },
	"bar":      bar,
	"mmss":     mmss,
	"hours":    hours,
	"two":      two,
	"less":     func(v float64) float64 { return -v },
	"step":     stepWords,
	"lasts":    func(s plan.Step) string { return strings.TrimPrefix(strings.TrimPrefix(stepWords(s), s.Name), ", ") },
	"sub1":     func(v float64) float64 { return 1 - v },
	"shown":    shown,
	"value":    valueWords,
	"span":     spanWords,
	"device":   deviceOf,
	"upper":    capital,
	"past":     past,
	"bg":       background,
	"list":     func(xs ...string) []string { return xs },
	"whole":    func(v float64) string { return num(math.Round(v)) },
	"percent1": func(v float64) string { return strconv.FormatFloat(100*v, 'f', 1, 64) },
	"two1":     func(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) },
	"source":   sourceWords,
	"level":    levelWords,
	"stocksOf": stocksOf,
	"standardsTable": func(rows []standardView, axis template.HTML, planned bool) standardsTable {
		return standardsTable{rows, axis, planned}
	},
	"verdictClass": verdictClass,
	"recheck":      recheckWords,
}

func dash(t time.Time, layout string) string {
	if t.IsZero() {
		return "–"
	}
	return t.Local().Format(layout)
}

// num is a number for people: at most four digits that say something.
func num(v float64) string {
	if math.IsNaN(v) {
		return "–"
	}
	if math.IsInf(v, 0) {
		return unit.TrueMinus(map[bool]string{true: "∞", false: "-∞"}[v > 0])
	}
	return unit.TrueMinus(strconv.FormatFloat(v, 'g', 4, 64))
}

func minutes(v float64) string {
	if v < 60 {
		return fmt.Sprintf("%.0f min", v)
	}
	n := int(v + .5)
	return fmt.Sprintf("%d h %02d min", n/60, n%60)
}

func stampWords(s bench.Stamp) string {
	if s.Name == "" {
		return dash(s.At, "2 Jan 2006, 15:04")
	}
	return dash(s.At, "2 Jan 2006, 15:04") + ", " + s.Name
}

// unitWords are a scale's unit for people, without the basis: "µmol/L".
func unitWords(s unit.Scale) string {
	s.Basis = ""
	return strings.TrimSpace(s.String())
}

// count is a number with its noun: "1 vial", "no vials", "12 vials".
func count(n int, one string) string {
	switch n {
	case 0:
		return "no " + one + "s"
	case 1:
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

func itoa(id int64) string { return strconv.FormatInt(id, 10) }

func contains(s, sub string) bool { return strings.Contains(s, sub) }

func size(bytes int64) string {
	if bytes >= 1<<20 {
		return fmt.Sprintf("%d MB", bytes>>20)
	}
	return fmt.Sprintf("%d kB", bytes>>10)
}

// bar is how far something has come, as a share of its width; a picture for
// those who see it, the numbers stand beside it.
func bar(done, of int) template.HTML {
	share := 0.0
	if of > 0 {
		share = 100 * math.Min(1, float64(done)/float64(of))
	}
	return template.HTML(fmt.Sprintf(`<svg class="meter" width="100%%" height="8" aria-hidden="true"><rect class="m-void" x=".5" y=".5" width="99.6%%" height="7"/><rect class="m-bar" width="%.2f%%" height="8"/></svg>`, share))
}

// fieldView is one field of a form for the template "field".
type fieldView struct {
	ID, Name, Label, Hint, Value, Wrong, Type, Mode, Extra string
}

// newField binds a field to what was typed and what is wrong with it. more are
// pairs: "type", "mode" (for a phone's keyboard), "class".
func newField(f *form, name, label, hint string, more ...string) fieldView {
	v := fieldView{ID: name, Name: name, Label: label, Hint: hint, Value: f.Get(name), Wrong: f.Wrong(name), Type: "text"}
	for i := 0; i+1 < len(more); i += 2 {
		switch more[i] {
		case "type":
			v.Type = more[i+1]
		case "mode":
			v.Mode = more[i+1]
		case "class":
			v.Extra = more[i+1]
		case "id": // where two forms of a page have a field of one name
			v.ID = more[i+1]
		}
	}
	return v
}

// mmss is a time after a beginning, as a clock shows it.
func mmss(d time.Duration) string {
	n := int(d.Seconds() + .5)
	if n < 3600 {
		return fmt.Sprintf("%d:%02d", n/60, n%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", n/3600, n/60%60, n%60)
}

// hours are hours for people: minutes below two of them.
func hours(h float64) string {
	if h < 2 {
		return fmt.Sprintf("%.0f minutes", math.Ceil(60*h))
	}
	return two(h) + " hours"
}

// two is a number to two digits that say something.
func two(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	if r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64); err == nil {
		v = r
	}
	return unit.TrueMinus(strconv.FormatFloat(v, 'f', -1, 64))
}
