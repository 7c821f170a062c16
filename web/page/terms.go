package page

import (
	"bytes"
	"html/template"
	"slices"
	"strings"
	"sync"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"knownwater/docs"
)

// terms are the words of the glossary that are linked where they stand, by their first
// word, the longest first: “standard uncertainty” before “standard deviation” before none.
var terms = sync.OnceValue(func() map[string][]term {
	out := map[string][]term{}
	for words, address := range docs.Terms() {
		first := words[:wordEnd([]byte(words), 0)]
		out[first] = append(out[first], term{words, template.HTMLEscapeString(address)})
	}
	for _, list := range out {
		slices.SortFunc(list, func(a, b term) int { return len(b.words) - len(a.words) })
	}
	return out
})

type term struct{ words, address string }

// in these words explain themselves or lead elsewhere already
var unlinked = []atom.Atom{atom.A, atom.Button, atom.Label, atom.Summary, atom.Option, atom.Textarea, atom.Script, atom.Style, atom.Svg, atom.H1, atom.H2, atom.Code, atom.Caption, atom.Head, atom.Header, atom.Nav, atom.Footer, atom.Legend}

// within these a word is linked
var linked = []atom.Atom{atom.Th, atom.Dt, atom.P, atom.Li}

// void elements have no end that could be waited for.
var void = []atom.Atom{atom.Area, atom.Br, atom.Col, atom.Hr, atom.Img, atom.Input, atom.Link, atom.Meta, atom.Source, atom.Wbr}

// linkTerms links the first place of each term of the standards on a page to its entry
// in the glossary. It is done to the page as it goes out, so that no template has to think
// of it.
func linkTerms(page []byte) []byte {
	var out bytes.Buffer
	out.Grow(len(page) + 4096)
	z := html.NewTokenizer(bytes.NewReader(page))
	open := []element{{}} // the last is where one is
	seen := map[string]bool{}
	for {
		kind := z.Next()
		if kind == html.ErrorToken {
			return out.Bytes()
		}
		raw := z.Raw()
		if kind != html.TextToken { // before its name is asked for, which is then put into small letters in place
			out.Write(raw)
		}
		fault := bytes.Contains(raw, []byte(`class="wrong"`)) // it leads to its field
		switch kind {
		case html.StartTagToken:
			name, _ := z.TagName()
			if a := atom.Lookup(name); !slices.Contains(void, a) {
				in := open[len(open)-1]
				open = append(open, element{a, in.inside || slices.Contains(linked, a), in.shut || slices.Contains(unlinked, a) || fault})
			}
		case html.EndTagToken:
			name, _ := z.TagName()
			a := atom.Lookup(name)
			for i := len(open) - 1; i > 0; i-- { // what was left open ends with it
				if open[i].name == a {
					open = open[:i]
					break
				}
			}
		case html.TextToken:
			if in := open[len(open)-1]; in.inside && !in.shut {
				linkText(&out, raw, seen)
				continue
			}
			out.Write(raw)
		}
	}
}

// element is one that is open: whether words in it are linked.
type element struct {
	name         atom.Atom
	inside, shut bool
}

// linkText writes a text with the terms in it linked that were not seen yet.
func linkText(out *bytes.Buffer, text []byte, seen map[string]bool) {
	all, done := terms(), 0
	for at := 0; at < len(text); {
		end := wordEnd(text, at)
		if end == at { // no word begins here
			at++
			continue
		}
		next := end
		var low [32]byte
		if n := end - at; n <= len(low) {
			for _, t := range all[string(appendLower(low[:0], text[at:end]))] {
				till := at + len(t.words)
				if till > len(text) || wordEnd(text, till) != till || !strings.EqualFold(t.words, string(text[at:till])) {
					continue
				}
				if !seen[t.words] {
					seen[t.words] = true
					out.Write(text[done:at])
					out.WriteString(`<a class="term" href="` + t.address + `">`)
					out.Write(text[at:till])
					out.WriteString("</a>")
					done = till
				}
				next = till
				break
			}
		}
		at = next
	}
	out.Write(text[done:])
}

// wordEnd is where the word ends that goes on at a place of a text; letters of other
// alphabets belong to it.
func wordEnd(text []byte, at int) int {
	for at < len(text) && (text[at] >= 'a' && text[at] <= 'z' || text[at] >= 'A' && text[at] <= 'Z' || text[at] >= 0x80 || text[at] >= '0' && text[at] <= '9') {
		at++
	}
	return at
}

func appendLower(to, word []byte) []byte {
	for _, c := range word {
		if c >= 'A' && c <= 'Z' {
			c += 'a' - 'A'
		}
		to = append(to, c)
	}
	return to
}
