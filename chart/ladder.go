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
	Level float64
	U     float64 // expanded uncertainty of the known
	// Unit is what an error is divided by: the permitted error; 1 or 0 where
	// nothing is judged. Outside says that the need does not reach the level.
	Unit     float64
	Outside  bool
	Label    string // the known
	Under    string // what is permitted
	Readings []Mark
	Bias     Bar // as error, not as reading
	Upper    string
	Lower    string // the numbers beside it
	Href     string // where its readings are; empty: nowhere
}

// Mark is one distinct reading and how often it was seen.
type Mark struct {
	Low, High float64
	Count     int
	Href      string // where these readings are; empty: nowhere
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

// Ladders draws ladders that stand side by side: the same known lies at the
// same height in all of them.
func Ladders(ls []Ladder) []string {
	stacks := map[float64]float64{} // level → most height that its readings need
	all := make([][]stack, len(ls))
	for i, l := range ls {
		all[i] = make([]stack, len(l.Rungs))
		for j, r := range l.Rungs {
			all[i][j] = layOut(l.frame(), r.errors(), -r.Level/r.unit())
			stacks[r.Level] = math.Max(stacks[r.Level], all[i][j].height)
		}
	}
	out := make([]string, len(ls))
	for i, l := range ls {
		out[i] = l.draw(placeRungs(l.Scale, stacks), all[i])
	}
	return out
}

func (l Ladder) frame() frame { return frame{ladderLeft, ladderRight, -l.Half, l.Half} }

func (l Ladder) draw(p places, stacks []stack) string {
	d := &drawing{id: l.ID, height: p.height}
	bottom := p.height - footRoom
	l.ground(d, p, bottom)
	for i, r := range l.Rungs {
		y := p.y[r.Level]
		l.rung(d, r, y)
		d.stack(l.frame(), stacks[i], y-overRung)
	}
	d.text("t", ladderLeft, bottom+18, "", l.Labels.Low)
	d.text("t", ladderRight, bottom+18, "end", l.Labels.High)
	return d.svg("fig", l.Title, l.Desc)
}

func (r Rung) unit() float64 {
	if r.Unit > 0 {
		return r.Unit
	}
	return 1
}

// errors are a rung's readings as errors in the unit across.
func (r Rung) errors() []Mark {
	unit, out := r.unit(), make([]Mark, len(r.Readings))
	for i, m := range r.Readings {
		out[i] = Mark{(m.Low - r.Level) / unit, (m.High - r.Level) / unit, m.Count, m.Href}
	}
	return out
}

// places are the heights of the levels on the page. trueAxis is false where
// rungs had to be pushed apart: then the axis has no ticks, because they would lie.
type places struct {
	levels   []float64
	y        map[float64]float64
	height   float64
	trueAxis bool
}

// placeRungs gives each level its height: on the true scale if the figure stays
// below the tallest, otherwise at least its gap above the level below.
func placeRungs(s Scale, stacks map[float64]float64) places {
	p := places{y: map[float64]float64{}, height: headRoom + footRoom + leastGap}
	for level := range stacks {
		p.levels = append(p.levels, level)
	}
	sort.Float64s(p.levels)
	n := len(p.levels)
	if n == 0 {
		return p
	}
	at, gap := make([]float64, n), make([]float64, n)
	scale, sum := 0.0, 0.0
	for i, level := range p.levels {
		at[i] = s.At(math.Max(level, 0))
		if i > 0 {
			gap[i] = math.Max(leastGap, underRung+overRung+stacks[p.levels[i-1]])
			sum += gap[i]
			scale = math.Max(scale, gap[i]/math.Max(at[i]-at[i-1], 1e-9))
		}
	}
	span := at[n-1] - at[0]
	if p.trueAxis = scale*span <= math.Max(tallest, 1.3*sum); !p.trueAxis {
		scale = .7 * sum / math.Max(span, 1e-9)
	}
	up := make([]float64, n)
	for i := 1; i < n; i++ {
		up[i] = (at[i] - at[0]) * scale
		if !p.trueAxis {
			up[i] = math.Max(up[i], up[i-1]+gap[i])
		}
	}
	first := headRoom + overRung + math.Max(12, stacks[p.levels[n-1]])
	p.height = first + up[n-1] + underRung + footRoom
	for i, level := range p.levels {
		p.y[level] = first + up[n-1] - up[i]
	}
	return p
}

// ground draws the permitted strip, the stiles, the axis and the heads.
func (l Ladder) ground(d *drawing, p places, bottom float64) {
	f := l.frame()
	if l.Judged {
		l.strip(d, p, bottom)
	} else {
		d.line("m-guide", f.at(0), f.at(0), headRoom, bottom)
	}
	d.line("m-guide", f.x0, f.x0, headRoom, bottom)
	if n := len(p.levels); p.trueAxis && n > 1 {
		low, high := p.levels[0], p.levels[n-1]
		y0, y1, p0, p1 := p.y[low], p.y[high], l.Scale.At(low), l.Scale.At(high)
		for _, v := range l.Scale.Ticks(8 / (y0 - y1 + 1)) {
			if v >= low && v <= high {
				y := y0 + (y1-y0)*(l.Scale.At(v)-p0)/(p1-p0)
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
func (l Ladder) strip(d *drawing, p places, bottom float64) {
	f := l.frame()
	left, right := f.at(-1), f.at(1)
	judged := map[float64]bool{}
	for _, r := range l.Rungs {
		judged[r.Level] = !r.Outside
	}
	top := func(i int) float64 { // where the stretch of level i ends
		if i == len(p.levels)-1 {
			return headRoom
		}
		return p.y[p.levels[i+1]] + underRung
	}
	for i := 0; i < len(p.levels); {
		j := i
		for j+1 < len(p.levels) && judged[p.levels[j+1]] == judged[p.levels[i]] {
			j++
		}
		y0, y1 := top(j), bottom
		if i > 0 {
			y1 = top(i - 1)
		}
		if judged[p.levels[i]] {
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
func (l Ladder) rung(d *drawing, r Rung, y float64) {
	f, unit := l.frame(), r.unit()
	d.line("m-guide", f.x0, f.x1, y, y)
	if l.Judged {
		d.line("m-rung", f.at(-1), f.at(1), y, y)
	} else {
		d.line("m-rung", f.at(-l.Half/4), f.at(l.Half/4), y, y)
	}
	d.known(f, r.U/unit, y)
	b := r.Bias
	b.Low, b.High, b.Notch = b.Low/unit, b.High/unit, b.Notch/unit
	d.link(r.Href, "readings at "+r.Label, func() {
		class := "t t-known"
		if len(r.Label) > 4 { // no room for large figures
			class = "t t-knowns"
		}
		d.text(class, ladderLabel, y+5, "end", r.Label)
		d.bar(f, b, y+8, 9)
	})
	d.text("t", ladderLabel, y+19, "end", r.Under)
	d.text("t strong", ladderNum, y+4, "", r.Upper)
	d.text("t strong", ladderNum, y+18, "", r.Lower)
}

// known draws the expanded uncertainty of a known at the middle of its rung.
func (d *drawing) known(f frame, u, y float64) {
	x0, x1 := f.at(math.Max(-u, f.low)), f.at(math.Min(u, f.high))
	if x1-x0 < least {
		x0, x1 = f.at(0)-least/2, f.at(0)+least/2
	}
	d.rect("m-known", x0, x1-x0, y-3, 6)
}
