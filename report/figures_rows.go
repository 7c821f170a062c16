package report

import (
	"fmt"
	"html/template"
	"math"

	"knownwater"
	"knownwater/chart"
	"knownwater/science/assess"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// rowView is a line of an interval figure: label, scale, words.
type rowView struct {
	Label, Note string
	SVG         template.HTML
	Value       estimate
	Words       string
	Word, Class string
}

// rowSet is such a figure with its axis.
type rowSet struct {
	Rows []rowView
	Axis template.HTML
	Unit string
}

// handsView is what hands and eyes do to one method.
type handsView struct {
	Name                        string
	Techniques, Readers, Spread rowSet
	SpreadAt                    string
	Says                        []techniqueView
}

func (h handsView) Any() bool {
	return len(h.Techniques.Rows)+len(h.Readers.Rows)+len(h.Spread.Rows) > 0
}

func newHands(i int, v methodView, scale string) handsView {
	h := handsView{Name: v.Name, SpreadAt: v.SpreadAt, Says: v.Techniques}
	h.Techniques = techniqueRows(i, v.f, scale)
	h.Readers = readerRows(i, v.f, scale)
	h.Spread = spreadRows(i, v, scale)
	return h
}

// techniqueRows has a row for every level that two techniques were both tried at, and where
// there are several one for the average, which alone has a verdict.
func techniqueRows(i int, m assess.MethodFinding, scale string) rowSet {
	set := rowSet{Unit: scale}
	var ends []float64
	for _, t := range m.Techniques {
		for _, l := range t.ByLevel {
			ends = append(ends, val(l.Low), val(l.High), val(l.Permitted), -val(l.Permitted))
		}
	}
	low, high := chart.Around(ends...)
	add := func(id string, a assess.Apart, margin num.Number, v chart.Verdict, label, beside, word string) {
		d := signed(a.Difference, a.Low, a.High)
		row := chart.Row{ID: id, Low: low, High: high, Margin: val(margin), Title: label + " " + beside + ": " + d.String() + " " + scale,
			Bars: []chart.Bar{{Low: val(a.Low), High: val(a.High), Notch: val(a.Difference), Verdict: v}}}
		set.Rows = append(set.Rows, rowView{Label: label, Note: beside, SVG: figure(row.SVG()), Value: d, Word: word, Class: class(v)})
		set.Axis = figure(row.Axis(true))
	}
	for j, t := range m.Techniques {
		v := chart.Plain
		switch t.Verdict {
		case assess.SameForNeed:
			v = chart.Within
		case assess.Undecided:
			v = chart.Undecided
		case assess.Different:
			v = chart.Outside
		}
		margin := t.Margin
		if len(t.ByLevel) > 1 {
			margin = num.None // each level has its own
		}
		add(fmt.Sprintf("tech-%d-%d", i, j), t.Apart, margin, v, clean(t.To), english.Say("instead of {1}", clean(t.From)), verdictWord(t.Verdict))
		for k, l := range t.ByLevel {
			if len(t.ByLevel) > 1 {
				add(fmt.Sprintf("tech-%d-%d-%d", i, j, k), l.Apart, l.Permitted, chart.Plain, english.Say("at {1}", short(num.Number(l.Level))), "", "")
			}
		}
	}
	return set
}

// verdictWord is a verdict on techniques in a figure: no need given means that
// none reaches the levels tried.
func verdictWord(v string) string {
	if v == assess.NoNeedGiven {
		return english.Say("not judged")
	}
	return v
}

func readerRows(i int, m assess.MethodFinding, scale string) rowSet {
	set := rowSet{Unit: scale}
	var ends []float64
	for _, o := range m.Readers {
		ends = append(ends, val(o.Low), val(o.High))
	}
	low, high := chart.Around(ends...)
	for j, o := range m.Readers {
		d := signed(o.Offset, o.Low, o.High)
		row := chart.Row{ID: fmt.Sprintf("reader-%d-%d", i, j), Low: low, High: high, Title: clean(o.Reader) + ": " + d.String() + " " + scale,
			Bars: []chart.Bar{{Low: val(o.Low), High: val(o.High), Notch: val(o.Offset)}}}
		set.Rows = append(set.Rows, rowView{Label: clean(o.Reader), SVG: figure(row.SVG()), Value: d})
		set.Axis = figure(row.Axis(true))
	}
	return set
}

func spreadRows(i int, v methodView, scale string) rowSet {
	set := rowSet{Unit: scale}
	high := 0.0
	for _, p := range v.Spread {
		for _, n := range []float64{p.low, p.sd, p.high} {
			if !math.IsNaN(n) {
				high = math.Max(high, n)
			}
		}
	}
	for j, p := range v.Spread {
		b := chart.Bar{Low: p.low, High: p.high, Notch: p.sd}
		if !(b.Low > 0) {
			b.Low = 0
		}
		if math.IsNaN(b.High) {
			b.High = p.sd
		}
		row := chart.Row{ID: fmt.Sprintf("spread-%d-%d", i, j), Low: 0, High: high * 1.06, Bars: []chart.Bar{b}, Title: p.Name + ": " + p.Value.String() + " " + scale}
		set.Rows = append(set.Rows, rowView{Label: p.Name, Note: p.Words, SVG: figure(row.SVG()), Value: p.Value})
		set.Axis = figure(row.Axis(false))
	}
	return set
}

// readBackView is what the readings of one method say.
type readBackView struct {
	Name string
	Rows rowSet
	All  []readBackRow
	More int // rows left out of All
}

const mostReadBack = 300

func newReadBackView(i int, v methodView, scale string) readBackView {
	m := v.f
	out := readBackView{Name: v.Name, All: v.ReadBack}
	if len(out.All) > mostReadBack {
		out.All, out.More = examples(out.All, mostReadBack), len(out.All)-mostReadBack
	}
	on := map[string]chart.Mark{}
	var ends []float64
	for _, l := range m.Levels {
		ends = append(ends, l.Level)
		for _, s := range l.Seen {
			on[s.Text] = mark(s)
		}
	}
	s := chart.ScaleFor(ends...)
	s.Top *= 1.25
	out.Rows.Unit = scale
	for j, r := range examples(m.ReadBack, 8) {
		row := chart.Row{ID: fmt.Sprintf("back-%d-%d", i, j), Scale: &s, Title: english.Say("“{1}” says {2}", clean(r.Reading), readBackWords(r, scale)), Bars: setBars(r)}
		if seen, ok := on[r.Reading]; ok {
			row.Readings = []chart.Mark{seen}
		}
		out.Rows.Rows = append(out.Rows.Rows, rowView{Label: clean(r.Reading), SVG: figure(row.SVG()), Words: readBackWords(r, scale)})
		out.Rows.Axis = figure(row.Axis(false))
	}
	return out
}

// setBars are the pieces of a read-back set.
func setBars(r assess.ReadBack) []chart.Bar {
	if len(r.Parts) > 1 {
		var bars []chart.Bar
		for _, p := range r.Parts {
			bars = append(bars, chart.Bar{Low: val(p[0]), High: val(p[1]), Notch: math.NaN()})
		}
		return bars
	}
	b := chart.Bar{Low: val(r.Low), High: val(r.High), Notch: val(r.Level)}
	if r.Open != nil && *r.Open == "below" {
		b.Low = math.Inf(-1)
	}
	if r.Open != nil && *r.Open == "above" {
		b.High = math.Inf(1)
	}
	return []chart.Bar{b}
}

// plotView is a figure of one method with its words.
type plotView struct {
	Name, Say string
	SVG       template.HTML
}

func newResponse(i int, v methodView, scale string) (plotView, bool) {
	m := v.f
	r := chart.Response{ID: fmt.Sprintf("response-%d", i), Title: english.Say("{1}: mean reading against known", v.Name), At: m.Shape.At,
		Across: english.Say("known, {1}", scale), Up: english.Say("mean reading, {1}", scale), Equal: "reads right"}
	var all []float64
	for _, y := range m.Shape.Mean {
		r.Mean, all = append(r.Mean, val(y)), append(all, val(y))
	}
	for _, l := range m.Levels {
		if l.MeanLow.OK() && l.MeanHigh.OK() {
			r.Levels = append(r.Levels, chart.Point{X: l.Level, Low: val(l.MeanLow), High: val(l.MeanHigh), Mid: val(l.Mean)})
			all = append(all, l.Level, val(l.MeanHigh))
			r.Desc += fmt.Sprintf("At %s: %s. ", typed(l.Level, l.ULevel), number(l.Mean, l.MeanLow, l.MeanHigh))
		}
	}
	if len(r.Levels) == 0 {
		return plotView{}, false
	}
	levels := []float64{}
	for _, l := range m.Levels {
		levels = append(levels, l.Level)
	}
	r.Scale = chart.ScaleFor(levels...)
	r.Scale.Top = chart.ScaleFor(all...).Top
	return plotView{Name: v.Name, SVG: figure(r.SVG())}, true
}

// newAlong is the error along a need; false where there is nothing to draw.
func newAlong(i, j int, v methodView, n assess.NeedFinding, need knownwater.Need, scale string) (plotView, bool) {
	a := alongFigure(english, v.Name, reading.Of(knownwater.Kind(v.f.Kind)).Coarse, n, need, scale)
	a.ID, a.Desc = fmt.Sprintf("along-%d-%d", i, j), verdictOn(n, scale).String()
	p := plotView{Name: v.Name, Say: verdictNow(n)}
	if !a.Drawn() {
		return p, false
	}
	p.SVG = figure(a.SVG())
	return p, true
}

func alongFigure(l speech, name string, stepped bool, n assess.NeedFinding, need knownwater.Need, scale string) chart.Along {
	a := chart.Along{Title: l.Say("{1}: error of single results along the need", name), Low: need.Low, High: need.High, Stepped: stepped,
		Across: l.Say("true concentration, {1}", scale), Up: l.Say("± error of 95 in 100, {1}", scale)}
	for _, x := range n.Along {
		a.At, a.Permitted = append(a.At, x.At), append(a.Permitted, x.Permitted)
		a.Raw, a.RawLow, a.RawHigh = append(a.Raw, val(x.Raw)), append(a.RawLow, val(x.RawLow)), append(a.RawHigh, val(x.RawHigh))
		a.Corrected, a.CorrectedLow, a.CorrHigh = append(a.Corrected, val(x.Corrected)), append(a.CorrectedLow, val(x.CorrLow)), append(a.CorrHigh, val(x.CorrHigh))
	}
	return a
}
