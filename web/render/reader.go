package render

import (
	"html/template"
	"maps"
	"slices"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/report"
	"knownwater/science/note"
	"knownwater/science/result"
	"knownwater/science/unit"
	"knownwater/web/form"
	"knownwater/wording"
)

// Reader is how one reader wants words, numbers and days on screens. Files never hang on it.
type Reader struct {
	Language *wording.Language // nil: English
	Mark     string            // of decimals: MarkPoint, MarkComma; empty: as the language has it
	Units    unit.Choices      // in which results are shown; empty: as the method has them
}

// What a reader may choose.
const (
	MarkPoint = "point"
	MarkComma = "comma"
)

// Comma says whether the reader's decimals stand behind a comma.
func (r Reader) Comma() bool {
	if r.Mark == "" {
		return r.Language.Say("0.5") == "0,5"
	}
	return r.Mark == MarkComma
}

// Outcome is what readings say, in the reader's units.
func (r Reader) Outcome(o result.Outcome) result.Outcome {
	return report.TurnedOutcome(o, r.Units.Turn)
}

// Result is a kept result in the reader's units: what it says, not what was read.
func (r Reader) Result(x calibrations.Result) calibrations.Result {
	t := r.Units.Turn(x.Scale)
	if t.Same() {
		return x
	}
	o := &x.Outcome
	x.Scale, o.Level, o.U, o.Low, o.High = t.To, o.Level*t.K, o.U*t.K, o.Low*t.K, o.High*t.K
	o.Parts = slices.Clone(o.Parts)
	for i := range o.Parts {
		o.Parts[i].U *= t.K
	}
	x.Pieces = slices.Clone(x.Pieces)
	for i, p := range x.Pieces {
		x.Pieces[i] = p.Scale(t.K)
	}
	x.Notes, o.Notes = report.TurnedNotes(x.Notes, t), report.TurnedNotes(o.Notes, t)
	return x
}

// ReadIn names the units of methods whose results are shown in others; empty where none is.
func (r Reader) ReadIn(scales ...unit.Scale) string {
	var out []string
	for _, s := range scales {
		if text := s.String(); !r.Units.Turn(s).Same() && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return strings.Join(out, ", ")
}

// Results are kept results in the reader's units.
func (r Reader) Results(list []calibrations.Result) []calibrations.Result {
	out := slices.Clone(list)
	for i, x := range out {
		out[i] = r.Result(x)
	}
	return out
}

// Needs are needs in the reader's units.
func (r Reader) Needs(list []knownwater.NeedEntry) []knownwater.NeedEntry {
	out := slices.Clone(list)
	for i, n := range out {
		t := r.Units.Turn(n.Scale)
		out[i].Scale, out[i].Need = t.To, n.Need.Times(t.K)
	}
	return out
}

// Day is a day for the reader, a dash for none.
func (r Reader) Day(t time.Time) string { return r.time(t, wording.Key("2 January 2006")) }

// DayOf is a day that is kept as 2026-03-01; any other text as it is.
func (r Reader) DayOf(text string) string {
	if t, err := time.ParseInLocation(time.DateOnly, text, time.Local); err == nil {
		return r.Day(t)
	}
	return text
}

// DayTime is a day with its time.
func (r Reader) DayTime(t time.Time) string { return r.time(t, wording.Key("2 Jan 2006, 15:04")) }

func (r Reader) time(t time.Time, layout string) string {
	if t.IsZero() {
		return "–"
	}
	return r.Language.Time(t.Local(), layout)
}

// whenAndWho is a time with a name, where there is one.
func (r Reader) whenAndWho(s knownwater.Stamp) string {
	if s.Name == "" {
		return r.DayTime(s.At)
	}
	return r.DayTime(s.At) + ", " + s.Name
}

// Count is a number with its noun: “1 vial”, “no vials”, “12 vials”.
func (r Reader) Count(n int, one string) string {
	if n == 0 {
		return r.Language.Say("no " + wording.Many(one))
	}
	return r.Language.Things(n, ID(int64(n)), one)
}

// fault is what is wrong with a field, or one thing that is, a line each.
func (r Reader) fault(what any) string {
	var out []string
	for _, x := range form.FaultsOf(what.(error)) {
		out = append(out, form.Sentence(r.Language, x))
	}
	return strings.Join(out, "\n")
}

// Funcs are what every template may call, for the reader.
func (r Reader) Funcs() template.FuncMap {
	out := maps.Clone(plain)
	maps.Copy(out, template.FuncMap{
		"language":   r.Language.Tag,
		"date":       r.Day,
		"dateTime":   r.DayTime,
		"whenAndWho": r.whenAndWho,
		"count":      r.Count,
		"say":        func(message string) string { return r.Language.Say(message) },
		"fault":      r.fault,
		"sentence":   func(n note.Note) string { return report.SayIn(r.Language, n) },
	})
	return out
}
