package report

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/unit"
	"knownwater/wording"
)

// Words are a note without capital and stop, to stand inside other words.
func Words(n note.Note) string { return english.words(n) }

// WordsIn is Words in a language.
func WordsIn(l *wording.Language, n note.Note) string { return speech{l}.words(n) }

// WordsAll are notes without capital and stop.
func WordsAll(notes []note.Note) []string {
	out := make([]string, len(notes))
	for i, n := range notes {
		out[i] = Words(n)
	}
	return out
}

// Say is the sentence of a note: a capital first, a stop or a question mark last.
func Say(n note.Note) string { return english.sentence(n) }

// SayIn is Say in a language.
func SayIn(l *wording.Language, n note.Note) string { return speech{l}.sentence(n) }

func (l speech) sentence(n note.Note) string { return full(l.say(n)) }

// SayAll are the sentences of notes, none of them empty.
func SayAll(notes []note.Note) []string { return english.sayAll(notes) }

// SayAllIn is SayAll in a language.
func SayAllIn(l *wording.Language, notes []note.Note) []string { return speech{l}.sayAll(notes) }

// sayTogether are several reasons in one paragraph.
func sayTogether(notes []note.Note) string { return strings.Join(SayAll(notes), " ") }

// say is the sentence as it stands inside another one: without capital and stop.
func (l speech) say(n note.Note) string {
	if n.Code == note.CodeTold {
		return strings.Join(n.Names["text"], " ")
	}
	s, ok := sentences[n.Code]
	if !ok {
		return bare(n)
	}
	return s(told{n, l})
}

// bare is a note of a code that this version has no sentence for, such as one
// from a newer report.
func bare(n note.Note) string {
	s := strings.ReplaceAll(n.Code, "-", " ")
	for _, name := range keysOf(n.Numbers) {
		s += fmt.Sprintf("; %s %s", name, english.numbers(n.Numbers[name], ""))
	}
	for _, name := range keysOf(n.Names) {
		s += fmt.Sprintf("; %s %s", name, and(n.Names[name]))
	}
	return s
}

// phrase is how a code becomes words.
type phrase func(n told) string

// place is a value's place in a text: {name}, {name|how}. How is 0 (whole
// number), 2 or 3 (that many digits), % or 2% (a share as per cent) or "n" with a
// thing (one or several of it), set (as somebody set it, six digits at most); four digits
// without. Where several stand in one place, , and ; put that between them, else “and”. {because} are the reasons, {1}, {2} … one of them.
var place = regexp.MustCompile(`\{(\w+)(?:\|([^}]+))?\}`)

// text is the phrase of a text with places.
func text(t string) phrase {
	return func(n told) string {
		return place.ReplaceAllStringFunc(n.Say(t), func(s string) string {
			m := place.FindStringSubmatch(s)
			if m[1] == "because" {
				return because(n)
			}
			if i, err := strconv.Atoi(m[1]); err == nil {
				return reason(n, i-1)
			}
			if names, ok := n.Names[m[1]]; ok {
				return n.inRow(names, m[2])
			}
			return n.numbers(n.Numbers[m[1]], m[2])
		})
	}
}

// SaysOf is what a code says, with … in the places of its numbers and names.
func SaysOf(code string) (string, bool) {
	if _, ok := sentences[code]; !ok {
		return "", false
	}
	return strings.ReplaceAll(Say(note.Note{Code: code}), none, "…"), true
}

// reason is reason i of a note as it stands inside a sentence.
func reason(n told, i int) string {
	if i >= len(n.Because) {
		return none
	}
	return n.say(n.Because[i])
}

func because(n told) string {
	parts := make([]string, len(n.Because))
	for i, b := range n.Because {
		parts[i] = n.say(b)
	}
	return strings.Join(parts, "; ")
}

func (l speech) numbers(list []num.Number, how string) string {
	words := make([]string, len(list))
	for i, v := range list {
		words[i] = l.figureOf(float64(v), how)
	}
	if len(words) == 0 {
		return none
	}
	return l.inRow(words, how)
}

// inRow are several in one place: with “and” before the last, or as how says.
func (l speech) inRow(words []string, how string) string {
	switch how {
	case ",", ";":
		return strings.Join(words, how+" ")
	}
	return l.and(words)
}

// figureOf writes one number of a note.
func figureOf(v float64, how string) string { return english.figureOf(v, how) }

func (l speech) figureOf(v float64, how string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return none
	}
	if what, ok := strings.CutPrefix(how, "n "); ok {
		return l.things(int(v), what)
	}
	switch how {
	case "0":
		return unit.TrueMinus(fmt.Sprintf("%.0f", v))
	case ",", ";":
		return unit.TrueMinus(fmt.Sprintf("%.7g", v))
	case "set":
		return unit.TrueMinus(unit.Round(v, 0))
	case "0%":
		return unit.TrueMinus(fmt.Sprintf("%.0f %%", 100*v))
	case "2":
		return two(v)
	case "3":
		return three(v)
	case "2%":
		return brief(100*v) + " %"
	case "%":
		return unit.TrueMinus(fmt.Sprintf("%.3g %%", 100*v))
	}
	return unit.TrueMinus(fmt.Sprintf("%.4g", v))
}

// name is name i of a kind; empty where the note has none.
func name(n told, kind string, i int) string {
	if list := n.Names[kind]; i < len(list) {
		return list[i]
	}
	return ""
}

// at is number i of a name; NaN where the note has none.
func at(n told, name string, i int) float64 {
	if list := n.Numbers[name]; i < len(list) {
		return float64(list[i])
	}
	return math.NaN()
}
