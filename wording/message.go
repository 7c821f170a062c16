package wording

import (
	"html"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

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
