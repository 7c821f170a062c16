package wording

import (
	"regexp"
	"slices"
	"strings"
)

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
