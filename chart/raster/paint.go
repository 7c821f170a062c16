package raster

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// faces are the two fonts of pictures, of one size each; the Go fonts, which may be
// passed on inside a program.
var faces struct {
	sync.Mutex
	fonts map[bool]*sfnt.Font
	sized map[faceKey]font.Face
}

type faceKey struct {
	bold bool
	size float64
}

// face is a font in a size. A face is no two people's at once: hold the lock.
func face(bold bool, size float64) font.Face {
	if faces.fonts == nil {
		faces.fonts, faces.sized = map[bool]*sfnt.Font{}, map[faceKey]font.Face{}
		for bold, data := range map[bool][]byte{false: goregular.TTF, true: gobold.TTF} {
			f, err := opentype.Parse(data)
			if err != nil {
				panic(err) // embedded
			}
			faces.fonts[bold] = f
		}
	}
	k := faceKey{bold, size}
	if f, ok := faces.sized[k]; ok {
		return f
	}
	f, err := opentype.NewFace(faces.fonts[bold], &opentype.FaceOptions{Size: size, DPI: 72})
	if err != nil {
		panic(err) // a size of ours
	}
	faces.sized[k] = f
	return f
}

// Width is how wide the letters are.
func (t Label) Width() float64 {
	faces.Lock()
	defer faces.Unlock()
	return float64(font.MeasureString(face(t.Bold, t.Size), t.Text)) / 64
}

// Box is what the letters cover: capitals and figures, which reach no lower than
// the baseline.
func (t Label) Box() (x0, y0, x1, y1 float64) {
	return t.X, t.Y - .72*t.Size, t.X + t.Width(), t.Y
}

// PNG paints the scene, scale points a pixel, on paper.
func (s Scene) PNG(w io.Writer, scale float64) error {
	width, height := int(math.Ceil(s.Width*scale)), int(math.Ceil(s.Height*scale))
	if width < 1 || height < 1 || width > 20_000 || height > 20_000 {
		return fmt.Errorf("painting a figure: %d by %d points", width, height)
	}
	c := canvas{image.NewRGBA(image.Rect(0, 0, width, height)), scale}
	draw.Draw(c.img, c.img.Bounds(), image.NewUniform(paper), image.Point{}, draw.Src)
	for _, x := range s.Shapes {
		c.shape(x)
	}
	for _, t := range s.Labels {
		c.label(t)
	}
	enc := png.Encoder{CompressionLevel: png.DefaultCompression}
	return enc.Encode(w, c.img)
}

var paper = color.NRGBA{0xfa, 0xfb, 0xf8, 0xff}

type canvas struct {
	img   *image.RGBA
	scale float64
}

func (c canvas) shape(s Shape) {
	switch {
	case s.Hatch != nil:
		c.hatch(s)
	case s.Fill.A > 0:
		c.fill(s.Lines, s.Fill)
	}
	if s.Stroke.A == 0 || s.Width <= 0 {
		return
	}
	var strokes [][]Point
	for _, run := range s.Lines {
		for _, piece := range dashed(run, s.Dash) {
			strokes = append(strokes, stroke(piece, s.Width)...)
		}
	}
	c.fill(strokes, s.Stroke)
}

// fill paints areas with one colour; where they overlap they are one.
func (c canvas) fill(areas [][]Point, ink color.NRGBA) {
	b := c.around(areas)
	if b.Empty() {
		return
	}
	r := vector.NewRasterizer(b.Dx(), b.Dy())
	at := func(p Point) (x, y float32) {
		return float32(p.X*c.scale - float64(b.Min.X)), float32(p.Y*c.scale - float64(b.Min.Y))
	}
	for _, run := range areas {
		if len(run) < 3 {
			continue
		}
		run = turned(run)
		r.MoveTo(at(run[0]))
		for _, p := range run[1:] {
			r.LineTo(at(p))
		}
		r.ClosePath()
	}
	r.Draw(c.img, b, image.NewUniform(ink), image.Point{})
}

// around is the part of the picture that areas touch: painting costs what it covers.
func (c canvas) around(areas [][]Point) image.Rectangle {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, run := range areas {
		for _, p := range run {
			x0, x1 = math.Min(x0, p.X*c.scale), math.Max(x1, p.X*c.scale)
			y0, y1 = math.Min(y0, p.Y*c.scale), math.Max(y1, p.Y*c.scale)
		}
	}
	if x0 > x1 {
		return image.Rectangle{}
	}
	return image.Rect(int(math.Floor(x0)), int(math.Floor(y0)), int(math.Ceil(x1)), int(math.Ceil(y1))).Intersect(c.img.Bounds())
}

// turned goes round an area one way, so that two that overlap do not cancel.
func turned(run []Point) []Point {
	area := 0.0
	for i, p := range run {
		q := run[(i+1)%len(run)]
		area += p.X*q.Y - q.X*p.Y
	}
	if area >= 0 {
		return run
	}
	out := make([]Point, len(run))
	for i, p := range run {
		out[len(run)-1-i] = p
	}
	return out
}

// stroke is a run of lines with a width: each line a rectangle, each bend a square
// turned into the next.
func stroke(run []Point, width float64) [][]Point {
	var out [][]Point
	h := width / 2
	for i := 1; i < len(run); i++ {
		a, b := run[i-1], run[i]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		if l == 0 {
			continue
		}
		ux, uy := (b.X-a.X)/l*h, (b.Y-a.Y)/l*h
		if i > 1 { // reach into the bend
			a = Point{a.X - ux*.7, a.Y - uy*.7}
		}
		out = append(out, []Point{{a.X - uy, a.Y + ux}, {b.X - uy, b.Y + ux}, {b.X + uy, b.Y - ux}, {a.X + uy, a.Y - ux}})
	}
	return out
}

// dashed cuts a run into its dashes.
func dashed(run []Point, dash []float64) [][]Point {
	if len(dash) < 2 || !(dash[0] > 0) || !(dash[1] > 0) {
		return [][]Point{run}
	}
	var out [][]Point
	on, left, at := true, dash[0], []Point{run[0]}
	for i := 1; i < len(run); i++ {
		a, b := run[i-1], run[i]
		for l := math.Hypot(b.X-a.X, b.Y-a.Y); l > 0; {
			step := math.Min(l, left)
			a = Point{a.X + (b.X-a.X)*step/l, a.Y + (b.Y-a.Y)*step/l}
			l, left = l-step, left-step
			if on {
				at = append(at, a)
			}
			if left > 0 {
				continue
			}
			if on {
				out, left = append(out, at), dash[1]
			} else {
				at, left = []Point{a}, dash[0]
			}
			on = !on
		}
	}
	if on && len(at) > 1 {
		out = append(out, at)
	}
	return out
}

// hatch paints the box around an area, which is a rectangle.
func (c canvas) hatch(s Shape) {
	c.fill(s.Lines, s.Hatch.Ground)
	a, b := s.Lines[0][0], s.Lines[0][2]
	x0, x1 := int(math.Round(a.X*c.scale)), int(math.Round(b.X*c.scale))
	y0, y1 := int(math.Round(a.Y*c.scale)), int(math.Round(b.Y*c.scale))
	step, width := s.Hatch.Step*c.scale, s.Hatch.Width*c.scale
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			u := float64(x-y) / math.Sqrt2
			if s.Hatch.Rising {
				u = float64(x+y) / math.Sqrt2
			}
			if u -= math.Floor(u/step) * step; u < width {
				over(c.img, x, y, s.Hatch.Ink)
			}
		}
	}
}

func over(img *image.RGBA, x, y int, ink color.NRGBA) {
	if !image.Pt(x, y).In(img.Bounds()) {
		return
	}
	was, a := img.RGBAAt(x, y), float64(ink.A)/255
	mix := func(new, old uint8) uint8 { return uint8(math.Round(a*float64(new) + (1-a)*float64(old))) }
	img.SetRGBA(x, y, color.RGBA{mix(ink.R, was.R), mix(ink.G, was.G), mix(ink.B, was.B), 255})
}

func (c canvas) label(t Label) {
	faces.Lock()
	defer faces.Unlock()
	f := face(t.Bold, t.Size*c.scale)
	at := func(dx, dy float64, ink color.NRGBA) {
		d := font.Drawer{Dst: c.img, Src: image.NewUniform(ink), Face: f,
			Dot: fixed.Point26_6{X: fixed.Int26_6((t.X*c.scale + dx) * 64), Y: fixed.Int26_6((t.Y*c.scale + dy) * 64)}}
		d.DrawString(t.Text)
	}
	if t.Halo.A > 0 {
		for i := range 8 {
			s, k := math.Sincos(float64(i) * math.Pi / 4)
			at(k*t.HaloWidth/2*c.scale, s*t.HaloWidth/2*c.scale, t.Halo)
		}
	}
	at(0, 0, t.Ink)
}
