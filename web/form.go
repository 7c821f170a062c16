package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/science/unit"
)

// form is what a person typed and what is wrong with it. A refused form goes
// back with both.
type form struct {
	url.Values
	faults knownwater.Faults
}

// parseForm reads a form; a body that is no form is a fault of the caller.
func parseForm(r *http.Request) (*form, error) {
	if err := r.ParseForm(); err != nil {
		return nil, err
	}
	return &form{Values: r.PostForm}, nil
}

func (f *form) text(name string) string { return strings.TrimSpace(f.Get(name)) }

func (f *form) ticked(name string) bool { return f.Get(name) != "" }

func (f *form) wrong(column, found, want string) {
	f.faults = append(f.faults, knownwater.Fault{Column: column, Found: found, Want: want})
}

// number reads a number typed with a decimal point or comma; empty is 0.
func (f *form) number(name, want string) float64 {
	text := f.text(name)
	if text == "" {
		return 0
	}
	v, err := parseNumber(text)
	if err != nil {
		f.wrong(name, fmt.Sprintf("“%s” is no number", text), want)
	}
	return v
}

// whole reads a whole number from 0 to max; empty is 0.
func (f *form) whole(name string, max int) int {
	text := f.text(name)
	if text == "" {
		return 0
	}
	v, err := strconv.Atoi(text)
	if err != nil || v < 0 || v > max {
		f.wrong(name, fmt.Sprintf("“%s” is not a whole number up to %d", text, max), "write it in figures, such as 6")
		return 0
	}
	return v
}

func (f *form) ids(name string) []int64 {
	var out []int64
	for _, text := range f.Values[name] {
		if id, err := strconv.ParseInt(text, 10, 64); err == nil && id > 0 {
			out = append(out, id)
		}
	}
	return out
}

// scale reads analyte, unit and basis.
func (f *form) scale() unit.Scale {
	s, err := unit.Parse(f.text("analyte"), f.text("unit"), f.text("basis"))
	if err != nil {
		f.wrong("unit", err.Error(), "")
	}
	return s
}

// parseNumber takes a decimal point or a decimal comma and refuses what is no
// finite number.
func parseNumber(text string) (float64, error) {
	text = strings.ReplaceAll(strings.TrimSpace(text), "\u2212", "-")
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err == nil && (math.IsInf(v, 0) || math.IsNaN(v)) {
		err = strconv.ErrRange
	}
	return v, err
}

// show is a number as it is put into a form: short, exact, empty for 0.
func shown(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// add adds faults of fields that have none yet.
func (f *form) add(faults knownwater.Faults) {
	for _, x := range faults {
		if f.Wrong(x.Column) == "" {
			f.faults = append(f.faults, x)
		}
	}
}

// localTime is a time as a browser gives it, in this machine's zone; empty is
// the zero time.
func (f *form) localTime(name string) time.Time {
	text := f.text(name)
	if text == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation(inBrowser, text, time.Local)
	if err != nil {
		f.wrong(name, "“"+text+"” is no time", "such as 2026-03-01T08:00; empty: now")
	}
	return t
}

// inBrowser is a time as a browser's field gives it.
const inBrowser = "2006-01-02T15:04"

// Faults are those of the whole form, for the top of the page.
func (f *form) Faults() knownwater.Faults { return f.faults }

// Wrong is what is wrong with one field, a line each: found, and what would be
// right.
func (f *form) Wrong(name string) string {
	var out []string
	for _, x := range f.faults {
		if x.Column == name {
			out = append(out, sentence(x))
		}
	}
	return strings.Join(out, "\n")
}

// Loose are the faults that stand beside no field of the form.
func (f *form) Loose(fields ...string) []string {
	known := map[string]bool{}
	for _, n := range fields {
		known[n] = true
	}
	var out []string
	for _, x := range f.faults {
		if !known[x.Column] {
			out = append(out, sentence(x))
		}
	}
	return out
}

// sentence is a fault beside its field: the field need not be named again, the
// line of a long field or file must.
func sentence(x knownwater.Fault) string {
	place := ""
	if x.File != "" {
		place = x.File + ", "
	}
	if x.Row > 0 {
		place += fmt.Sprintf("line %d", x.Row)
		if x.File != "" && x.Column != "" {
			place += ", " + x.Column
		}
	}
	if place != "" {
		place = strings.TrimSuffix(place, ", ") + ": "
	}
	if x.Want == "" {
		return place + x.Found
	}
	return place + x.Found + "; " + x.Want
}

// Has says whether a box or option of that value was chosen.
func (f *form) Has(name, value string) bool {
	for _, v := range f.Values[name] {
		if v == value {
			return true
		}
	}
	return false
}

// pathID is the {name} of a path as a record's number; what is no number names
// nothing and so is not found.
func pathID(r *http.Request, name string) int64 {
	id, err := strconv.ParseInt(r.PathValue(name), 10, 64)
	if err != nil || id < 1 {
		return -1
	}
	return id
}

// atoi is a record's number in a text; what is no number names nothing.
func atoi(text string) int64 {
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return -1
	}
	return id
}

// exactly is a number as it is put into a form where 0 means 0.
func exactly(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
