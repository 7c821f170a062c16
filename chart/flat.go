package chart

// Flat is the flat ladder: one rung small. Half is the frame's half width in
// units of the permitted error; Bar is the bias in the same units. Judged is
// false where the need does not reach.
type Flat struct {
	ID, Title string
	Half      float64
	Bar       Bar
	Judged    bool
}

// SVG draws the strip, 18 pixels high.
func (s Flat) SVG() string {
	d := &drawing{id: s.ID, height: 18}
	f := frame{1, 99, -s.Half, s.Half}
	a, b := f.at(-1), f.at(1)
	if s.Judged {
		d.rect("m-need", a, b-a, 0, 18)
		d.line("m-stile", a, a, 0, 18)
		d.line("m-stile", b, b, 0, 18)
	} else {
		d.notJudged(a, b-a, 0, 18)
	}
	d.bar(f, s.Bar, 5, 8)
	return d.svg("row", s.Title, "")
}
