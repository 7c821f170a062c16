// Package form reads what people type into forms and keeps what is wrong with it
// beside the field that it stands in.
package form

import (
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"knownwater"
	"knownwater/science/unit"
	"knownwater/wording"
)

// Form is what a person typed and what is wrong with it. A refused form goes
// back with both.
type Form struct {
	url.Values
	faults knownwater.Faults
}

// Parse reads a form; a body that is no form is a fault of the caller.
func Parse(r *http.Request) (*Form, error) {
	if err := r.ParseForm(); err != nil {
		return nil, err
	}
	return &Form{Values: r.PostForm}, nil
}

// Text is a field without the spaces around it.
func (f *Form) Text(name string) string { return strings.TrimSpace(f.Get(name)) }

// Ticked says whether a box was ticked.
func (f *Form) Ticked(name string) bool { return f.Get(name) != "" }

// Reject says what is wrong with one field, and what would be right.
func (f *Form) Reject(column, found, want string, values ...any) {
	f.faults = append(f.faults, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
}

// WantNumber is what would be right where a number is wanted.
const WantNumber = "write a number such as 0.5"

// Number reads a number typed with a decimal point or comma; empty is 0.
func (f *Form) Number(name, want string) float64 {
	text := f.Text(name)
	if text == "" {
		return 0
	}
	v, err := ParseNumber(text)
	if err != nil {
		f.Reject(name, "“%s” is no number", want, text)
	}
	return v
}

// Whole reads a whole number from 0 to max; empty is 0.
func (f *Form) Whole(name string, max int) int {
	text := f.Text(name)
	if text == "" {
		return 0
	}
	v, err := strconv.Atoi(text)
	if err != nil || v < 0 || v > max {
		f.Reject(name, "“%s” is not a whole number up to %d", "write it in figures, such as 6", text, max)
		return 0
	}
	return v
}

// IDs are the records chosen in a field.
func (f *Form) IDs(name string) []int64 {
	var out []int64
	for _, text := range f.Values[name] {
		if id, err := strconv.ParseInt(text, 10, 64); err == nil && id > 0 {
			out = append(out, id)
		}
	}
	return out
}

// Scale reads analyte, unit and basis; without a unit it is the analyte's usual one.
func (f *Form) Scale() unit.Scale {
	if f.Text("unit") == "" && f.Text("basis") == "" {
		if s, err := unit.Usual(f.Text("analyte")); err == nil {
			return s
		}
	}
	s, err := unit.Parse(f.Text("analyte"), f.Text("unit"), f.Text("basis"))
	if err != nil {
		f.Reject("unit", err.Error(), "")
	}
	return s
}

// ParseNumber takes a decimal point or a decimal comma and refuses what is no
// finite number.
func ParseNumber(text string) (float64, error) {
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

// Shown is a number as it is put into a form: short, exact, empty for 0.
func Shown(v float64) string {
	if v == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// AddNewFaults adds faults of fields that have none yet.
func (f *Form) AddNewFaults(faults knownwater.Faults) {
	for _, x := range faults {
		if f.Wrong(x.Column) == nil {
			f.faults = append(f.faults, x)
		}
	}
}

// LocalTime is a time as a browser gives it, in this machine's zone; empty is
// the zero time.
func (f *Form) LocalTime(name string) time.Time {
	text := f.Text(name)
	if text == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation(BrowserTime, text, time.Local)
	if err != nil {
		f.Reject(name, "“%s” is no time", "such as 2026-03-01T08:00; empty: now", text)
	}
	return t
}

// BrowserTime is a time as a browser's field gives it.
const BrowserTime = "2006-01-02T15:04"

// Bad says whether anything is wrong.
func (f *Form) Bad() bool { return len(f.faults) > 0 }

// AddFault adds faults as they are.
func (f *Form) AddFault(faults ...knownwater.Fault) { f.faults = append(f.faults, faults...) }

// Refused puts faults of the bench beside the fields that they name, and says
// whether anything is wrong with the form.
func (f *Form) Refused(err error) bool {
	f.AddFault(FaultsOf(err)...)
	return f.Bad()
}

// FaultsOf tells faults in what was typed from other errors, of which it gives none.
func FaultsOf(err error) knownwater.Faults {
	switch e := err.(type) {
	case knownwater.Faults:
		return e
	case knownwater.Fault:
		return knownwater.Faults{e}
	}
	return nil
}

// Faults are those of the whole form, for the top of the page.
func (f *Form) Faults() knownwater.Faults { return f.faults }

// Wrong is what is wrong with one field; nil where nothing is.
func (f *Form) Wrong(name string) (out knownwater.Faults) {
	for _, x := range f.faults {
		if x.Column == name {
			out = append(out, x)
		}
	}
	return out
}

// Loose are the faults that stand beside no field of the form.
func (f *Form) Loose(fields ...string) knownwater.Faults {
	known := map[string]bool{}
	for _, n := range fields {
		known[n] = true
	}
	out := knownwater.Faults{}
	for _, x := range f.faults {
		if !known[x.Column] {
			out = append(out, x)
		}
	}
	return out
}

// Sentence is a fault beside its field, in a language: the field need not be named again,
// the line of a long field or file must.
func Sentence(l *wording.Language, x knownwater.Fault) string {
	x = x.In(l.Say)
	place := ""
	if x.File != "" {
		place = x.File + ", "
	}
	if x.Row > 0 {
		place += l.Say("line {1}", strconv.Itoa(x.Row))
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
func (f *Form) Has(name, value string) bool {
	for _, v := range f.Values[name] {
		if v == value {
			return true
		}
	}
	return false
}

// PathID is the {name} of a path as a record's number; what is no number names
// nothing and so is not found.
func PathID(r *http.Request, name string) int64 {
	id, err := strconv.ParseInt(r.PathValue(name), 10, 64)
	if err != nil || id < 1 {
		return -1
	}
	return id
}

// ID is a record's number in a text; what is no number names nothing.
func ID(text string) int64 {
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return -1
	}
	return id
}

// Exactly is a number as it is put into a form where 0 means 0.
func Exactly(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// SetScale puts a scale into the fields that Scale reads.
func (f *Form) SetScale(s unit.Scale) {
	f.Set("analyte", s.Analyte)
	f.Set("unit", s.Unit)
	f.Set("basis", s.Basis)
}

// Lines are those of a text, whatever ends them.
func Lines(text string) []string {
	return strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
}

// New is a form with fields filled in: pairs of name and value. A name may come
// more than once.
func New(pairs ...string) *Form {
	f := &Form{Values: url.Values{}}
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Values.Add(pairs[i], pairs[i+1])
	}
	return f
}
