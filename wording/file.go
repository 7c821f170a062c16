package wording

import (
	"embed"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	xlanguage "golang.org/x/text/language"

	"knownwater"
)

// English is the list of all messages, one a line and sorted. It is drawn from templates,
// scripts and Go: go test ./wording -update.
//
//go:embed english.txt
var English string

//go:embed *.tsv
var shipped embed.FS

// added are the languages of this run, beside those that are shipped.
var added []*Language

// Add makes a language one of those that there are, in the place of a shipped one of its tag.
// Before anybody reads: what is asked for a language finds them settled.
func Add(l *Language) { added = append(added, l) }

// Languages are those that there are beside English: what was added, and what comes with
// the program.
var Languages = sync.OnceValue(func() []*Language {
	files, err := shipped.ReadDir(".")
	if err != nil {
		panic(err) // embedded: cannot happen
	}
	out := added
	for _, f := range files {
		data, err := shipped.ReadFile(f.Name())
		if err != nil {
			panic(err) // as above
		}
		l, faults := Open(f.Name(), data)
		if faults != nil {
			panic(faults) // a test opens each
		}
		if !slices.ContainsFunc(out, func(x *Language) bool { return x.tag == l.tag }) {
			out = append(out, l)
		}
	}
	return out
})

// In is the language of a tag; nil, English, for one that is not.
func In(tag string) *Language {
	for _, l := range Languages() {
		if l.tag == tag {
			return l
		}
	}
	return nil
}

// Preferred is the first language of a browser's list (the header Accept-Language, RFC 9110
// section 12.5.4) that there is, English where there is none.
func Preferred(accepted string) *Language {
	tags, _, err := xlanguage.ParseAcceptLanguage(accepted) // by preference
	if err != nil {
		return nil
	}
	for _, t := range tags {
		base, _ := t.Base()
		if base.String() == "en" {
			return nil
		}
		if l := In(base.String()); l != nil {
			return l
		}
	}
	return nil
}

// mostPlaces bounds the places of a message that are looked at.
const mostPlaces = 40

// Open reads the translations of a language from a file: a message, a tab, what it is in
// the language, a line each. The first line is “language”, the language's tag and what it
// calls itself; lines that begin with # are remarks, a message without a translation is
// said in English. All faults are told, each with its line.
func Open(name string, data []byte) (*Language, knownwater.Faults) {
	l := &Language{says: map[string]string{}}
	var faults knownwater.Faults
	wrong := func(line int, found, want string, values ...any) {
		faults = append(faults, knownwater.Fault{File: name, Row: line, Found: found, Want: want}.Of(values...))
	}
	if !utf8.Valid(data) {
		return nil, knownwater.Faults{{File: name, Found: "it is no UTF-8 text", Want: "a text file saved as UTF-8"}}
	}
	known := messages()
	for i, line := range strings.Split(strings.TrimPrefix(string(data), "\ufeff"), "\n") {
		line = strings.TrimSuffix(line, "\r")
		if strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, "\t")
		if l.tag == "" {
			tag, err := xlanguage.Parse(cells[min(1, len(cells)-1)])
			if cells[0] != "language" || len(cells) != 3 || err != nil || strings.TrimSpace(cells[2]) == "" {
				wrong(i+1, "“%s” where the language is to be named", "language, a tab, its tag (de), a tab, its own name (Deutsch)", cut(line))
				return nil, faults
			}
			l.tag, l.name, l.plural = tag.String(), strings.TrimSpace(cells[2]), tag
			continue
		}
		message, said := cells[0], ""
		switch len(cells) {
		case 1:
		case 2:
			said = strings.TrimSpace(cells[1])
		default:
			wrong(i+1, "%d tabs", "one tab, between the message and its translation", len(cells)-1)
			continue
		}
		if said == "" {
			continue
		}
		if _, before := l.says[message]; before {
			wrong(i+1, "“%s” a second time", "each message once", cut(message))
			continue
		}
		bare, form, _ := strings.Cut(message, "|")
		if !known[message] && !(known[bare] && isForm(form)) {
			continue // of an older version, or of a newer one
		}
		if fault := misplaced(message, said); fault != "" {
			wrong(i+1, fault, "the places of the message, each once, and no other mark: "+wantedPlaces(message))
			continue
		}
		l.says[message] = said
	}
	if l.tag == "" && faults == nil {
		wrong(1, "an empty file", "a first line that names the language: language, a tab, its tag (de), a tab, its own name (Deutsch)")
	}
	if faults != nil {
		return nil, faults
	}
	return l, nil
}

// messages are all messages there are.
var messages = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for line := range strings.Lines(English) {
		out[strings.TrimSuffix(line, "\n")] = true
	}
	return out
})

// isForm says whether a word is a form of the plural.
func isForm(word string) bool {
	for _, f := range forms {
		if f == word {
			return true
		}
	}
	return false
}

// Count is how many messages there are and how many of them the language has.
func (l *Language) Count() (all, said int) {
	for m := range messages() {
		all++
		if l.Has(m) {
			said++
		}
	}
	return all, said
}

// any place of a message: numbered, named as in a note, a mark
var anyPlace = regexp.MustCompile(`\{[^{}]*\}|</?\d+>`)

// misplaced says what is wrong with the places of a translation.
func misplaced(message, said string) string {
	want, found := anyPlace.FindAllString(message, mostPlaces), anyPlace.FindAllString(said, mostPlaces)
	for _, p := range found {
		if !slices.Contains(want, p) {
			return fmt.Sprintf("“%s”, which the message does not have", p)
		}
		if i := slices.Index(want, p); i >= 0 {
			want = slices.Delete(slices.Clone(want), i, i+1)
		}
	}
	if len(want) > 0 {
		return fmt.Sprintf("no “%s”", want[0])
	}
	if rest := anyPlace.ReplaceAllString(said, ""); strings.ContainsAny(rest, "{}") || markup.MatchString(rest) {
		return "markup or a brace"
	}
	if !inOrder(found) {
		return "marks that are not closed in the order in which they are opened"
	}
	return ""
}

var markup = regexp.MustCompile(`<[A-Za-z/!]`)

// inOrder says whether marks are closed as they are opened.
func inOrder(places []string) bool {
	var open []string
	for _, p := range places {
		switch {
		case strings.HasPrefix(p, "</"):
			if len(open) == 0 || open[len(open)-1] != p[2:] {
				return false
			}
			open = open[:len(open)-1]
		case strings.HasPrefix(p, "<"):
			open = append(open, p[1:])
		}
	}
	return len(open) == 0
}

func wantedPlaces(message string) string {
	if list := anyPlace.FindAllString(message, mostPlaces); list != nil {
		return strings.Join(list, " ")
	}
	return "it has none"
}

// cut is enough of a text to find it by.
func cut(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return s
}
