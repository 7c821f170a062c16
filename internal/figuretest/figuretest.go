// Package figuretest measures figures: what lies on what.
package figuretest

import (
	"fmt"
	"slices"
	"strings"

	"knownwater/chart/raster"
)

// drawn are the marks that say something: no label may lie on one. Guides, axes and
// the stiles of a need may pass behind a label, which its halo keeps apart.
var drawn = []string{"m-curve", "m-second", "m-equal", "m-stilec", "m-read", "m-rung", "m-est", "m-dot", "m-known", "m-held", "m-gone"}

// Figures are the drawings of a page that are not inside another.
func Figures(page string) (out []string) {
	for {
		i := strings.Index(page, "<svg xmlns=")
		if i < 0 {
			return out
		}
		page = page[i:]
		end, depth := 0, 0
		for depth > 0 || end == 0 {
			open, shut := strings.Index(page[end:], "<svg "), strings.Index(page[end:], "</svg>")
			if shut < 0 {
				return out
			}
			if open >= 0 && open < shut {
				depth, end = depth+1, end+open+5
			} else {
				depth, end = depth-1, end+shut+6
			}
		}
		out, page = append(out, page[:end]), page[end:]
	}
}

// Faults are the labels of a figure of a width that lie on a mark or on each other,
// or that its edge cuts.
func Faults(svg string, width float64) (out []string, err error) {
	s, err := raster.Lay(svg, width)
	if err != nil {
		return nil, err
	}
	for i, a := range s.Labels {
		ax0, ay0, ax1, ay1 := a.Box()
		if ax0 < -3 || ax1 > width+3 || ay0 < -1 || ay1 > s.Height+1 {
			out = append(out, fmt.Sprintf("%q is cut by the edge: %.0f to %.0f of %.0f", a.Text, ax0, ax1, width))
		}
		for _, b := range s.Labels[:i] {
			bx0, by0, bx1, by1 := b.Box()
			if ax0 < bx1 && bx0 < ax1 && ay0 < by1 && by0 < ay1 {
				out = append(out, fmt.Sprintf("%q lies on %q", a.Text, b.Text))
			}
		}
		for _, x := range s.Shapes {
			if class, _, _ := strings.Cut(x.Class, " "); !slices.Contains(drawn, class) {
				continue
			}
			for _, run := range x.Lines {
				if meets(run, ax0, ay0, ax1, ay1) {
					out = append(out, fmt.Sprintf("%q at %.0f, %.0f lies on a mark %q", a.Text, ax0, ay1, x.Class))
					break
				}
			}
		}
	}
	return out, nil
}

// meets says whether a run of lines comes into a box, half a pixel spared: it looks
// at the run every half pixel.
func meets(run []raster.Point, x0, y0, x1, y1 float64) bool {
	for i, p := range run {
		q := run[max(i-1, 0)]
		steps := 1 + int(2*max(abs(p.X-q.X), abs(p.Y-q.Y)))
		for k := 0; k <= steps; k++ {
			t := float64(k) / float64(steps)
			x, y := q.X+t*(p.X-q.X), q.Y+t*(p.Y-q.Y)
			if x > x0+.5 && x < x1-.5 && y > y0+.5 && y < y1-.5 {
				return true
			}
		}
	}
	return false
}

func abs(v float64) float64 { return max(v, -v) }
