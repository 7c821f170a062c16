package docs

import (
	"bytes"
	"html/template"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/text"
)

// Page is a page of the manual for a browser. Its title is not in it.
func Page(name string) (Topic, template.HTML, bool) {
	for _, p := range pages() {
		if p.Name == name {
			return p.Topic, p.html(), true
		}
	}
	return Topic{}, "", false
}

// tables and blocks of code may be wider than a phone: they are moved by finger or key.
var wide = strings.NewReplacer(
	"<table>", `<div class="wide" tabindex="0" role="group" aria-label="Table"><table>`, "</table>", "</table></div>",
	"<th></th>", "<td></td>", // a head without words heads nothing
	"<pre>", `<pre tabindex="0">`,
)

func (p *page) html() template.HTML {
	root := markdown.Parser().Parse(text.NewReader(p.source)) // its own: links are turned in it
	ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		switch x := n.(type) {
		case *ast.Link:
			if entering {
				x.Destination = []byte(address(string(x.Destination)))
			}
		case *ast.Image:
			if entering {
				x.Destination = append([]byte("/help/picture/"), x.Destination...)
			}
		}
		return ast.WalkContinue, nil
	})
	if h, ok := root.FirstChild().(*ast.Heading); ok && h.Level == 1 {
		root.RemoveChild(root, h)
	}
	var b bytes.Buffer
	if err := markdown.Renderer().Render(&b, p.source, root); err != nil {
		panic(err) // a buffer takes everything
	}
	return template.HTML(wide.Replace(b.String())) // the program's own documents, without raw HTML
}

// address turns a link between documents into one between pages.
func address(link string) string {
	file, anchor, found := strings.Cut(link, "#")
	if found {
		anchor = "#" + anchor
	}
	switch name, isPage := strings.CutSuffix(file, ".md"); {
	case !isPage: // within the page, or elsewhere
		return link
	case strings.HasSuffix(name, "README"):
		return "/help/start"
	default:
		return "/help/" + strings.TrimPrefix(name, "howto-") + anchor
	}
}
