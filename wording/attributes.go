package wording

import (
	"regexp"
	"slices"
	"strings"
)

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
