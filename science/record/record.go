package record

import (
	"math"
	"sort"

	"knownwater/science/num"
)

// Spread says how single readings scatter about their mean, draw by draw.
type Spread struct {
	// SD of a single reading at concentration c: All is every source; Same is
	// what is left between two tests by one reader in one session.
	All, Same func(draw int, c float64) float64
}

// Record is a method's record of performance in one scope.
type Record struct {
	Response *Response
	Spread   Spread
	Shown    Shown

	// Bottom and Top are the concentrations between which knowns were tested;
	// Bottom is 0 where the lowest known is as good as a blank.
	Bottom, Top float64

	Grid   []float64   // concentrations from Bottom to Top
	Mean   []float64   // best mean response on the grid
	table  [][]float64 // [draw][grid] mean response
	limits map[float64][]float64
	once   bool // asked a few times only: limits of readings are worked out where they are wanted

	// of a record of a sample, on its grid: the spread in every draw, and between which values
	// nearly all readings lie, whatever the draw
	spreads  [][]float64
	from, to []float64
}

const (
	gridSteps = 120
	mostDraws = 320 // draws kept for the record; thinned evenly from those given
)

// New tabulates a record on a grid that is even in asinh(c/c0), c0 the
// smallest level above 0, so that low concentrations get their share.
func New(r *Response, s Spread, shown Shown, bottom, top, c0 float64) *Record {
	rec := &Record{Response: r, Spread: s, Shown: shown, Bottom: bottom, Top: top, limits: map[float64][]float64{}}
	lo, hi := math.Asinh(bottom/c0), math.Asinh(top/c0)
	for i := range gridSteps + 1 {
		rec.Grid = append(rec.Grid, c0*math.Sinh(lo+(hi-lo)*float64(i)/gridSteps))
	}
	rec.Grid[0], rec.Grid[gridSteps] = bottom, top
	rec.Mean = make([]float64, len(rec.Grid))
	for i, c := range rec.Grid {
		rec.Mean[i] = r.At(c)
	}
	rec.table = make([][]float64, len(r.draws))
	for d := range rec.table {
		rec.table[d] = make([]float64, len(rec.Grid))
		for i, c := range rec.Grid {
			rec.table[d][i] = r.Draw(d, c)
		}
	}
	return rec
}

// Of is the record of the mean of several readings of one sample, or of readings whose
// taker is known: shift moves the mean reading in a draw, sd is the standard deviation
// of what is read about it; both at a concentration. It keeps
// every draw and every place of the grid, or, to plan by, every step-th.
func (r *Record) Of(step int, shift, sd func(draw int, c float64) float64) *Record {
	n := *r
	n.spreads, n.from, n.to = nil, nil, nil
	all := func(i int, c float64) float64 { return sd(i*step, c) }
	n.limits, n.once, n.Spread = map[float64][]float64{}, true, Spread{All: all, Same: all}
	n.Grid, n.Mean, n.table = nil, nil, nil
	var places []int
	for g := 0; g < len(r.Grid)-1; g += step {
		places = append(places, g)
	}
	for _, g := range append(places, len(r.Grid)-1) {
		n.Grid, n.Mean = append(n.Grid, r.Grid[g]), append(n.Mean, r.Mean[g])
	}
	places = append(places, len(r.Grid)-1)
	draws := float64((len(r.table) + step - 1) / step)
	for d := 0; d < len(r.table); d += step {
		row := make([]float64, len(places))
		for i, g := range places {
			by := shift(d, r.Grid[g])
			row[i] = r.table[d][g] + by
			n.Mean[i] += by / draws
		}
		n.table = append(n.table, row)
	}
	n.tabulate(all)
	return &n
}

// nearly is how many standard deviations about a mean hold all but 3 in 100,000 readings.
const nearly = 4

func (r *Record) tabulate(sd func(draw int, c float64) float64) {
	r.spreads = make([][]float64, len(r.table))
	r.from, r.to = make([]float64, len(r.Grid)), make([]float64, len(r.Grid))
	for g := range r.Grid {
		r.from[g], r.to[g] = math.Inf(1), math.Inf(-1)
	}
	for d, row := range r.table {
		r.spreads[d] = make([]float64, len(r.Grid))
		for g, c := range r.Grid {
			s := sd(d, c)
			r.spreads[d][g] = s
			r.from[g], r.to[g] = math.Min(r.from[g], row[g]-nearly*s), math.Max(r.to[g], row[g]+nearly*s)
		}
	}
}

// Draws is how many equally likely records there are.
func (r *Record) Draws() int { return len(r.table) }

// At is draw d of the mean response at c, from the table.
func (r *Record) At(d int, c float64) float64 { return along(r.Grid, r.table[d], c) }

// along is the broken line through (x, y); outside it the end pieces go on.
func along(x, y []float64, at float64) float64 {
	i, t := place(x, at)
	return y[i-1] + t*(y[i]-y[i-1])
}

// place is the piece i−1 to i of a rising grid, and how far along it at lies.
func place(x []float64, at float64) (i int, t float64) {
	i = min(max(sort.SearchFloat64s(x, at), 1), len(x)-1)
	return i, (at - x[i-1]) / (x[i] - x[i-1])
}

// Best is the best mean response at c.
func (r *Record) Best(c float64) float64 { return r.Response.At(c) }

// Reading is the distribution of one later reading at c under draw d.
func (r *Record) Reading(d int, c float64) Normal {
	y := r.At(d, c)
	return Normal{Mean: y, SD: r.Spread.All(d, c)}
}

// Limit is the p-quantile of one later reading on the whole grid, over all
// that is not known of the record.
func (r *Record) Limit(p float64) []float64 {
	if l, ok := r.limits[p]; ok {
		return l
	}
	ends := [2]float64{p, 1 - p} // who asks for one asks for the other
	var l [2][]float64
	at := [2]float64{num.PhiInv(p), num.PhiInv(1 - p)} // in standard deviations above the mean
	dist := make([]centred, len(r.table))
	for i, c := range r.Grid {
		mean, sd := 0.0, 0.0
		for d := range r.table {
			n := Normal{Mean: r.table[d][i], SD: r.Spread.All(d, c)}
			dist[d] = centred{n.Mean, 1 / n.SD}
			mean += n.Mean / float64(len(dist))
			sd += n.SD / float64(len(dist))
		}
		for j, p := range ends {
			y := mixtureQuantile(dist, p, mean+at[j]*sd, sd)
			l[j] = append(l[j], y)
			at[j] = (y - mean) / sd // the next place has about the same
		}
	}
	r.limits[ends[1]], r.limits[ends[0]] = l[1], l[0]
	return l[0]
}

// centred is a normal distribution by its mean and 1 ÷ standard deviation.
type centred struct{ mean, precision float64 }

// mixtureQuantile solves for the p-quantile of equally weighted normals, from
// a guess and a scale, to a 10,000th of that: by Newton's steps, kept between what is known
// to be too low and too high.
func mixtureQuantile(dist []centred, p, guess, scale float64) float64 {
	lo, hi, y := math.Inf(-1), math.Inf(1), guess
	for range 100 {
		below, slope := 0.0, 0.0
		for _, n := range dist {
			q, d := num.QuickPhiSlope((y - n.mean) * n.precision)
			below, slope = below+q, slope+d*n.precision
		}
		off := below - p*float64(len(dist))
		step := off / slope
		if math.Abs(step) <= 1e-2*scale && y-step > lo && y-step < hi { // what is left is of the order of its square
			return y - step
		}
		if off > 0 {
			hi = y
		} else {
			lo = y
		}
		switch next := y - math.Max(-scale, math.Min(step, scale)); {
		case next > lo && next < hi:
			y = next
		case math.IsInf(lo, 0) || math.IsInf(hi, 0):
			y -= math.Copysign(scale, off)
		default:
			y = (lo + hi) / 2
		}
		if hi-lo <= 1e-4*scale {
			return y
		}
	}
	return y
}

// Invert is the concentration at which the best mean response is y; outside
// the grid the end pieces go on. Where the response is flat it is the middle
// of the flat part.
func (r *Record) Invert(y float64) float64 { return InvertOn(r.Grid, r.Mean, y) }

// InvertOn does so for a rising table.
func InvertOn(grid, mean []float64, y float64) float64 {
	n := len(grid)
	i := sort.Search(n, func(i int) bool { return mean[i] >= y })
	j := sort.Search(n, func(j int) bool { return mean[j] > y })
	if j > i+1 { // several grid points at exactly y
		return (grid[i] + grid[j-1]) / 2
	}
	i = min(max(i, 1), n-1)
	rise := mean[i] - mean[i-1]
	if i == n-1 && y > mean[n-1] || i == 1 && y < mean[0] {
		if rise <= 0 {
			return math.Copysign(math.Inf(1), y-mean[i])
		}
	}
	if rise <= 0 {
		return (grid[i] + grid[i-1]) / 2
	}
	return grid[i-1] + (y-mean[i-1])/rise*(grid[i]-grid[i-1])
}

// Thin picks at most mostDraws of n equally weighted draws, evenly.
func Thin(n int) []int {
	idx := make([]int, min(n, mostDraws))
	for j := range idx {
		idx[j] = (2*j + 1) * n / (2 * len(idx))
	}
	return idx
}
