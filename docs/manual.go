// Package docs is the manual: the files of this folder within the program, as text for
// a terminal and as pages for a browser. Where a word leads is decided here, for both.
package docs

import (
	"embed"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	extast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
)

//go:embed *.md *.svg shots/*.png
var files embed.FS

// Topic is one page of the manual.
type Topic struct {
	Name  string // what it is called by: howto-read is read
	Title string
	Group string
	file  string
}

// The groups of topics, in order.
const (
	AtTheBench = "At the bench"
	Words      = "Words and fields"
	Reference  = "Files and outputs"
	Background = "How it is computed, and how well"
	Working    = "Working on it"
)

// Groups are the groups in the order in which they are listed.
var Groups = []string{AtTheBench, Words, Reference, Background, Working}

func groupOf(name string) string {
	switch {
	case strings.HasPrefix(name, "howto-"), strings.HasPrefix(name, "tutorial"):
		return AtTheBench
	case name == "glossary", name == "forms":
		return Words
	case strings.HasPrefix(name, "formats"):
		return Reference
	case name == "architecture", name == "contributing":
		return Working
	}
	return Background
}

var markdown = goldmark.New(goldmark.WithExtensions(extension.NewTable(extension.WithTableCellAlignMethod(extension.TableCellAlignNone))), goldmark.WithParserOptions(parser.WithAutoHeadingID()))

// page is a file of the manual, parsed.
type page struct {
	Topic
	source []byte
	root   ast.Node
}

// pages are all of them, parsed once: what they hold never changes while the program runs.
var pages = sync.OnceValue(func() (all []*page) {
	names, err := fs.Glob(files, "*.md")
	if err != nil {
		panic(err) // the pattern is a constant
	}
	for _, file := range names {
		source, err := files.ReadFile(file)
		if err != nil {
			panic(err) // embedded
		}
		base := strings.TrimSuffix(file, ".md")
		p := &page{Topic: Topic{Name: strings.TrimPrefix(base, "howto-"), Group: groupOf(base), file: base}, source: source}
		p.root = markdown.Parser().Parse(text.NewReader(source))
		if h, ok := p.root.FirstChild().(*ast.Heading); ok {
			p.Title = plain(h, source)
		}
		all = append(all, p)
	}
	return all
})

// Topics are the pages of the manual by group, in each by title.
func Topics() []Topic {
	var all []Topic
	for _, p := range pages() {
		all = append(all, p.Topic)
	}
	slices.SortStableFunc(all, func(a, b Topic) int {
		if d := slices.Index(Groups, a.Group) - slices.Index(Groups, b.Group); d != 0 {
			return d
		}
		return strings.Compare(a.Title, b.Title)
	})
	return all
}

// Place is where a word is explained: a page as a whole, a section of it, or one row of
// a table there.
type Place struct {
	Topic
	Anchor string // of the section; empty: the whole page
	page   *page
	from   ast.Node // the heading of the section
	row    ast.Node // the row that is about the word
}

// Address is the place as a browser asks for it.
func (p Place) Address() string {
	if p.Anchor == "" {
		return "/help/" + p.Name
	}
	return "/help/" + p.Name + "#" + p.Anchor
}

// Find looks a word up: a page by its name, a term of the glossary, a field of a form or
// a column or key of a file, a section by its heading, in this order.
func Find(word string) (Place, bool) {
	word = strings.ToLower(strings.TrimSpace(word))
	if !strings.ContainsFunc(word, func(r rune) bool { return r >= 'a' && r <= 'z' }) {
		return Place{}, false
	}
	name, anchor, _ := strings.Cut(word, "#")
	for _, p := range pages() {
		if name != p.Name && name != p.file {
			continue
		}
		if anchor == "" {
			return Place{Topic: p.Topic, page: p}, true
		}
		return p.section(func(h *ast.Heading) bool { return idOf(h) == anchor })
	}
	if at, ok := find(word); ok {
		return at, true
	}
	if at, ok := find(counted.ReplaceAllString(word, "n")); ok { // fields that are counted up: kind_2 is kind_N
		return at, true
	}
	one, many := strings.CutSuffix(word, "s")
	if !many {
		return Place{}, false
	}
	return find(one)
}

var counted = regexp.MustCompile(`[0-9]+`)

func find(word string) (Place, bool) {
	bare := slug(word)
	for _, look := range []func(p *page) (Place, bool){
		func(p *page) (Place, bool) {
			if p.file != "glossary" {
				return Place{}, false
			}
			return p.section(func(h *ast.Heading) bool { return h.Level > 2 && idOf(h) == bare })
		},
		func(p *page) (Place, bool) { return p.field(word) },
		func(p *page) (Place, bool) {
			return p.section(func(h *ast.Heading) bool { return h.Level > 1 && strings.Contains(idOf(h), bare) })
		},
	} {
		for _, p := range pages() {
			if at, ok := look(p); ok {
				return at, true
			}
		}
	}
	return Place{}, false
}

// section is the first heading that is meant.
func (p *page) section(meant func(*ast.Heading) bool) (Place, bool) {
	for n := p.root.FirstChild(); n != nil; n = n.NextSibling() {
		if h, ok := n.(*ast.Heading); ok && meant(h) {
			return Place{Topic: p.Topic, Anchor: idOf(h), page: p, from: h}, true
		}
	}
	return Place{}, false
}

// field is the row of a table whose first cell has the word as code, or the section whose
// example of a file sets it as a key.
func (p *page) field(word string) (Place, bool) {
	var heading *ast.Heading
	for n := p.root.FirstChild(); n != nil; n = n.NextSibling() {
		switch x := n.(type) {
		case *ast.Heading:
			heading = x
		case *extast.Table:
			for row := x.FirstChild(); row != nil; row = row.NextSibling() {
				if slices.Contains(codes(row.FirstChild(), p.source), word) {
					return p.under(heading, row), true
				}
			}
		case *ast.FencedCodeBlock:
			for _, line := range strings.Split(string(x.Lines().Value(p.source)), "\n") {
				key, _, found := strings.Cut(strings.TrimLeft(line, "# "), "=")
				if found && strings.TrimSpace(key) == word {
					return p.under(heading, nil), true
				}
			}
		}
	}
	return Place{}, false
}

func (p *page) under(h *ast.Heading, row ast.Node) Place {
	at := Place{Topic: p.Topic, page: p, row: row}
	if h != nil {
		at.Anchor, at.from = idOf(h), h
	}
	return at
}

// codes are the code spans within a cell, in small letters.
func codes(cell ast.Node, source []byte) (out []string) {
	if cell == nil {
		return nil
	}
	ast.Walk(cell, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if c, ok := n.(*ast.CodeSpan); ok && entering {
			out = append(out, strings.ToLower(plain(c, source)))
		}
		return ast.WalkContinue, nil
	})
	return out
}

// Terms are the entries of the glossary that stand in the standards, each with its
// address: words that pages link.
func Terms() map[string]string {
	out := map[string]string{}
	for _, p := range pages() {
		if p.file != "glossary" {
			continue
		}
		linked := false
		for n := p.root.FirstChild(); n != nil; n = n.NextSibling() {
			h, ok := n.(*ast.Heading)
			switch {
			case ok && h.Level == 2:
				linked = idOf(h) == linkedTerms
			case ok && linked:
				out[strings.ToLower(plain(h, p.source))] = "/help/glossary#" + idOf(h)
			}
		}
	}
	return out
}

// linkedTerms is the section of the glossary whose words are linked where they stand.
const linkedTerms = "terms-of-the-standards"

func idOf(h *ast.Heading) string {
	id, _ := h.AttributeString("id")
	b, _ := id.([]byte)
	return string(b)
}

// slug is a heading's id for its words, as the parser makes it.
func slug(words string) string {
	return string(parser.NewContext().IDs().Generate([]byte(words), ast.KindParagraph))
}

// plain is the text of a node without its marks.
func plain(n ast.Node, source []byte) string {
	var b strings.Builder
	ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch x := n.(type) {
		case *ast.Text:
			b.Write(x.Segment.Value(source))
			if x.SoftLineBreak() || x.HardLineBreak() {
				b.WriteByte(' ')
			}
		case *ast.String:
			b.Write(x.Value)
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}

// Picture is a picture of the manual.
func Picture(name string) ([]byte, bool) {
	if ext := path.Ext(name); ext != ".png" && ext != ".svg" {
		return nil, false
	}
	data, err := files.ReadFile(name)
	return data, err == nil
}
