package wording

import (
	"html"
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
	if l == nil {
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

type kind int

const (
	isText   kind = iota
	isOutput      // an action that gives something out
	isBreak       // any other action, a comment, a script, a style
	isTag
)

type piece struct {
	kind  kind
	raw   string
	name  string // of a tag
	close bool
}

// silent are elements whose content nobody reads as text.
var silent = []string{"script", "style"}

// pieces cuts a template into text, tags and actions, which joined are the template.
func pieces(source string) (out []piece) {
	at := 0
	add := func(k kind, end int, name string, close bool) {
		out = append(out, piece{k, source[at:end], name, close})
		at = end
	}
	for at < len(source) {
		rest := source[at:]
		switch {
		case strings.HasPrefix(rest, "{{"):
			end := at + actionEnd(rest)
			add(kindOf(source[at:end]), end, "", false)
		case strings.HasPrefix(rest, "<!--"):
			add(isBreak, at+endOf(rest, "-->"), "", false)
		case strings.HasPrefix(rest, "<!"):
			add(isBreak, at+tagEnd(rest), "", false)
		case tagName(rest) != "":
			name := tagName(rest)
			end := at + tagEnd(rest)
			if slices.Contains(silent, name) && rest[1] != '/' {
				end += endOf(source[end:], "</"+name+">")
				add(isBreak, end, "", false)
				continue
			}
			add(isTag, end, name, rest[1] == '/')
		default:
			end := at + 1
			for end < len(source) && !strings.HasPrefix(source[end:], "{{") && !(source[end] == '<' && (tagName(source[end:]) != "" || strings.HasPrefix(source[end:], "<!"))) {
				end++
			}
			add(isText, end, "", false)
		}
	}
	return out
}

var nameOfTag = regexp.MustCompile(`^</?([A-Za-z][A-Za-z0-9-]*)`)

func tagName(s string) string {
	if len(s) < 2 || s[0] != '<' {
		return ""
	}
	if m := nameOfTag.FindStringSubmatch(s); m != nil {
		return strings.ToLower(m[1])
	}
	return ""
}

// endOf is where a mark ends in a text, the text's end where it has none.
func endOf(s, mark string) int {
	if i := strings.Index(s, mark); i >= 0 {
		return i + len(mark)
	}
	return len(s)
}

// actionEnd is the length of the action that a text begins with; a text or a comment in it
// may hold its closing marks.
func actionEnd(s string) int {
	if body := strings.TrimLeft(strings.TrimPrefix(s[2:], "-"), " \t\n"); strings.HasPrefix(body, "/*") {
		i := endOf(s, "*/")
		return i + endOf(s[i:], "}}")
	}
	var quote byte
	for i := 2; i < len(s); i++ {
		switch {
		case quote != 0:
			if s[i] == '\\' && quote != '`' {
				i++
			} else if s[i] == quote {
				quote = 0
			}
		case s[i] == '"' || s[i] == '`' || s[i] == '\'':
			quote = s[i]
		case strings.HasPrefix(s[i:], "}}"):
			return i + 2
		}
	}
	return len(s)
}

// tagEnd is the length of the tag that a text begins with.
func tagEnd(s string) int {
	var quote byte
	for i := 1; i < len(s); i++ {
		switch {
		case strings.HasPrefix(s[i:], "{{"):
			i += actionEnd(s[i:]) - 1
		case quote != 0:
			if s[i] == quote {
				quote = 0
			}
		case s[i] == '"' || s[i] == '\'':
			quote = s[i]
		case s[i] == '>':
			return i + 1
		}
	}
	return len(s)
}

var firstWord = regexp.MustCompile(`^\{\{-?\s*(/\*|[$\w.]*)`)

// kindOf says whether an action gives something out.
func kindOf(action string) kind {
	m := firstWord.FindStringSubmatch(action)
	switch word := m[1]; {
	case slices.Contains([]string{"/*", "if", "else", "end", "range", "with", "define", "block", "template", "break", "continue"}, word):
		return isBreak
	case strings.HasPrefix(word, "$") && assigns.MatchString(action):
		return isBreak
	case strings.HasPrefix(action, "{{-") || strings.HasSuffix(action, "-}}"):
		return isBreak // what it takes off beside it is no part of a sentence
	}
	return isOutput
}

var assigns = regexp.MustCompile(`^\{\{-?\s*\$\w+\s*(,\s*\$\w+\s*)?:?=`)

// writeRun writes what stands between two blocks, its messages as say has them.
func writeRun(out *strings.Builder, run []piece, say func(string) (string, bool)) {
	if len(run) == 0 {
		return
	}
	mates := matched(run)
	for i := range run {
		if run[i].kind == isTag && mates[i] < 0 { // opened here and closed beyond, or the other way round
			writeRun(out, run[:i], say)
			out.WriteString(run[i].raw)
			writeRun(out, run[i+1:], say)
			return
		}
	}
	writeMessage(out, run, say)
}

// matched gives each tag of a run the place of the one that closes or opens it, −1 for none.
func matched(run []piece) []int {
	mates := make([]int, len(run))
	var open []int
	for i, p := range run {
		mates[i] = -1
		if p.kind != isTag {
			continue
		}
		if !p.close {
			open = append(open, i)
			continue
		}
		for k := len(open) - 1; k >= 0; k-- {
			if run[open[k]].name == p.name {
				mates[i], mates[open[k]] = open[k], i
				open = open[:k]
				break
			}
		}
	}
	return mates
}

// writeMessage writes pieces that are one message, without the marks around it.
func writeMessage(out *strings.Builder, run []piece, say func(string) (string, bool)) {
	low, high := 0, len(run)
	empty := func(p piece) bool { return p.kind == isText && strings.TrimSpace(p.raw) == "" }
	for trimmed := true; trimmed && low < high; {
		trimmed = false
		mates := matched(run[low:high])
		switch first, last := run[low], run[high-1]; {
		case empty(first):
			low, trimmed = low+1, true
		case empty(last):
			high, trimmed = high-1, true
		case first.kind == isTag && mates[0] == high-low-1:
			low, high, trimmed = low+1, high-1, true
		case first.kind == isTag && silentTo(run[low:low+mates[0]+1]): // nothing is said in them
			low, trimmed = low+mates[0]+1, true
		case last.kind == isTag && silentTo(run[low+mates[high-low-1]:high]):
			high, trimmed = low+mates[high-low-1], true
		}
	}
	write := func(list []piece) {
		for _, p := range list {
			out.WriteString(p.raw)
		}
	}
	write(run[:low])
	core := run[low:high]
	message, lead, trail, places := messageOf(core)
	if said, ok := asked(message, say); ok {
		out.WriteString(lead)
		out.WriteString(fill(said, places))
		out.WriteString(trail)
	} else {
		write(core)
	}
	write(run[high:])
}

// silentTo says whether pieces are marks only.
func silentTo(list []piece) bool {
	return !slices.ContainsFunc(list, func(p piece) bool { return p.kind != isTag })
}

// asked puts a message to say where it has a letter of its own.
func asked(message string, say func(string) (string, bool)) (string, bool) {
	if !strings.ContainsFunc(place.ReplaceAllString(message, ""), unicode.IsLetter) {
		return "", false
	}
	return say(message)
}

// place is a place of a message: what an action gives out, and a mark.
var place = regexp.MustCompile(`\{\d+\}|</?\d+>`)

var spaces = regexp.MustCompile(`[ \t\r\n]+`)

// messageOf is the message of some pieces, the white space around it, and what stands in
// its places.
func messageOf(core []piece) (message, lead, trail string, places map[string]string) {
	var b strings.Builder
	places = map[string]string{}
	outputs, marks := 0, 0
	number := map[int]int{}
	mates := matched(core)
	for i, p := range core {
		switch {
		case p.kind == isText:
			b.WriteString(html.UnescapeString(p.raw))
			continue
		case p.kind == isOutput:
			outputs++
			name := "{" + strconv.Itoa(outputs) + "}"
			places[name] = p.raw
			b.WriteString(name)
			continue
		case !p.close:
			marks++
			number[i] = marks
			name := "<" + strconv.Itoa(marks) + ">"
			places[name] = p.raw
			b.WriteString(name)
		default:
			name := "</" + strconv.Itoa(number[mates[i]]) + ">"
			places[name] = p.raw
			b.WriteString(name)
		}
	}
	message = strings.Trim(spaces.ReplaceAllString(b.String(), " "), " ")
	if len(core) > 0 {
		first, last := core[0], core[len(core)-1]
		if first.kind == isText {
			lead = first.raw[:len(first.raw)-len(strings.TrimLeft(first.raw, " \t\r\n"))]
		}
		if last.kind == isText {
			trail = last.raw[len(strings.TrimRight(last.raw, " \t\r\n")):]
		}
	}
	return message, lead, trail, places
}

// fill writes a translation: text, escaped, and in its places what stands there. A place
// that the message does not have is text.
func fill(said string, places map[string]string) string {
	var out strings.Builder
	at := 0
	for _, m := range place.FindAllStringIndex(said, -1) {
		raw, ok := places[said[m[0]:m[1]]]
		if !ok {
			continue
		}
		out.WriteString(harmless(said[at:m[0]]))
		out.WriteString(raw)
		at = m[1]
	}
	out.WriteString(harmless(said[at:]))
	return out.String()
}

// harmless is a text in which nothing is markup and nothing an action.
func harmless(s string) string {
	return strings.NewReplacer("{", "&#123;", "}", "&#125;", "`", "&#96;").Replace(html.EscapeString(s))
}

var attribute = regexp.MustCompile(`\s([a-z-]+)="`)

// rewriteAttributes gives what is read of a tag's attributes to say.
func rewriteAttributes(tag string, say func(string) (string, bool)) string {
	var out strings.Builder
	at := 0
	for {
		m := attribute.FindStringSubmatchIndex(tag[at:])
		if m == nil {
			break
		}
		name, begin := tag[at+m[2]:at+m[3]], at+m[1]
		end := begin
		for end < len(tag) && tag[end] != '"' {
			if strings.HasPrefix(tag[end:], "{{") {
				end += actionEnd(tag[end:])
			} else {
				end++
			}
		}
		out.WriteString(tag[at:begin])
		if value := tag[begin:end]; slices.Contains(read, name) || name == "value" && sends(tag) {
			var run []piece
			for _, p := range pieces(value) {
				if p.kind == isBreak || p.kind == isTag {
					writeMessage(&out, run, say)
					out.WriteString(p.raw)
					run = nil
					continue
				}
				run = append(run, p)
			}
			writeMessage(&out, run, say)
		} else {
			out.WriteString(value)
		}
		at = end
	}
	out.WriteString(tag[at:])
	return out.String()
}

// sends says whether a tag is an input that shows its value on a button.
func sends(tag string) bool {
	return strings.HasPrefix(tag, "<input") && (strings.Contains(tag, `type="submit"`) || strings.Contains(tag, `type="button"`))
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
