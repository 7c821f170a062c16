package docs

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"
	extast "github.com/yuin/goldmark/extension/ast"
)

// mostWidth keeps lines short enough to be read on a wide terminal.
const mostWidth = 96

// Text is what stands at a place, for a terminal of a width; 0 is none. bold makes
// headings stand out.
func (p Place) Text(width int, bold func(string) string) string {
	if width <= 0 || width > mostWidth {
		width = mostWidth
	}
	w := &writer{source: p.page.source, width: max(width, 30), bold: bold}
	switch h, _ := p.from.(*ast.Heading); {
	case p.row != nil:
		if h != nil {
			w.block(h, "")
		}
		w.stacked(p.row.Parent(), p.row, "")
	case h != nil:
		w.block(h, "")
		for n := h.NextSibling(); n != nil; n = n.NextSibling() {
			if next, ok := n.(*ast.Heading); ok && next.Level <= h.Level {
				break
			}
			w.block(n, "")
		}
	default:
		for n := p.page.root.FirstChild(); n != nil; n = n.NextSibling() {
			w.block(n, "")
		}
	}
	return strings.TrimLeft(w.String(), "\n")
}

type writer struct {
	strings.Builder
	source []byte
	width  int
	bold   func(string) string
}

// block writes a block with what stands before its lines.
func (w *writer) block(n ast.Node, before string) {
	switch x := n.(type) {
	case *ast.Heading:
		w.WriteString("\n")
		w.strong(w.inline(x), before)
	case *ast.Paragraph, *ast.TextBlock:
		w.WriteString("\n")
		w.folded(w.inline(x), before, before)
	case *ast.List:
		w.list(x, before)
	case *ast.FencedCodeBlock:
		info := ""
		if x.Info != nil {
			_, info, _ = strings.Cut(string(x.Info.Segment.Value(w.source)), " ")
		}
		w.WriteString("\n")
		if info != "" {
			w.WriteString(before + info + ":\n")
		}
		w.code(string(x.Lines().Value(w.source)), before)
	case *ast.CodeBlock:
		w.WriteString("\n")
		w.code(string(x.Lines().Value(w.source)), before)
	case *extast.Table:
		w.table(x, before)
	case *ast.Blockquote:
		for c := x.FirstChild(); c != nil; c = c.NextSibling() {
			w.block(c, before+"  ")
		}
	}
}

func (w *writer) code(lines, before string) {
	for _, line := range strings.Split(strings.TrimRight(lines, "\n"), "\n") {
		w.WriteString(strings.TrimRight(before+"    "+line, " ") + "\n")
	}
}

func (w *writer) list(l *ast.List, before string) {
	number := l.Start
	for item := l.FirstChild(); item != nil; item = item.NextSibling() {
		mark := "- "
		if l.IsOrdered() {
			mark = fmt.Sprintf("%d. ", number)
			number++
		}
		hang := before + strings.Repeat(" ", len(mark))
		first := true
		for c := item.FirstChild(); c != nil; c = c.NextSibling() {
			switch c.(type) {
			case *ast.Paragraph, *ast.TextBlock:
				if first {
					if item == l.FirstChild() || !l.IsTight {
						w.WriteString("\n")
					}
					w.folded(w.inline(c), before+mark, hang)
				} else {
					w.block(c, hang)
				}
			default:
				w.block(c, hang)
			}
			first = false
		}
	}
}

// table writes columns where they fit, else row by row.
func (w *writer) table(t *extast.Table, before string) {
	var rows [][]string
	var widths []int
	for row := t.FirstChild(); row != nil; row = row.NextSibling() {
		cells := w.cells(row)
		for i, c := range cells {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
		rows = append(rows, cells)
	}
	all := len(before)
	for _, n := range widths {
		all += n + 3
	}
	if all > w.width {
		for row := t.FirstChild().NextSibling(); row != nil; row = row.NextSibling() {
			w.stacked(t, row, before)
		}
		return
	}
	w.WriteString("\n")
	for i, cells := range rows {
		var line strings.Builder
		for k, c := range cells {
			line.WriteString(c + strings.Repeat(" ", widths[k]-utf8.RuneCountInString(c)+3))
		}
		text := strings.TrimRight(line.String(), " ")
		if i == 0 {
			if text == "" { // a table without heads
				continue
			}
			text = w.bold(text)
		}
		w.WriteString(before + text + "\n")
	}
}

// stacked writes one row of a table: its first cell, below it the others, each behind
// the head of its column.
func (w *writer) stacked(t, row ast.Node, before string) {
	heads, cells := w.cells(t.FirstChild()), w.cells(row)
	w.WriteString("\n")
	w.strong(cells[0], before)
	for i, c := range cells[1:] {
		if c == "" {
			continue
		}
		if h := heads[i+1]; h != "" {
			c = h + ": " + c
		}
		w.folded(c, before+"  ", before+"    ")
	}
}

func (w *writer) cells(row ast.Node) (out []string) {
	for c := row.FirstChild(); c != nil; c = c.NextSibling() {
		out = append(out, w.inline(c))
	}
	return out
}

// folded writes words in lines no longer than the width.
func (w *writer) folded(words, first, then string) {
	at, line := first, false
	for _, word := range strings.Fields(words) {
		switch {
		case !line:
			at, line = at+word, true
		case utf8.RuneCountInString(at)+1+utf8.RuneCountInString(word) > w.width:
			w.WriteString(at + "\n")
			at = then + word
		default:
			at += " " + word
		}
	}
	w.WriteString(at + "\n")
}

// strong writes words that stand out, line by line: no line is made longer by its marks.
func (w *writer) strong(words, before string) {
	plain := &writer{width: w.width}
	plain.folded(words, before, before)
	for line := range strings.Lines(plain.String()) {
		w.WriteString(w.bold(strings.TrimRight(line, "\n")) + "\n")
	}
}

// inline is the text of a block; a link says where it leads.
func (w *writer) inline(n ast.Node) string {
	var b strings.Builder
	ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		switch x := n.(type) {
		case *ast.Text:
			if entering {
				b.Write(x.Segment.Value(w.source))
				if x.SoftLineBreak() || x.HardLineBreak() {
					b.WriteByte(' ')
				}
			}
		case *ast.String:
			if entering {
				b.Write(x.Value)
			}
		case *ast.AutoLink:
			if entering {
				b.Write(x.URL(w.source))
			}
		case *ast.Image:
			if entering {
				b.WriteString("[picture: " + plain(x, w.source) + "]")
			}
			return ast.WalkSkipChildren, nil
		case *ast.Link:
			if !entering {
				b.WriteString(pointer(string(x.Destination)))
			}
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}

// pointer is how a link reads on a terminal: the command that opens the page.
func pointer(link string) string {
	file, _, _ := strings.Cut(link, "#")
	name, isPage := strings.CutSuffix(file, ".md")
	switch {
	case file == "", strings.HasSuffix(name, "README"):
		return ""
	case isPage:
		return " (knownwater help " + strings.TrimPrefix(name, "howto-") + ")"
	}
	return " (" + link + ")"
}
