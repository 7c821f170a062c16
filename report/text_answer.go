package report

import (
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"knownwater/chart"
)

// answer is the short text: what the first screen of the page says, in at most
// some forty lines.
func (w *writer) answer(v view) {
	a := v.Answer
	w.para("", strings.Join(a.Head, " "))
	w.para("", a.From)
	w.questions(a.Open)
	w.answered(v.Answered)
	for _, r := range a.Rows {
		w.gap()
		w.need(r)
	}
	if s := a.Says; s != nil {
		var parts []string
		for _, r := range s.Rows {
			parts = append(parts, r.Reading+": "+r.Says)
		}
		w.point(english.Say("A reading by {1} says ({2}, 95 %)", s.Name, v.Scale)+" ", strings.Join(parts, "; ")+".")
	}
	if len(a.Reads) > 0 {
		w.point(english.Say("Bias ({1}):", v.Scale)+" ", strings.Join(a.Reads, "; ")+".")
	}
	if len(a.Rows) > 0 || len(a.Untried) > 0 {
		w.point("Not tried: ", points(a.Untried))
	}
	w.point("Next: ", points(slices.DeleteFunc(slices.Clone(a.Next), func(p pointView) bool { return p.Head == ownWater }))) // said above
	w.remarks(v.Notes)
}

func points(list []pointView) string {
	parts := make([]string, len(list))
	for i, p := range list {
		parts[i] = strings.TrimSpace(p.Head + " " + p.Say)
	}
	return strings.Join(parts, " ")
}

// point is a paragraph with its label in front, if it has anything to say.
func (w *writer) point(label, s string) {
	if s != "" {
		w.wrap("", "  ", label+s)
	}
}

// mostOpen is how many questions are written out before the rest is counted.
const mostOpen = 4

func (w *writer) questions(open []openView) {
	most := mostOpen
	if w.full {
		most = len(open)
	}
	for i, q := range open[:min(len(open), most)] {
		label, who := "  ? ", ""
		if i == 0 {
			label = english.Say("Questions first:") + " "
		}
		if q.Method != "" {
			who = q.Method + ": "
		}
		w.wrap(label, "    ", who+q.Question+" "+q.Evidence+q.holds())
	}
	if n := len(open) - most; n > 0 {
		w.line("  " + english.Say("? and {1}", things(n, "more question")) + ": --full prints them")
	}
}

// answered tells which questions were answered, and how.
func (w *writer) answered(list []answeredView) {
	for i, a := range list {
		if i == 0 {
			w.gap()
		}
		who := ""
		if a.Method != "" {
			who = a.Method + ": "
		}
		w.wrap("Answered: ", "    ", who+a.Text+" "+capital(a.Word)+". "+a.Why)
	}
}

func (q openView) holds() string {
	if q.Holds {
		return " " + english.Say("Until it is answered, a verdict that it could overturn is held back.")
	}
	return ""
}

// mostRemarks is how many remarks on the files stand in the short text.
const mostRemarks = 4

func (w *writer) remarks(notes []string) {
	for i, n := range notes {
		if i == mostRemarks && !w.full {
			w.line("  " + english.Say("- and {1}", things(len(notes)-i, "more remark")) + ": --full prints them")
			break
		}
		if i == 0 {
			w.line("Remarks:")
		}
		w.hang("  - ", n)
	}
}

// Widths of the columns of a need.
const (
	barWidth   = 17
	wideEnough = 84 // columns from which on the error is drawn as well
	twoLines   = 72 // columns below which a method takes two lines
)

// need is one need with every method: name, the error as a small figure, the
// verdict, the error in numbers, and what would settle it.
func (w *writer) need(r answerRow) {
	s := "“" + r.Need + "”"
	if r.Range != "" {
		s += " (" + r.Range + ")"
	}
	w.para("", strings.TrimSpace(s+": "+r.Use+" "+r.More))
	name, verdict, within := 0, 0, 0
	for _, c := range r.Cells {
		name = max(name, utf8.RuneCountInString(c.Method))
		verdict = max(verdict, utf8.RuneCountInString(c.Verdict))
		within = max(within, utf8.RuneCountInString(c.Within))
	}
	name = min(name, max(10, w.width/4))
	for _, c := range r.Cells {
		mark := " "
		if c.Use {
			mark = "→"
		}
		line := mark + " " + pad(cut(c.Method, name), name) + "  "
		if w.width >= wideEnough {
			line += halfText(c) + "  "
		}
		line += pad(c.Verdict, verdict)
		after := c.Settle
		if after == "" {
			after = c.AsRead
		}
		if w.width < twoLines {
			w.line(cut(line, w.width))
			if s := strings.TrimSpace(c.Within + "  " + after); s != "" {
				w.para("    ", s)
			}
			continue
		}
		line += "  " + pad(c.Within, within)
		if room := w.width - utf8.RuneCountInString(line) - 2; utf8.RuneCountInString(after) <= room || c.Settle != "" && room >= 12 {
			line += "  " + cut(after, room)
		}
		w.line(cut(line, w.width))
	}
}

func pad(s string, n int) string {
	return s + strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s)))
}

// halfText is half a ladder in letters: no error at the left, the permitted one
// at the upright. Full is fit, grey undecided, light not fit.
func halfText(c answerCell) string {
	line := []rune(strings.Repeat("·", barWidth))
	if !c.tried {
		line = []rune(strings.Repeat("╱", barWidth))
	}
	if len(c.bars) > 0 {
		b := c.bars[0]
		fill := map[chart.Verdict]rune{chart.Within: '█', chart.Undecided: '▒', chart.Outside: '░'}[b.Verdict]
		at := func(r float64) int {
			if math.IsInf(r, 1) {
				return barWidth - 1
			}
			return min(barWidth-1, int(r/(1+r)*barWidth))
		}
		if !math.IsNaN(b.Low) && fill != 0 {
			for i := at(b.Low); i <= at(b.High); i++ {
				line[i] = fill
			}
		}
	}
	return string(line[:barWidth/2+1]) + "│" + string(line[barWidth/2+1:])
}

// ends tells where the rest is.
func (w *writer) ends() {
	w.para("", "Not for drinking water, medical or legal decisions. More: --full, or --html FILE for the page.")
}
