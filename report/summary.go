package report

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/chart"
	"knownwater/chart/raster"
	"knownwater/science/assess"
)

// Summary is a trial on one plain page: for a forum or a club.
type Summary struct {
	Title    string
	Verdict  []string // what to use, and what nothing can do
	Rests    string   // what it rests on
	Needs    []summaryNeed
	Cautions []string
	By       string // author and licence; may be empty
}

type summaryNeed struct {
	Need, Use, Range string
	Rows             []string
}

// SummaryOf is the summary of a trial.
func SummaryOf(f assess.Findings, t knownwater.Trial, title, by string) Summary {
	a := newAnswer(english, f, t, asTheyAre(trialScale(f)))
	s := Summary{Title: clean(title), Verdict: a.Head, Rests: a.From, By: clean(by),
		Cautions: []string{"Compared with known water that its authors made. Not for drinking water, medical or legal decisions."}}
	if len(a.Open) > 0 {
		s.Cautions = append(s.Cautions, verb(len(a.Open), "A question about the readings is open.", english.Say("{1} questions about the readings are open.", numeralHead(len(a.Open)))))
	}
	if slices.ContainsFunc(a.Rows, func(r answerRow) bool { return slices.ContainsFunc(r.Cells, func(c answerCell) bool { return c.Use }) }) {
		s.Cautions = append(s.Cautions, english.Say("Named is what has most of the permitted error to spare; what costs least may be another (knownwater choose)."))
	}
	for _, p := range a.Untried {
		s.Cautions = append(s.Cautions, english.Say("Not tried: {1} {2}", p.Head, p.Say))
	}
	for _, r := range a.Rows {
		n := summaryNeed{Need: r.Need, Use: r.Use, Range: r.Range}
		for _, c := range r.Cells {
			line := c.Method + ": " + c.Verdict
			if c.Within != "" {
				line += ", " + c.Within
			}
			n.Rows = append(n.Rows, line)
		}
		s.Needs = append(s.Needs, n)
	}
	return s
}

func numeralHead(n int) string { return capital(numeral(n)) }

// Text is the summary as it is pasted into a forum.
func (s Summary) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n%s\n%s\n", s.Title, strings.Join(s.Verdict, " "), s.Rests)
	for _, n := range s.Needs {
		fmt.Fprintf(&b, "\n“%s” (%s): %s\n", n.Need, n.Range, n.Use)
		for _, r := range n.Rows {
			fmt.Fprintf(&b, "- %s\n", r)
		}
	}
	fmt.Fprintln(&b)
	for _, c := range s.Cautions {
		fmt.Fprintln(&b, c)
	}
	if s.By != "" {
		fmt.Fprintln(&b, s.By)
	}
	return b.String()
}

// posterWidth is how wide the summary's figure is laid out; as a picture it has twice as
// many points across, which is what people post. Its two shapes are a wide and a square one.
const posterWidth = 600

// PosterShapes are the shapes of the summary's figure by name, and how high each is.
var PosterShapes = map[string]float64{"wide": 338, "square": 600}

// Poster is the summary's figure: the methods as they are used against one need, the first
// that something does, else the first.
func Poster(f assess.Findings, t knownwater.Trial, title, by string, height float64) chart.Poster {
	a := newAnswer(english, f, t, asTheyAre(trialScale(f)))
	p := chart.Poster{ID: "summary", Title: clean(title), Height: height, Foot: wrapped([]string{english.Say("Known water judged it: {1}", a.From)}, 92, 2)}
	if by != "" {
		p.Foot = append(p.Foot, cut(clean(by), 92))
	}
	at := -1
	for i, r := range a.Rows {
		for _, c := range r.Cells {
			if c.Use && at < 0 {
				at = i
			}
		}
	}
	if at = max(at, 0); len(a.Rows) == 0 {
		p.Head = wrapped(a.Head, 72, 3)
		return p
	}
	r := a.Rows[at]
	p.Desc = strings.Join(a.Head, " ")
	p.Head = wrapped([]string{"“" + r.Need + "”: " + r.Use}, 72, 2)
	p.Sub = wrapped([]string{english.Say("{1}. Bars: within which error 95 of 100 results lie, with 95 % limits.", r.Range)}, 92, 2)
	for _, c := range r.Cells {
		row := chart.PosterRow{Name: cut(c.Method, 22), Words: cut(c.Verdict, 30), Tried: c.tried, Use: c.Use, Bar: chart.Bar{Low: math.NaN(), High: math.NaN(), Notch: math.NaN()}}
		if len(c.bars) > 0 {
			row.Bar = c.bars[0]
			row.Bar.Notch = math.NaN()
		}
		p.Rows = append(p.Rows, row)
	}
	return p
}

// wrapped breaks texts into lines of so many letters, so many at most.
func wrapped(texts []string, width, most int) (out []string) {
	line := ""
	for _, word := range strings.Fields(strings.Join(texts, " ")) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			out, line = append(out, line), ""
		}
		line = strings.TrimSpace(line + " " + word)
	}
	out = append(out, line)
	if len(out) > most {
		out = out[:most]
		out[most-1] = cut(out[most-1]+" …", width)
	}
	return out
}

// PosterPNG paints the figure.
func PosterPNG(w io.Writer, p chart.Poster) error {
	scene, err := raster.Lay(p.SVG(), posterWidth)
	if err != nil {
		return fmt.Errorf("laying the summary out: %w", err)
	}
	return scene.PNG(w, fileScale)
}

// PosterSVG is the figure as a file of its own.
func PosterSVG(p chart.Poster) string {
	return strings.Replace(p.SVG(), `width="100%"`, fmt.Sprintf(`width="%d"`, posterWidth), 1)
}

// HTML is the summary as a page of its own, with its figure.
func (s Summary) HTML(svg string) []byte {
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, "summary", struct {
		Summary
		Figure template.HTML
	}{s, figure(strings.Replace(svg, "<svg ", `<svg viewBox="0 0 `+fmt.Sprint(posterWidth)+` `+fmt.Sprint(PosterShapes["wide"])+`" `, 1))}); err != nil {
		panic(err) // our own template
	}
	return b.Bytes()
}
