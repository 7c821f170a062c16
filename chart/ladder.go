package chart

import (
	"math"
	"sort"
)

// Ladder is the main figure: knowns as rungs, up on asinh(c/C0); across, the
// error as a share of what is permitted, so that the permitted error is two
// straight stiles. Where nothing is permitted (no need given) across is the
// plain error.
type Ladder struct {
	ID, Title, Desc string
	Scale           Scale
	Judged          bool    // across is error ÷ permitted; else plain error
	Half            float64 // half the frame's width, in the unit across
	Rungs           []Rung
	Labels          LadderLabels
}

// LadderLabels are the words around a ladder.
type LadderLabels struct{ Known, Permitted, Bias, Low, High string }

// Rung is one known with what was read of it, all as concentrations.
type Rung struct {
	Level     float64
	U         float64 // expanded uncertainty of the known
	Permitted float64 // permitted error; 0 where the need does not reach
	Label     string  // the known
	Under     string  // what is permitted
	Readings  []Mark
	Bias      Bar // as error, not as reading
	Upper     string
	Lower     string // the numbers beside it
}

// Mark is one distinct reading and how often it was seen.
type Mark struct {
	Low, High float64
	Count     int
}

// Geometry of a ladder: the label column, the frame and the numbers, in per
// cent; the rest in pixels.
const (
	ladderLeft, ladderRight = 19.0, 76.0
	ladderLabel, ladderNum  = 16.5, 79.5
	headRoom, footRoom      = 26.0, 26.0
	underRung, overRung     = 24.0, 9.0 // room for the bar below a rung, and to the first reading above it
	leastGap, tallest       = 52.0, 1000.0
)

// SVG draws the ladder.
func (l Ladder) SVG() string {
	rungs := append([]Rung(nil), l.Rungs...)
	sort.SliceStable(rungs, func(i, j int) bool { return rungs[i].Level < rungs[j].Level })
	f := frame{ladderLeft, ladderRight, -l.Half, l.Half}
	stacks := make([]stack, len(rungs))
	for i, r := range rungs {
		stacks[i] = layOut(f, r.errors(l.unit(r)), -r.Level/l.unit(r))
	}
	ys, height, trueAxis := l.places(rungs, stacks)
	d := &drawing{id: l.ID, height: height}
	bottom := height - footRoom
	l.ground(d, f, rungs, ys, bottom, trueAxis)
	for i, r := range rungs {
		l.rung(d, f, r, ys[i])
		d.stack(f, stacks[i], ys[i]-overRung)
	}
	d.text("t", f.x0, bottom+18, "", l.Labels.Low)
	d.text("t", f.x1, bottom+18, "end", l.Labels.High)
	return d.svg("fig", l.Title, l.Desc)
}

// errors are a rung's readings as errors in the unit across.
func (r Rung) errors(unit float64) []Mark {
	out := make([]Mark, len(r.Readings))
	for i, m := range r.Readings {
		out[i] = Mark{(m.Low - r.Level) / unit, (m.High - r.Level) / unit, m.Count}
	}
	return out
}

// places gives each rung its height on the page, on the true scale if the
// figure stays below the tallest. Otherwise rungs are pushed apart, and the
// axis has no ticks, because they would lie.
func (l Ladder) places(rungs []Rung, stacks []stack) (ys []float64, height float64, trueAxis bool) {
	n := len(rungs)
	if n == 0 {
		return nil, headRoom + footRoom + leastGap, false
	}
	p, gap := make([]float64, n), make([]float64, n)
	scale, sum := 0.0, 0.0
	for i, r := range rungs {
		p[i] = l.Scale.At(math.Max(r.Level, 0))
		if i > 0 {
			gap[i] = math.Max(leastGap, underRung+overRung+stacks[i-1].height)
			sum += gap[i]
			scale = math.Max(scale, gap[i]/math.Max(p[i]-p[i-1], 1e-9))
		}
	}
	span := p[n-1] - p[0]
	trueAxis = scale*span <= math.Max(tallest, 1.3*sum)
	if !trueAxis {
		scale = sum / math.Max(span, 1e-9) * .7
	}
	up := make([]float64, n)
	for i := 1; i < n; i++ {
		up[i] = math.Max((p[i]-p[0])*scale, up[i-1]+gap[i])
		if trueAxis {
			up[i] = (p[i] - p[0]) * scale
		}
	}
	first := headRoom + overRung + math.Max(12, stacks[n-1].height)
	height = first + up[n-1] + underRung + footRoom
	ys = make([]float64, n)
	for i := range up {
		ys[i] = first + up[n-1] - up[i]
	}
	return ys, height, trueAxis
}

// ground draws the permitted strip, the stiles, the axis and the heads.
func (l Ladder) ground(d *drawing, f frame, rungs []Rung, ys []float64, bottom float64, trueAxis bool) {
	if l.Judged {
		l.strip(d, f, rungs, ys, bottom)
	} else {
		d.line("m-guide", f.at(0), f.at(0), headRoom, bottom)
	}
	d.line("m-guide", f.x0, f.x0, headRoom, bottom)
	if trueAxis && len(rungs) > 1 {
		y0, y1 := ys[0], ys[len(ys)-1]
		p0, p1 := l.Scale.At(rungs[0].Level), l.Scale.At(rungs[len(rungs)-1].Level)
		for _, v := range l.Scale.Ticks(8 / math.Abs(y0-y1+1)) {
			if p := l.Scale.At(v); p >= p0 && p <= p1 {
				y := y0 + (y1-y0)*(p-p0)/(p1-p0)
				d.line("m-guide", f.x0, f.x0+1.5, y, y)
			}
		}
	}
	d.text("t", ladderLabel, 16, "end", l.Labels.Known)
	d.text("t t-need", f.at(0), 16, "middle", l.Labels.Permitted)
	d.text("t", ladderNum, 16, "", l.Labels.Bias)
}

// strip shades the permitted error where the need reaches, and hatches grey
// where it does not.
func (l Ladder) strip(d *drawing, f frame, rungs []Rung, ys []float64, bottom float64) {
	left, right := f.at(-1), f.at(1)
	edge := func(i int) float64 { // boundary above rung i
		if i == len(rungs)-1 {
			return headRoom
		}
		return ys[i+1] + underRung
	}
	for i := 0; i < len(rungs); {
		j := i
		for j+1 < len(rungs) && (rungs[j+1].Permitted > 0) == (rungs[i].Permitted > 0) {
			j++
		}
		y0, y1 := edge(j), bottom
		if i > 0 {
			y1 = edge(i - 1)
		}
		if rungs[i].Permitted > 0 {
			d.rect("m-need", left, right-left, y0, y1-y0)
			d.line("m-stile", left, left, y0, y1)
			d.line("m-stile", right, right, y0, y1)
		} else {
			d.notJudged(left, right-left, y0, y1-y0)
		}
		i = j + 1
	}
}

// rung draws one known and the bar of its bias.
func (l Ladder) rung(d *drawing, f frame, r Rung, y float64) {
	unit := l.unit(r)
	d.line("m-guide", f.x0, f.x1, y, y)
	if l.Judged {
		d.line("m-rung", f.at(-1), f.at(1), y, y)
	} else {
		d.line("m-rung", f.at(-l.Half/4), f.at(l.Half/4), y, y)
	}
	d.known(f, r.U/unit, y)
	d.text("t t-known", ladderLabel, y+5, "end", r.Label)
	d.text("t", ladderLabel, y+19, "end", r.Under)
	b := r.Bias
	b.Low, b.High, b.Notch = b.Low/unit, b.High/unit, b.Notch/unit
	d.bar(f, b, y+8, 9)
	d.text("t strong", ladderNum, y+4, "", r.Upper)
	d.text("t strong", ladderNum, y+18, "", r.Lower)
}

// unit is what an error is divided by at a rung: the permitted error, where the
// need does not reach that of the nearest rung it reaches, so that neighbours
// stay comparable; 1 where nothing is judged.
func (l Ladder) unit(r Rung) float64 {
	if !l.Judged {
		return 1
	}
	if r.Permitted > 0 {
		return r.Permitted
	}
	best, unit := math.Inf(1), 1.0
	for _, o := range l.Rungs {
		if gap := math.Abs(o.Level - r.Level); o.Permitted > 0 && gap < best {
			best, unit = gap, o.Permitted
		}
	}
	return unit
}

// known draws the expanded uncertainty of a known at the middle of its rung.
func (d *drawing) known(f frame, u, y float64) {
	x0, x1 := f.at(math.Max(-u, f.low)), f.at(math.Min(u, f.high))
	if x1-x0 < least {
		x0, x1 = f.at(0)-least/2, f.at(0)+least/2
	}
	d.rect("m-known", x0, x1-x0, y-3, 6)
}
