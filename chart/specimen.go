package chart

import (
	"math"
	"strconv"
)

// Specimen is one rung enlarged, its marks numbered 1 to 6 for a legend.
func Specimen(id, title string) string {
	d := &drawing{id: id, height: 146}
	f := frame{4, 96, -2.4, 2.4}
	a, b := f.at(-1), f.at(1)
	d.rect("m-need", a, b-a, 8, 116)
	d.line("m-stile", a, a, 8, 124)
	d.line("m-stile", b, b, 8, 124)
	d.line("m-guide", f.x0, f.x1, 78, 78)
	d.line("m-rung", a, b, 78, 78)
	d.known(f, .09, 78)
	for i, m := range [][2]float64{{-.75, 1.5}, {-.75, 1.5}, {1, 3}, {math.Inf(-1), -.9}} {
		s := layOut(f, []Mark{{Low: m[0], High: m[1], Count: 1}}, -2)
		d.stack(f, s, 66-11*float64(i))
	}
	d.bar(f, Bar{-.35, 1.25, .4, Undecided}, 92, 12)
	for _, n := range []struct {
		x, y float64
		n    int
	}{{f.at(-.72), 96, 1}, {a, 134, 2}, {b, 134, 2}, {f.at(1.75), 60, 3}, {f.at(-2.2), 33, 4}, {f.at(2), 30, 5}, {f.at(1.5), 98, 6}} {
		d.number(n.x, n.y, n.n)
	}
	return d.svg("fig", title, "")
}

func (d *drawing) number(x, y float64, n int) {
	d.add(`<svg x="%s" y="%s" width="1" height="1" overflow="visible"><circle %s r="8.5"/><text %s y="4" text-anchor="middle">%s</text></svg>`,
		pc(x), px(y), look("m-disc"), look("t strong"), strconv.Itoa(n))
}
