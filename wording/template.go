package wording

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Messages are the messages of a template (html/template) in their order: what people read
// between one block and the next, and what is read of its attributes.
func Messages(source string) (out []string) {
	rewrite(source, func(m string) (string, bool) {
		out = append(out, m)
		return "", false
	})
	return out
}

// Template is the source of a template with its messages in the language; as it is where
// nothing is translated. Its actions stay what they are and the result is parsed as any
// template, so that what they give out is escaped as ever.
func (l *Language) Template(source string) string {
	if l.English() {
		return source
	}
	return rewrite(source, l.look)
}

// Inline elements stand within a sentence; any other begins a new one.
var inline = []string{"a", "abbr", "b", "bdi", "cite", "code", "em", "i", "kbd", "mark", "q", "s", "small", "span", "strong", "sub", "sup", "time", "u", "var"}

// read are attributes that people read or hear; data-l is the head that a narrow table puts
// before a cell. value is read on what sends a form.
var read = []string{"title", "aria-label", "alt", "placeholder", "data-l"}

// rewrite gives every message of a template to say and puts its answer in the place.
func rewrite(source string, say func(string) (string, bool)) string {
	var out strings.Builder
	out.Grow(len(source))
	var run []piece
	flush := func() {
		writeRun(&out, run, say)
		run = run[:0]
	}
	for _, p := range pieces(source) {
		switch p.kind {
		case isText, isOutput:
			run = append(run, p)
		case isTag:
			p.raw = rewriteAttributes(p.raw, say)
			if slices.Contains(inline, p.name) {
				run = append(run, p)
				continue
			}
			flush()
			out.WriteString(p.raw)
		default:
			flush()
			out.WriteString(rewriteFields(p.raw, say))
		}
	}
	flush()
	return out.String()
}

// operand is one of an action: a text, a name, or more in brackets.
const operand = `(?:"(?:[^"\\]|\\.)*"|\([^()]*\)|[^\s"()]+)`

// ofField is a form's field as templates make it: field FORM NAME "label" "hint" …
var ofField = regexp.MustCompile(`\(field ` + operand + `\s+` + operand + `\s+(` + operand + `)\s+(` + operand + `)`)

// rewriteFields gives label and hint of the fields of an action to say.
func rewriteFields(action string, say func(string) (string, bool)) string {
	var out strings.Builder
	at := 0
	for _, m := range ofField.FindAllStringSubmatchIndex(action, -1) {
		for _, place := range [][]int{m[2:4], m[4:6]} {
			text, err := strconv.Unquote(action[place[0]:place[1]])
			if err != nil || !strings.ContainsFunc(text, unicode.IsLetter) {
				continue
			}
			if said, ok := say(text); ok {
				out.WriteString(action[at:place[0]])
				out.WriteString(strconv.Quote(said))
				at = place[1]
			}
		}
	}
	out.WriteString(action[at:])
	return out.String()
}

// said is a message in a script: say("…"), or say(`…`) with nothing put into it.
var saidInScript = regexp.MustCompile("\\bsay\\((\"(?:[^\"\\\\]|\\\\.)*\"|`[^`$\\\\]*`)")

// ScriptMessages are the messages of a script, which says them by calling say.
func ScriptMessages(source string) (out []string) {
	for _, m := range saidInScript.FindAllStringSubmatch(source, -1) {
		if text, err := strconv.Unquote(m[1]); err == nil {
			out = append(out, text)
		}
	}
	return out
}
