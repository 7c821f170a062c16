// Package wording is where sentences for people become those of another language. English
// is what stands in templates, scripts and Go, and the English sentence is the name by which
// a translation of it is found (as in gettext), so that whoever writes a sentence thinks of
// no catalogue, and what nobody translated yet is said in English.
//
//  1. Messages cuts a template into its messages, ScriptMessages finds those of a script.
//  2. Open reads the translations of a language from a file, or says what is wrong in it.
//  3. Template puts them into the source of a template, before it is parsed; Say and Things
//     give a sentence of Go.
//
// Parts of a message that differ each time are numbered places, {1}; marks of a template's
// running text are <1>…</1>. A translation is text and the places of its message, nothing
// else: it brings neither markup nor actions onto a page.
package wording

import (
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/text/feature/plural"
	xlanguage "golang.org/x/text/language"
)

// Language is one in which sentences are said; nil is English.
type Language struct {
	tag, name string
	says      map[string]string
	plural    xlanguage.Tag // whose rules choose the form of a number of things
	days      string        // DaysISO, DaysDots; empty: in words
}

// Forms of days in figures that a reader may choose.
const (
	DaysISO  = "iso"
	DaysDots = "dots"
)

// figures are the layouts of a day and of a time of day, by the form.
var figures = map[string][2]string{DaysISO: {time.DateOnly, "2006-01-02 15:04"}, DaysDots: {"02.01.2006", "02.01.2006, 15:04"}}

// inFigures are English and the languages that there are with their days in each form, by tag
// and form; made once, as templates are kept by language.
var inFigures = sync.OnceValue(func() map[[2]string]*Language {
	out := map[[2]string]*Language{}
	for form := range figures {
		for _, l := range append([]*Language{{tag: "en", name: "English"}}, Languages()...) {
			with := *l
			with.days = form
			out[[2]string{l.tag, form}] = &with
		}
	}
	return out
})

// WithDays is the language with its days in a form in figures; in words for any other form.
func (l *Language) WithDays(form string) *Language {
	if with := inFigures()[[2]string{l.Tag(), form}]; with != nil {
		return with
	}
	return l
}

// Days is the form of days; empty in words.
func (l *Language) Days() string {
	if l == nil {
		return ""
	}
	return l.days
}

// English says whether the language is English, however days are written.
func (l *Language) English() bool { return l.Tag() == "en" }

// Tag is the language as the attribute lang and a browser write it.
func (l *Language) Tag() string {
	if l == nil {
		return "en"
	}
	return l.tag
}

// Name is what the language calls itself.
func (l *Language) Name() string {
	if l == nil {
		return "English"
	}
	return l.name
}

// look finds what a message is in the language.
func (l *Language) look(message string) (string, bool) {
	if l == nil {
		return "", false
	}
	s, ok := l.says[message]
	return s, ok
}

// Has says whether a message is translated.
func (l *Language) Has(message string) bool {
	_, ok := l.look(message)
	return ok
}

// Key is an English sentence that is said later, by Say: it marks a text of a table as a
// message, so that it comes into the list of messages.
func Key(text string) string { return text }

// Say is an English sentence in the language, with its parts in its places {1}, {2} ….
func (l *Language) Say(text string, parts ...string) string {
	if s, ok := l.look(text); ok {
		text = s
	}
	if len(parts) == 0 {
		return text
	}
	size := len(text)
	for _, p := range parts {
		size += len(p)
	}
	var out strings.Builder
	out.Grow(size)
	for {
		open := strings.IndexByte(text, '{')
		if open < 0 {
			break
		}
		out.WriteString(text[:open])
		text = text[open:]
		end := strings.IndexByte(text, '}')
		if end < 0 {
			break
		}
		if i, err := strconv.Atoi(text[1:end]); err == nil && i >= 1 && i <= len(parts) {
			out.WriteString(parts[i-1])
		} else { // no place of this sentence
			out.WriteByte('{')
			end = 0
		}
		text = text[end+1:]
	}
	out.WriteString(text)
	return out.String()
}

// Things is a number of things, written as number: “1 reading”, “12 readings”. The messages
// are “1 reading” and “{1} readings”; a language with further forms has them as
// “{1} readings|few”, by the names of the Unicode plural rules.
func (l *Language) Things(n int, number, what string) string {
	if n == 1 {
		return l.Say("1 " + what)
	}
	many := "{1} " + Many(what)
	if l != nil {
		form := plural.Cardinal.MatchPlural(l.plural, n, 0, 0, 0, 0)
		if s, ok := l.look(many + "|" + forms[form]); ok {
			return strings.ReplaceAll(s, "{1}", number)
		}
	}
	return l.Say(many, number)
}

var forms = map[plural.Form]string{plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many", plural.Other: "other"}

// Many is the plural of an English noun.
func Many(what string) string {
	if stem, ok := strings.CutSuffix(what, "y"); ok && !strings.HasSuffix(stem, "a") { // days, ways
		return stem + "ies"
	}
	return what + "s"
}

// Time writes a time by an English layout of package time, such as “2 January 2006”: the
// layout is a message, and the names of months are. Where somebody chose a form in figures a
// day is in that, with its year.
func (l *Language) Time(t time.Time, layout string) string {
	if form, ok := figures[l.Days()]; ok && strings.Contains(layout, "2 Jan") {
		if strings.HasSuffix(layout, "15:04") {
			return t.Format(form[1])
		}
		return t.Format(form[0])
	}
	s := t.Format(l.Say(layout))
	if l == nil {
		return s
	}
	if long := t.Format("January"); strings.Contains(layout, "January") {
		return strings.Replace(s, long, l.Say(long), 1)
	}
	if short := t.Format("Jan"); strings.Contains(layout, "Jan") {
		return strings.Replace(s, short, l.Say(short), 1)
	}
	return s
}
