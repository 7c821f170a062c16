// Package raster lays out the figures of package chart at a width in pixels and
// paints them: a picture for programs that take no SVG, and boxes and lines to
// measure. It reads the SVG that package chart writes and no other.
package raster

import (
	"encoding/xml"
	"fmt"
	"image/color"
	"io"
	"math"
	"strconv"
	"strings"
)

// Scene is a figure laid out: all in pixels from the upper left.
type Scene struct {
	Width, Height float64
	Shapes        []Shape
	Labels        []Label
}

// Shape is a line, or an area where Fill or Hatch speaks.
type Shape struct {
	Class  string
	Lines  [][]Point // one run each; closed ones come back to their first point
	Fill   color.NRGBA
	Stroke color.NRGBA
	Width  float64 // of the stroke
	Dash   []float64
	Hatch  *Hatch
}

// Hatch fills an area with a ground and slanting lines.
type Hatch struct {
	Ground, Ink color.NRGBA
	Step, Width float64
	Rising      bool
}

// Point is a place in pixels.
type Point struct{ X, Y float64 }

// Label is a text with the box that its letters take, from capitals to baseline.
type Label struct {
	Class, Text string
	X, Y, Size  float64 // left end of the baseline
	Bold        bool
	Ink, Halo   color.NRGBA
	HaloWidth   float64
}

// attrs are the presentation attributes that an element hands down.
type attrs map[string]string

func (a attrs) with(el xml.StartElement) attrs {
	out := attrs{}
	for k, v := range a {
		switch k {
		case "x", "y", "width", "height", "x1", "x2", "y1", "y2", "d", "class", "viewBox", "id", "opacity", "r", "text-anchor":
		default:
			out[k] = v
		}
	}
	for _, x := range el.Attr {
		out[x.Name.Local] = x.Value
	}
	return out
}

// view maps an element's numbers to pixels. A frame with a view box cuts what
// leaves it.
type view struct {
	x, y, w, h, sx, sy float64
	cuts               bool
}

// Lay lays a figure out at a width. It refuses what package chart does not write.
func Lay(svg string, width float64) (Scene, error) {
	l := layer{dec: xml.NewDecoder(strings.NewReader(svg)), hatches: map[string]*Hatch{}}
	l.scene.Width = width
	for {
		tok, err := l.dec.Token()
		if err == io.EOF {
			return l.scene, nil
		}
		if err != nil {
			return Scene{}, fmt.Errorf("laying out a figure: %w", err)
		}
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if el.Name.Local != "svg" {
			return Scene{}, fmt.Errorf("laying out a figure: <%s> is no figure", el.Name.Local)
		}
		a := attrs{}.with(el)
		l.scene.Height = number(a["height"])
		if err := l.inside(a, view{0, 0, width, l.scene.Height, 1, 1, false}); err != nil {
			return Scene{}, err
		}
	}
}

type layer struct {
	dec     *xml.Decoder
	scene   Scene
	hatches map[string]*Hatch // by id
}

// inside lays out all that stands in an element, up to its end.
func (l *layer) inside(a attrs, v view) error {
	for {
		tok, err := l.dec.Token()
		if err != nil {
			return fmt.Errorf("laying out a figure: %w", err)
		}
		switch el := tok.(type) {
		case xml.EndElement:
			return nil
		case xml.StartElement:
			if err := l.element(el, a.with(el), v); err != nil {
				return err
			}
		}
	}
}

func (l *layer) element(el xml.StartElement, a attrs, v view) error {
	switch el.Name.Local {
	case "title", "desc":
		return l.dec.Skip()
	case "pattern":
		return l.pattern(a)
	case "g", "a", "defs":
		return l.inside(a, v)
	case "svg":
		return l.inside(a, v.nested(a))
	case "text":
		return l.label(a, v)
	case "rect":
		x, y := v.px(a["x"]), v.py(a["y"])
		w, h := v.length(a["width"]), number(a["height"])*v.sy
		l.shape(a, [][]Point{{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}}}, true)
	case "line":
		l.shape(a, [][]Point{{{v.px(a["x1"]), v.py(a["y1"])}, {v.px(a["x2"]), v.py(a["y2"])}}}, false)
	case "circle":
		r, ring := number(a["r"]), []Point{}
		for i := range 33 {
			s, c := math.Sincos(float64(i) * math.Pi / 16)
			ring = append(ring, Point{v.x + r*c, v.y + r*s})
		}
		l.shape(a, [][]Point{ring}, true)
	case "path":
		lines, err := path(a["d"], v)
		if err != nil {
			return err
		}
		area := a["fill"] != "none" && a["fill"] != ""
		if v.cuts {
			lines = cut(lines, v, area)
		}
		l.shape(a, lines, area)
	default:
		return fmt.Errorf("laying out a figure: no <%s> is known", el.Name.Local)
	}
	return l.dec.Skip()
}

// nested is a frame of its own inside another.
func (v view) nested(a attrs) view {
	n := view{v.px(a["x"]), v.py(a["y"]), v.length(a["width"]), number(a["height"]) * v.sy, v.sx, v.sy, v.cuts}
	if box := strings.Fields(a["viewBox"]); len(box) == 4 {
		n.sx, n.sy, n.cuts = n.w/number(box[2]), n.h/number(box[3]), true
	}
	return n
}

func (v view) px(s string) float64 {
	if p, ok := strings.CutSuffix(s, "%"); ok {
		return v.x + number(p)/100*v.w
	}
	return v.x + number(s)*v.sx
}
func (v view) py(s string) float64 { return v.y + number(s)*v.sy }

func (v view) length(s string) float64 {
	if p, ok := strings.CutSuffix(s, "%"); ok {
		return number(p) / 100 * v.w
	}
	return number(s) * v.sx
}

func number(s string) float64 {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0
	}
	return f
}

// pattern keeps a hatching by its name.
func (l *layer) pattern(a attrs) error {
	h := &Hatch{Step: number(a["width"]), Rising: strings.Contains(a["patternTransform"], "-")}
	l.hatches[a["id"]] = h
	for {
		tok, err := l.dec.Token()
		if err != nil {
			return fmt.Errorf("laying out a figure: %w", err)
		}
		switch el := tok.(type) {
		case xml.EndElement:
			if el.Name.Local == "pattern" {
				return nil
			}
		case xml.StartElement:
			b := attrs{}.with(el)
			if el.Name.Local == "rect" {
				h.Ground = ink(b["fill"], b["opacity"])
				continue
			}
			h.Ink, h.Width = ink(b["stroke"], b["opacity"]), 1
			if w := number(b["stroke-width"]); w > 0 {
				h.Width = w
			}
		}
	}
}

func (l *layer) shape(a attrs, lines [][]Point, area bool) {
	s := Shape{Class: a["class"], Lines: lines, Stroke: ink(a["stroke"], a["opacity"]), Width: 1}
	if w := a["stroke-width"]; w != "" {
		s.Width = number(w)
	}
	for _, n := range strings.Fields(a["stroke-dasharray"]) {
		s.Dash = append(s.Dash, number(n))
	}
	if area {
		if id, ok := strings.CutPrefix(a["fill"], "url(#"); ok {
			s.Hatch = l.hatches[strings.TrimSuffix(id, ")")]
		} else {
			s.Fill = ink(a["fill"], a["opacity"])
		}
	}
	l.scene.Shapes = append(l.scene.Shapes, s)
}

func (l *layer) label(a attrs, v view) error {
	var text strings.Builder
	for {
		tok, err := l.dec.Token()
		if err != nil {
			return fmt.Errorf("laying out a figure: %w", err)
		}
		if c, ok := tok.(xml.CharData); ok {
			text.Write(c)
			continue
		}
		if _, ok := tok.(xml.EndElement); ok {
			break
		}
	}
	t := Label{Class: a["class"], Text: text.String(), X: v.px(a["x"]), Y: v.py(a["y"]), Size: 12, Bold: a["font-weight"] != "",
		Ink: ink(a["fill"], ""), Halo: ink(a["stroke"], ""), HaloWidth: number(a["stroke-width"])}
	if s := number(a["font-size"]); s > 0 {
		t.Size = s
	}
	switch a["text-anchor"] {
	case "middle":
		t.X -= t.Width() / 2
	case "end":
		t.X -= t.Width()
	}
	l.scene.Labels = append(l.scene.Labels, t)
	return nil
}

// path reads what package chart writes: M, L, H, V and Z with absolute numbers.
func path(d string, v view) ([][]Point, error) {
	var out [][]Point
	var at Point
	fields := strings.Fields(spaced.Replace(d))
	take := func(i int) float64 {
		if i < len(fields) {
			return number(fields[i])
		}
		return math.NaN()
	}
	cmd := ""
	for i := 0; i < len(fields); {
		if strings.ContainsAny(fields[i], "MLHVZ") {
			cmd = fields[i]
			i++
		}
		switch cmd {
		case "M", "L":
			at = Point{take(i), take(i + 1)}
			i += 2
			if cmd == "M" {
				out, cmd = append(out, nil), "L"
			}
		case "H":
			at.X, i = take(i), i+1
		case "V":
			at.Y, i = take(i), i+1
		case "Z":
			if n := len(out); n > 0 && len(out[n-1]) > 0 {
				out[n-1] = append(out[n-1], out[n-1][0])
			}
			cmd = ""
			continue
		default:
			return nil, fmt.Errorf("laying out a figure: a path with %q", d)
		}
		if len(out) == 0 || math.IsNaN(at.X) || math.IsNaN(at.Y) {
			return nil, fmt.Errorf("laying out a figure: a path with %q", d)
		}
		out[len(out)-1] = append(out[len(out)-1], Point{v.x + at.X*v.sx, v.y + at.Y*v.sy})
	}
	return out, nil
}

var spaced = strings.NewReplacer("M", " M ", "L", " L ", "H", " H ", "V", " V ", "Z", " Z ", ",", " ")

// ink is a colour as "#rrggbb"; none is nothing.
func ink(s, opacity string) color.NRGBA {
	n, err := strconv.ParseUint(strings.TrimPrefix(s, "#"), 16, 32)
	if err != nil || len(s) != 7 {
		return color.NRGBA{}
	}
	a := 1.0
	if opacity != "" {
		a = number(opacity)
	}
	return color.NRGBA{uint8(n >> 16), uint8(n >> 8), uint8(n), uint8(math.Round(255 * a))}
}
