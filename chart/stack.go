package chart

import (
	"math"
	"sort"
	"strconv"
)

// Most rows of a stack: of single lines, and of lines with a count.
const (
	mostLines, lineStep   = 14, 4.5
	mostCounts, countStep = 5, 15.0
	densityHeight         = 36.0
)

// dot is how wide a mark is that is narrower than the line, in per cent.
const dot = 1.2

// cell is one stretch of the frame with the readings that fall on it alike.
type cell struct {
	x0, x1            float64 // per cent
	openLow, openHigh bool
	cutLow, cutHigh   bool
	beyond            bool // all of it lies past the frame
	count             int
	href              string // where its readings are; one address for all of them, or none
}

func (c cell) isDot() bool { return c.x1-c.x0 <= dot+1e-6 }

// stack is what was read at one level, laid out: one line a reading while they
// fit, else one line a distinct reading with "×n"; where even the distinct ones
// are too many, a density of upright strokes.
type stack struct {
	cells   []cell
	rows    []int // row of each cell; nil for a density
	counted bool
	total   int
	height  float64
}

// layOut plans the stack of one level inside a frame. Low ends of −∞ are drawn
// down to floor.
func layOut(f frame, marks []Mark, floor float64) stack {
	cells := cellsOf(f, marks, floor)
	s := stack{cells: cells}
	for _, c := range cells {
		s.total += c.count
	}
	if len(cells) == 0 {
		return s
	}
	if s.total <= 60 {
		if each, rows, n := oneByOne(f, cells); rows != nil {
			s.cells, s.rows, s.height = each, rows, lineStep*float64(n)
			return s
		}
	}
	s.counted = true
	if rows, n := pack(cells, mostCounts, 1, func(c cell) (float64, float64) { return countSpan(f, c) }); rows != nil {
		s.rows, s.height = rows, countStep*float64(n)
		return s
	}
	s.height = densityHeight + 8 + countStep
	return s
}

// oneByOne is each reading as a line of its own, except what lies past the
// frame: that is one slash with a count.
func oneByOne(f frame, cells []cell) (each []cell, rows []int, used int) {
	for _, c := range cells {
		n := c.count
		if c.beyond {
			n = 1
		} else {
			c.count = 1
		}
		for range n {
			each = append(each, c)
		}
	}
	rows, used = pack(each, mostLines, 3, func(c cell) (float64, float64) { return countSpan(f, c) })
	return each, rows, used
}

// cellsOf puts marks that look alike together, to about half a pixel.
func cellsOf(f frame, marks []Mark, floor float64) []cell {
	type key struct {
		a, b              int
		openLow, openHigh bool
	}
	at := map[key]int{}
	var out []cell
	for _, m := range marks {
		if math.IsNaN(m.Low) || math.IsNaN(m.High) || m.Count <= 0 || m.High < m.Low {
			continue
		}
		c := cell{count: m.Count, href: m.Href, openLow: math.IsInf(m.Low, -1), openHigh: math.IsInf(m.High, 1)}
		low := m.Low
		if c.openLow {
			low = math.Min(floor, m.High)
		}
		c.cutLow, c.cutHigh = low < f.low && !c.openLow, m.High > f.high && !c.openHigh
		c.x0, c.x1 = f.at(clamp(low, f.low, f.high)), f.at(clamp(m.High, f.low, f.high))
		c.beyond = m.High < f.low || low > f.high
		if c.x1-c.x0 < dot {
			mid := clamp((c.x0+c.x1)/2, f.x0+dot/2, f.x1-dot/2)
			c.x0, c.x1 = mid-dot/2, mid+dot/2
		}
		k := key{int(c.x0 * 6), int(c.x1 * 6), c.openLow, c.openHigh}
		if j, ok := at[k]; ok {
			out[j].count += c.count
			if out[j].href != c.href {
				out[j].href = ""
			}
			continue
		}
		at[k] = len(out)
		out = append(out, c)
	}
	sort.SliceStable(out, func(i, j int) bool {
		if a, b := out[i].x1-out[i].x0, out[j].x1-out[j].x0; math.Abs(a-b) > 1e-9 {
			return a > b // long lines lowest, dots on top
		}
		return out[i].x0 < out[j].x0
	})
	return out
}

// pack gives each cell the lowest row where it overlaps nothing; takes is the
// stretch in per cent that it needs with its count, tall how many rows a count
// beside a slash covers. No rows come back where more than most would be needed.
func pack(cells []cell, most, tall int, takes func(cell) (x0, x1 float64)) (rows []int, used int) {
	taken := make([][][2]float64, most)
	rows = make([]int, len(cells))
	for i, c := range cells {
		x0, x1 := takes(c)
		x0, x1 = x0-.3, x1+.3
		high := 1
		if c.beyond && c.count > 1 {
			high = tall
		}
		row := 0
		for row+high <= most && !free(taken[row:row+high], x0, x1) {
			row++
		}
		if row+high > most {
			return nil, 0
		}
		for k := range high {
			taken[row+k] = append(taken[row+k], [2]float64{x0, x1})
		}
		rows[i], used = row+high/2, max(used, row+high)
	}
	return rows, used
}

func free(rows [][][2]float64, x0, x1 float64) bool {
	for _, taken := range rows {
		for _, t := range taken {
			if x0 < t[1] && t[0] < x1 {
				return false
			}
		}
	}
	return true
}

// stack draws what was laid out, its lowest row at y.
func (d *drawing) stack(f frame, s stack, y float64) {
	if len(s.cells) == 0 {
		return
	}
	if s.rows == nil {
		d.density(f, s, y)
		return
	}
	step := lineStep
	if s.counted {
		step = countStep
	}
	row := func(i int) float64 { return y - step*float64(s.rows[i]) }
	d.group("m-read")
	for i, c := range s.cells {
		if !c.isDot() && !c.beyond {
			d.link(c.href, "these readings", func() { d.bareLine(c.x0, c.x1, row(i)) })
		}
	}
	d.end()
	d.group("m-dot")
	for i, c := range s.cells {
		if c.isDot() && !c.beyond {
			d.link(c.href, "these readings", func() { d.bareRect(c.x0, c.x1-c.x0, row(i)-1.7, 3.4) })
		}
	}
	d.end()
	for i, c := range s.cells {
		d.readingEnds(f, c, row(i))
		if c.count > 1 {
			d.count(f, c, row(i))
		}
	}
}

func (d *drawing) readingEnds(f frame, c cell, y float64) {
	switch {
	case c.openLow:
		d.arrowLeft(c.x0, y)
	case c.cutLow:
		d.slash(f.x0, y)
	}
	switch {
	case c.openHigh:
		d.arrowRight(f.x1, y)
	case c.cutHigh:
		d.slash(f.x1, y)
	}
}

// narrowest is the least width in pixels that a figure of stacks is read at, and
// letter that of a figure at 12 pixels: labels are given room for both.
const narrowest, letter = 200.0, 7.2

func lettersWide(n int) float64 { return float64(n) * letter / narrowest * 100 }

// countSpan is the stretch that a cell takes with its count, in per cent: the count
// stands over the middle of its line, or beside the slash of what lies past the
// frame.
func countSpan(f frame, c cell) (x0, x1 float64) {
	w := lettersWide(len(strconv.Itoa(c.count)) + 1)
	switch {
	case c.count <= 1:
		return c.x0, c.x1
	case c.beyond && c.x1 < f.x1-dot:
		return c.x0, f.x0 + 3 + w
	case c.beyond:
		return f.x1 - 3 - w, c.x1
	}
	mid := countAt(f, c, w)
	return math.Min(c.x0, mid-w/2), math.Max(c.x1, mid+w/2)
}

// countAt is the middle of a count over its line: inside the frame.
func countAt(f frame, c cell, w float64) float64 {
	return clamp((c.x0+c.x1)/2, f.x0+w/2, f.x1-w/2)
}

// count says how many readings a line stands for.
func (d *drawing) count(f frame, c cell, y float64) {
	text := "×" + strconv.Itoa(c.count)
	switch {
	case c.beyond && c.x1 < f.x1-dot:
		d.text("t halo", f.x0+3, y+3, "", text)
	case c.beyond:
		d.text("t halo", f.x1-3, y+3, "end", text)
	default:
		d.text("t halo", countAt(f, c, lettersWide(len(text)-1)), y-3, "middle", text)
	}
}

// density draws very many distinct readings as upright strokes whose height is
// the share of readings there; the fullest is as high as the room.
func (d *drawing) density(f frame, s stack, y float64) {
	const bins = 60
	h, most := make([]float64, bins), 0.0
	for _, c := range s.cells {
		a, b := (c.x0-f.x0)/f.width()*bins, (c.x1-f.x0)/f.width()*bins
		lo, hi := int(clamp(a, 0, bins-1)), int(clamp(b, 0, bins-1))
		for i := lo; i <= hi; i++ {
			h[i] += float64(c.count) / float64(hi-lo+1)
			most = math.Max(most, h[i])
		}
	}
	w := f.width() / bins
	d.group("m-dot")
	for i, v := range h {
		if v > 0 {
			t := math.Max(1, v/most*densityHeight)
			d.bareRect(f.x0+w*float64(i)+w*.15, w*.7, y+3-t, t)
		}
	}
	d.end()
	d.text("t halo", f.x1, y-densityHeight-2, "end", "×"+strconv.Itoa(s.total))
}
