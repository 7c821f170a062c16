package chart

import "math"

// Half is half a ladder: an error is a size, so the rung stands at the left
// edge (no error) and the one stile, what is permitted, in the middle. An error
// r times the permitted one stands at r/(1 + r): nothing is ever cut. Bars are
// errors in units of the permitted one, at most two, the first above.
type Half struct {
	ID    string
	Bars  []Bar
	Tried bool // false: nothing was tried there
}

// SVG draws it, 22 pixels high. Its words stand beside it in the page, so it is
// decoration to a reader.
func (h Half) SVG() string {
	d := &drawing{id: h.ID, height: 22}
	f := frame{0, 100, 0, 1}
	d.rect("m-need", 0, 50, 3, 16)
	if !h.Tried {
		d.notJudged(0, 100, 3, 16)
	}
	d.line("m-guide", 0, 100, 11, 11)
	d.line("m-rung", .6, .6, 1, 21)
	d.line("m-stile", 50, 50, 0, 22)
	y, height := 6., 10.
	if len(h.Bars) > 1 {
		y, height = 3, 7
	}
	for _, b := range h.Bars {
		d.bar(f, Bar{half(b.Low), half(b.High), math.NaN(), b.Verdict}, y, height)
		y += 9
	}
	return d.svg("row", "", "")
}

// half is the place of an error, 0 … 1; without a limit it reaches the end.
func half(r float64) float64 {
	switch {
	case math.IsNaN(r) || r < 0:
		return 0
	case math.IsInf(r, 1):
		return 1
	}
	return r / (1 + r)
}
