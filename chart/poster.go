package chart

// Poster is one figure that says a trial in short: a row a method, its error against what is
// permitted, for one need. It is as wide as it is laid out, and stands alone.
type Poster struct {
	ID, Title, Desc string
	Head, Sub       []string // lines above the rows
	Rows            []PosterRow
	Foot            []string
	Height          float64 // at least; the rows share what is left
}

// PosterRow is a method with its words; Bar is in units of the permitted error.
type PosterRow struct {
	Name, Words string
	Bar         Bar
	Tried, Use  bool
}

// SVG draws it.
func (p Poster) SVG() string {
	const top, line, least = 14.0, 17.0, 30.0
	head := top + line*float64(len(p.Head)+len(p.Sub)) + 8
	foot := line*float64(len(p.Foot)+1) + 8
	row := (p.Height - head - foot) / float64(max(1, len(p.Rows)))
	row = min(max(row, least), 120)
	d := &drawing{id: p.ID, height: max(p.Height, head+foot+row*float64(len(p.Rows)))}
	d.rect("r-void", 0, 100, 0, d.height)
	y := top + 6
	for _, s := range p.Head {
		d.text("t t-known", 3, y, "", s)
		y += line
	}
	for _, s := range p.Sub {
		d.text("t", 3, y, "", s)
		y += line
	}
	f := frame{30, 66, 0, 1}
	middle := (f.x0 + f.x1) / 2
	first := head
	d.rect("m-need", f.x0, middle-f.x0, first, row*float64(len(p.Rows)))
	for i, r := range p.Rows {
		at := first + row*float64(i) + row/2
		class := "t strong"
		d.text(class, 3, at+4, "", r.Name)
		if r.Use {
			d.text("t strong", 28.5, at+4, "end", "→")
		}
		if !r.Tried {
			d.notJudged(f.x0, f.width(), at-7, 14)
		} else {
			d.line("m-guide", f.x0, f.x1, at, at)
			d.bar(f, Bar{half(r.Bar.Low), half(r.Bar.High), half(r.Bar.Notch), r.Bar.Verdict}, at-6, 12)
		}
		d.text("t", 68, at+4, "", r.Words)
	}
	bottom := first + row*float64(len(p.Rows))
	d.line("m-rung", f.x0, f.x0, first, bottom)
	d.line("m-stile", middle, middle, first, bottom)
	y = bottom + line
	d.text("t", f.x0, y, "middle", "no error")
	d.text("t t-need", middle, y, "middle", "permitted")
	y += line
	for _, s := range p.Foot {
		d.text("t", 3, y, "", s)
		y += line
	}
	return d.svg("fig", p.Title, p.Desc)
}
