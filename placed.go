package knownwater

import (
	"fmt"
	"regexp"
	"strconv"
)

// placed is a sentence whose values stand in numbered places, by which it is found in another
// language. The zero value is one without values.
type placed struct {
	text  string // in English, its values filled in
	form  string // with {1}, {2} … in their places
	parts []string
}

// verb is where a value goes in a text for package fmt.
var verb = regexp.MustCompile(`%[-+#0]*\d*(\.\d+)?[a-zA-Z%]`)

// verbsIn is how many values a text takes, at most so many.
func verbsIn(words string, most int) (n int) {
	for _, v := range verb.FindAllString(words, -1) {
		if v != "%%" && n < most {
			n++
		}
	}
	return n
}

// placing puts values into a text by its verbs. Without values the text is no format.
func placing(words string, values []any) (string, placed) {
	if len(values) == 0 {
		return words, placed{}
	}
	p := placed{text: fmt.Sprintf(words, values...)}
	p.form = verb.ReplaceAllStringFunc(words, func(v string) string {
		if v == "%%" {
			return "%"
		}
		if i := len(p.parts); i < len(values) {
			p.parts = append(p.parts, fmt.Sprintf(v, values[i]))
		}
		return "{" + strconv.Itoa(len(p.parts)) + "}"
	})
	return p.text, p
}

// said is a text as say has it in another language: by its form, unless it was written anew
// since. A value that is the whole text may be a sentence itself.
func (p placed) said(text string, say func(form string, parts ...string) string) string {
	if p.form == "" || p.form == "{1}" || p.text != text {
		return say(text)
	}
	return say(p.form, p.parts...)
}
