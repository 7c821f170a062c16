package chart

import "math"

// Spectrum shows what each wavelength would give, in panels over one axis, and
// below them the wide sources about the one that is chosen, each as the stretch of
// wavelengths that it covers.
type Spectrum struct {
	ID, Title, Desc string
	At              []float64 // wavelengths, rising
	Chosen          float64
	Panels          []Panel
	Sources         []Source
	Across          string
}

// Panel is one quantity along the wavelengths. What lies above High or below Low is
// cut. Margin, where above 0, is a stretch around 0 that is of no account; Scatter,
// along At, what one vial hides. Good, along At, marks wavelengths to choose from.
type Panel struct {
	Name      string
	Y         []float64
	Low, High float64
	Margin    float64
	Scatter   []float64
	Good      []bool
	Height    float64
}

// Source is a source of light around the chosen wavelength.
type Source struct {
	Width float64
	Words string
}

const panelHead, sourceHeight = 34.0, 34.0

// SVG draws the panels.
func (s Spectrum) SVG() string {
	d := &drawing{id: s.ID}
	if len(s.At) < 2 || !finite(s.At[0], s.At[len(s.At)-1]) || !(s.At[len(s.At)-1] > s.At[0]) {
		return d.svg("fig", s.Title, s.Desc)
	}
	f := frame{plotLeft, plotRight, s.At[0], s.At[len(s.At)-1]}
	inside := finite(s.Chosen) && s.Chosen >= f.low && s.Chosen <= f.high
	y := 0.0
	for _, p := range s.Panels {
		p.draw(d, f, s.At, y+panelHead)
		if inside {
			d.line("m-chosen", f.at(s.Chosen), f.at(s.Chosen), y+panelHead, y+panelHead+p.Height)
		}
		y += panelHead + p.Height
	}
	d.line("m-axis", f.x0, f.x1, y, y)
	for _, v := range evenTicks(f.low, f.high, 5) {
		d.line("m-axis", f.at(v), f.at(v), y, y+5)
		d.text("t", f.at(v), y+18, "middle", tickText(v))
	}
	y += 35
	d.text("t", f.x1, y, "end", s.Across)
	y += 6
	for _, src := range s.Sources {
		d.text("t", f.x0, y+14, "", src.Words)
		d.bar(f, Bar{s.Chosen - src.Width/2, s.Chosen + src.Width/2, s.Chosen, Plain}, y+20, 8)
		y += sourceHeight
	}
	if inside && len(s.Panels) > 0 {
		s.nameChosen(d, f)
	}
	d.height = y + 4
	return d.svg("fig", s.Title, s.Desc)
}

// nameChosen writes the chosen wavelength beside its line in the first panel, where
// the curve does not run.
func (s Spectrum) nameChosen(d *drawing, f frame) {
	var taken room
	p := s.Panels[0]
	taken.curve(f, panelHead, p.Height, s.At, p.Y, p.across(f), p.up())
	var places []place
	for y := panelHead + 12; y < panelHead+p.Height-3; y += 8 {
		places = append(places, place{f.at(s.Chosen) + 1, y, false}, place{f.at(s.Chosen) - 1, y, true})
	}
	taken.put(d, frame{f.x0, f.x1, 0, 1}, "t halo", tickText(s.Chosen), places)
}

func (p Panel) across(f frame) func(float64) float64 {
	return func(v float64) float64 { return (v - f.low) / (f.high - f.low) }
}

// up places a value between the ends of the panel.
func (p Panel) up() func(float64) float64 {
	low, high := p.Low, p.High
	if !finite(low, high) || !(high > low) {
		low, high = 0, 1
	}
	return func(v float64) float64 { return (v - low) / (high - low) }
}

func (p Panel) draw(d *drawing, f frame, at []float64, top float64) {
	low, high := p.Low, p.High
	if !finite(low, high) || !(high > low) {
		low, high = 0, 1
	}
	toX, toY := p.across(f), p.up()
	y := func(v float64) float64 { return top + p.Height*(1-clamp(toY(v), 0, 1)) }
	if p.Margin > 0 {
		d.rect("m-need", f.x0, f.width(), y(p.Margin), y(-p.Margin)-y(p.Margin))
		for _, v := range []float64{-p.Margin, p.Margin} {
			d.line("m-stile", f.x0, f.x1, y(v), y(v))
		}
	}
	for i := 0; i < len(p.Good); i++ {
		j := i
		for j < len(p.Good) && p.Good[j] {
			j++
		}
		if j > i {
			x0, x1 := f.at(at[i]), f.at(at[j-1])
			d.rect("m-band", x0, math.Max(x1-x0, .4), top, p.Height)
			i = j
		}
	}
	d.text("t", 0, top-10, "", p.Name)
	for _, v := range evenTicks(low, high, 3) {
		d.line("m-guide", f.x0, f.x1, y(v), y(v))
		d.text("t", f.x0-1.2, y(v)+4, "end", tickText(v))
	}
	d.nested(f.x0, f.width(), top, p.Height)
	if len(p.Scatter) == len(at) {
		less := make([]float64, len(at))
		for i, v := range p.Scatter {
			less[i] = -v
		}
		inside := func(v float64) float64 { return clamp(toY(v), 0, 1) }
		d.band("m-band", at, less, p.Scatter, toX, inside)
	}
	d.curve("m-curve", at, p.Y, toX, toY)
	d.endNested()
}
