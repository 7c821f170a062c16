package chart

import "math"

// room knows what is drawn in a figure, so that a label finds a place where it
// lies on nothing. Across in per cent, up in pixels.
type room struct {
	lines [][4]float64 // from x, y to x, y
	boxes [][4]float64 // left, top, right, bottom
}

// curve takes in a smooth curve of a nested frame.
func (r *room) curve(f frame, top, height float64, x, y []float64, toX, toY func(float64) float64) {
	for i := 1; i < min(len(x), len(y)); i++ {
		if finite(x[i-1], y[i-1], x[i], y[i]) {
			at := func(k int) (float64, float64) { return f.x0 + f.width()*toX(x[k]), top + height*(1-toY(y[k])) }
			x0, y0 := at(i - 1)
			x1, y1 := at(i)
			r.lines = append(r.lines, [4]float64{x0, y0, x1, y1})
		}
	}
}

// mark takes in a mark that reaches w per cent and h pixels to each side.
func (r *room) mark(x, y, w, h float64) {
	r.boxes = append(r.boxes, [4]float64{x - w, y - h, x + w, y + h})
}

// free says whether a box lies on nothing.
func (r *room) free(x0, y0, x1, y1 float64) bool {
	for _, b := range r.boxes {
		if x0 < b[2] && b[0] < x1 && y0 < b[3] && b[1] < y1 {
			return false
		}
	}
	for _, l := range r.lines {
		if crosses(l, x0, y0, x1, y1) {
			return false
		}
	}
	return true
}

// crosses says whether a line meets a box (Liang and Barsky 1984).
func crosses(l [4]float64, x0, y0, x1, y1 float64) bool {
	from, to := 0.0, 1.0
	dx, dy := l[2]-l[0], l[3]-l[1]
	for _, e := range [][2]float64{{-dx, l[0] - x0}, {dx, x1 - l[0]}, {-dy, l[1] - y0}, {dy, y1 - l[1]}} {
		switch p, q := e[0], e[1]; {
		case p == 0 && q < 0:
			return false
		case p < 0:
			from = math.Max(from, q/p)
		case p > 0:
			to = math.Min(to, q/p)
		}
	}
	return from <= to
}

// place is where a label's baseline may begin, or with end, end.
type place struct {
	x, y float64
	end  bool
}

// labelPlots is the least width in pixels that a plot is read at.
const labelPlots = 300.0

// put writes a label at the first of its places that is free and inside the frame,
// and keeps that place; it says whether there was one.
func (r *room) put(d *drawing, f frame, class, text string, places []place) bool {
	w := float64(len([]rune(text))) * letter / labelPlots * 100
	for _, p := range places {
		x0, anchor := p.x, "start"
		if p.end {
			x0, anchor = p.x-w, "end"
		}
		if x0 < f.x0 || x0+w > f.x1 || !r.free(x0-.5, p.y-11, x0+w+.5, p.y+3) {
			continue
		}
		r.boxes = append(r.boxes, [4]float64{x0, p.y - 11, x0 + w, p.y + 3})
		d.text(class, p.x, p.y, anchor, text)
		return true
	}
	return false
}
