package report

import (
	"strings"

	"knownwater/science/note"
	"knownwater/wording"
)

// speech is how one reader is spoken to: the zero value is English, in which every file and
// every line of a terminal is. What has no method of it is said in English.
type speech struct{ *wording.Language }

var english speech

// told is a note for somebody.
type told struct {
	note.Note
	speech
}

// things is a number of things: 1 reading, 2 readings.
func (l speech) things(n int, what string) string { return l.Things(n, count(n), what) }

func things(n int, what string) string { return english.things(n, what) }

// and joins names: "a, b and c".
func (l speech) and(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return l.Say("{1} and {2}", strings.Join(names[:len(names)-1], ", "), names[len(names)-1])
}

func and(names []string) string { return english.and(names) }

var numerals = []string{wording.Key("no"), wording.Key("one"), wording.Key("two"), wording.Key("three"), wording.Key("four"), wording.Key("five"), wording.Key("six"),
	wording.Key("seven"), wording.Key("eight"), wording.Key("nine"), wording.Key("ten"), wording.Key("eleven"), wording.Key("twelve")}

// numeral is a small number as a word.
func (l speech) numeral(n int) string {
	if n >= 0 && n < len(numerals) {
		return l.Say(numerals[n])
	}
	return count(n)
}

func numeral(n int) string { return english.numeral(n) }

// words are a note without capital and stop.
func (l speech) words(n note.Note) string { return clean(l.say(n)) }

// sayAll are the sentences of notes, none of them empty.
func (l speech) sayAll(notes []note.Note) []string {
	out := make([]string, 0, len(notes))
	for _, n := range notes {
		if s := l.sentence(n); s != "" {
			out = append(out, s)
		}
	}
	return out
}
