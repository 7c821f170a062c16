package report

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"knownwater"
	"knownwater/science/assess"
)

// Options are a reader's wishes for the text.
type Options struct {
	Width int  // columns of the terminal; 0 means 96
	Full  bool // everything, not the answer alone
}

// Text is the findings as a hobbyist reads them in a terminal: the answer, and
// where everything is asked for every method after it, verdict first.
func Text(f assess.Findings, t knownwater.Trial, o Options) string {
	w := &writer{width: o.Width, full: o.Full}
	if w.width == 0 {
		w.width = 96
	}
	w.width = max(40, min(100, w.width))
	v := newView(english, f, t, asTheyAre)
	w.answer(v)
	if !o.Full {
		w.ends()
		return w.b.String()
	}
	w.sub(v.Title)
	for _, x := range v.Facts {
		w.hang(fmt.Sprintf("  %-13s", x.Label), x.Value)
	}
	w.summary(v)
	for _, m := range v.Methods {
		w.method(m, v.Scale)
	}
	w.closing(f, v)
	return w.b.String()
}

// WriteText writes Text.
func WriteText(out io.Writer, f assess.Findings, t knownwater.Trial, o Options) error {
	_, err := io.WriteString(out, Text(f, t, o))
	return err
}

type writer struct {
	b     strings.Builder
	width int
	full  bool
}

func (w *writer) line(s string) { w.b.WriteString(strings.TrimRight(s, " ") + "\n") }
func (w *writer) gap()          { w.b.WriteString("\n") }

func (w *writer) sub(s string) {
	w.gap()
	w.para("", s)
	w.line(strings.Repeat("─", min(w.width, utf8.RuneCountInString(s))))
}

// para wraps text with an indent; hang wraps it beside a label.
func (w *writer) para(indent, s string) { w.wrap(indent, indent, s) }
func (w *writer) hang(label, s string) {
	w.wrap(label, strings.Repeat(" ", utf8.RuneCountInString(label)), s)
}

func (w *writer) wrap(first, rest, s string) {
	line, empty := first, true
	for _, word := range strings.Fields(s) {
		for {
			room := w.width - utf8.RuneCountInString(line)
			if !empty {
				room--
			}
			if utf8.RuneCountInString(word) <= room {
				break
			}
			if empty { // a word longer than the line is broken
				r := []rune(word)
				cut := max(1, min(room, len(r)))
				w.line(line + string(r[:cut]))
				word = string(r[cut:])
				line = rest
				if word == "" {
					break
				}
				continue
			}
			w.line(line)
			line, empty = rest, true
		}
		if word == "" {
			continue
		}
		if !empty {
			line += " "
		}
		line, empty = line+word, false
	}
	w.line(line)
}

// table aligns columns; the first is left, the others right. A table too wide
// for the line has its first column cut.
func (w *writer) table(indent string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	widths := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, c := range r {
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	total := utf8.RuneCountInString(indent) + 2*(len(widths)-1)
	for _, n := range widths {
		total += n
	}
	if total > w.width {
		widths[0] = max(14, widths[0]-(total-w.width))
	}
	for _, r := range rows {
		line := indent
		for i, c := range r {
			c = cut(c, widths[i])
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			if i == 0 {
				line += c + pad
				continue
			}
			line += "  " + pad + c
		}
		w.line(line)
	}
}

// cut shortens a text to n letters in its middle: names often differ at their ends. What stands in brackets
// there is left whole where room for a few letters stays before it: "er diluted)" says something else.
func cut(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	tail := (n - 1) / 2
	if i := strings.LastIndex(s, " ("); i >= 0 && strings.HasSuffix(s, ")") {
		if k := utf8.RuneCountInString(s[i:]); k > tail && n-1-k >= 4 {
			tail = k
		}
	}
	return string(r[:n-1-tail]) + "…" + string(r[len(r)-tail:])
}

// summary is each need with its verdicts in full.
func (w *writer) summary(v view) {
	if len(v.Needs) > 0 {
		w.sub("Each method for each need")
	}
	for i, n := range v.Needs {
		if i > 0 {
			w.gap()
		}
		w.para("  ", english.Say("For “{1}”:", n.Name))
		if n.Range != "" {
			w.para("  ", english.Say("({1}; permitted error of a single result: {2})", n.Range, n.Permitted))
		}
		if len(n.Rows) == 0 {
			continue
		}
		w.gap()
		rows := [][]string{{"method", "verdict", "as read", "corrected", "permitted", "more tests"}}
		for _, r := range n.Rows {
			rows = append(rows, []string{r.Method, r.Verdict, r.RawTo, r.CorrectedTo, r.Permitted, r.More})
		}
		w.table("  ", rows)
		w.para("  ", english.Say("As read, corrected: 95 of 100 single results lie within ± this much ({1}, 95 % interval) where it is worst against the permitted error.", v.Scale))
	}
}

func (w *writer) method(m methodView, scale string) {
	w.sub(m.Name)
	w.para("", capital(m.Kind)+"; "+m.Counts+".")
	for _, d := range m.Verdicts {
		s := d.Sentence.String()
		if d.Need != "" && len(m.Verdicts) > 1 {
			s = "“" + d.Need + "”: " + s
		}
		w.para("", s)
		for _, more := range append([]string{d.Settle, d.Why, d.AtShare}, d.Beside...) {
			if more != "" {
				w.para("  ", more)
			}
		}
	}
	if m.Reads != "" {
		w.para("", m.Reads)
	}
	w.levels(m, scale)
	w.facts(m, scale)
	for _, n := range m.Notes {
		w.hang("  note: ", n)
	}
}

func (w *writer) levels(m methodView, scale string) {
	if len(m.Levels) == 0 {
		return
	}
	w.gap()
	rows := [][]string{{"known", "n", "mean reading", "bias", "sd of one test", "one test"}}
	one := false
	for _, l := range m.Levels {
		mean, bias := l.Mean.compact(), l.Bias.compact()
		if l.OneStep {
			mean, bias, one = mean+" *", bias+" *", true
		}
		rows = append(rows, []string{l.Known, l.N, mean, bias, l.SD.compact(), l.One})
	}
	w.table("  ", rows)
	w.para("  ", english.Say("In {1}", scale)+"; in brackets the 95 % interval. Known ± and one test ±: expanded uncertainty, k = 2; bias is not inside the latter.")
	if one {
		w.para("  ", "* All readings fell in one step: no value inside it is better than another, so no best value is given.")
	}
}

// facts are the short findings under the table.
func (w *writer) facts(m methodView, scale string) {
	var ls []string
	for _, l := range m.Limits {
		if l.Value != none {
			ls = append(ls, l.Name+" "+l.Value)
		}
	}
	label := func(s string) string { return fmt.Sprintf("  %-13s", s) }
	w.gap()
	s := strings.Join(ls, ", ")
	if s != "" {
		s += " " + english.Say("{1} (true concentrations).", scale)
	}
	w.hang(label("Limits"), strings.TrimSpace(s+" "+m.LimitsWhy))
	w.stepLines(label, m, scale)
	if m.Line != "" {
		w.hang(label("Line"), m.Line+".")
	}
	if m.Shape != "" {
		w.hang(label("Shape"), m.Shape)
	}
	at := ""
	if m.SpreadAt != "" {
		at = " " + english.Say("at a reading of {1}", m.SpreadAt)
	}
	if len(m.Spread) > 0 {
		var parts []string
		for _, p := range m.Spread {
			parts = append(parts, p.Name+" "+p.Value.String())
		}
		w.hang(label("Spread"), english.Say("one standard deviation{1}: {2}.", at, strings.Join(parts, "; ")))
	}
	if len(m.Readers) > 0 {
		var parts []string
		for _, p := range m.Readers {
			parts = append(parts, p.Name+" "+p.Value.String())
		}
		w.hang(label("Readers"), english.Say("against their average{1}: {2}.", at, strings.Join(parts, "; ")))
	}
	if s := lotsOf(m.f); s != "" {
		w.hang(label("Lots"), english.Say("against their mean: {1}.", s))
	}
	for i, t := range m.Techniques {
		l := label("")
		if i == 0 {
			l = label("Technique")
		}
		w.hang(l, t.Sentence.String()+" "+t.Ratio)
	}
	for i, r := range examples(m.ReadBack, 6) {
		l := label("")
		if i == 0 {
			l = label("A reading of")
		}
		w.hang(l, english.Say("“{1}” says {2}.", r.Reading, r.Says))
	}
}

// stepLines is a small table lying down: from each level, the rise that shows.
func (w *writer) stepLines(label func(string) string, m methodView, scale string) {
	steps := examples(m.Steps, 8)
	if len(steps) == 0 {
		return
	}
	from, same, other := []string{"from"}, []string{"same reader"}, []string{"other reader"}
	beyond, others := false, false
	for _, s := range steps {
		from, same, other = append(from, s.From), append(same, s.Same), append(other, s.Other)
		beyond = beyond || s.Same == none
		others = others || s.Other != none
	}
	w.hang(label("Tells apart"), english.Say("with one test each, 95 times in 100, only water that lies this much higher ({1}):", scale))
	rows := [][]string{from, same}
	if others {
		rows = append(rows, other)
	}
	w.table(label(""), rows)
	if beyond {
		w.para(label(""), english.Say("{1} no rise within the range tried.", none))
	}
}

func (w *writer) closing(f assess.Findings, v view) {
	if len(v.Notes) > 0 {
		w.sub("Notes")
		for _, n := range v.Notes {
			w.hang("  - ", n)
		}
	}
	w.sub("Mind")
	for _, c := range v.Cautions[:3] {
		w.hang("  - ", c)
	}
	w.gap()
	w.para("", english.Say("Computed by knownwater {1} with seed {2}.", orUnknown(clean(f.Version)), fmt.Sprint(f.Seed)))
}

func orUnknown(s string) string {
	if s == "" {
		return english.Say("(version not stated)")
	}
	return s
}
