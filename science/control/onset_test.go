package control

import (
	"math"
	"slices"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// course is one way in which checks may have moved, and how likely it is beforehand.
type course struct {
	kind              string
	begins, ends      int
	by, left, chances float64
}

// courses are all that OnsetOf weighs of n checks of which none is of a new lot, written down as its comment says: steps, drifts, drifts that stopped and steps that
// were taken back, by sizes of a shift and what is left of it, each with its chance beforehand against that of none.
func courses(n int, sizes, lefts []float64) (out []course) {
	t3 := func(s float64) float64 { return math.Pow(1+s*s/(3*typical*typical), -2) } // Student's t with three degrees of freedom, but for a factor
	before := func(of []float64) (p []float64) {
		all := 0.0
		for _, s := range of {
			all += t3(s)
		}
		for _, s := range of {
			p = append(p, t3(s)/all)
		}
		return p
	}
	likelyLeft := before(lefts)
	for l := range likelyLeft {
		likelyLeft[l] *= 0.5
		if lefts[l] == 0 {
			likelyLeft[l] += 0.5
		}
	}
	places := n - 2 // of a drift: three checks of it at least
	for j, p := range before(sizes) {
		add := func(kind string, begins, ends int, left, times float64) {
			out = append(out, course{kind, begins, ends, sizes[j], left, 0.01 * p * times})
		}
		for from := range n {
			add("step", from, n, 0, 1)
		}
		for from := range places {
			add("drift", from, n, 0, float64(n)/float64(places))
			for _, after := range []int{4, 8, 16} {
				if from+after+6 <= n {
					add("stopped", from, from+after, 0, float64(n)/float64(places)/3/3)
				}
			}
		}
		for from := range n {
			for to := from + 1; to+6 <= n; to++ {
				for l, left := range lefts {
					add("back", from, to, left, likelyLeft[l]/float64(n)/3)
				}
			}
		}
	}
	return out
}

// moved is by how much a check has moved since a course began.
func (c course) moved(i int) float64 {
	switch {
	case c.kind == "back" && i >= c.ends:
		return c.left
	case c.kind == "step", i >= c.ends:
		return c.by
	}
	return c.by * float64(i-c.begins+1) / float64(c.ends-c.begins)
}

// Since when, and by how much, is what all courses say that are weighed one by one: of rows that moved at once, drifted, were off for a while, and did nothing, by a
// record of three draws.
func TestOnsetByCounting(t *testing.T) {
	scatter := []float64{0.3, -0.8, 0.5, 1.1, -0.2, -1.0, 0.7, 0.1, -0.5, 0.9, -0.3, 0.6, -0.7, 0.2, -0.1, 0.4}
	for name, by := range map[string][]float64{
		"at once":            {0, 0, 0, 0, 3, 3, 3, 3, 3, 3, 3},
		"drifts":             {0, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9},
		"back":               {0, -5, -5, -5, 0, 0, 0, 0, 0, 0, 0},
		"half back":          {0, 6, 6, 6, 6, 3, 3, 3, 3, 3, 3},
		"nearly back":        {0, -5, -5, -5, -0.73, -0.73, -0.73, -0.73, -0.73, -0.73, -0.73},
		"back too lately":    {0, 0, -5, -5, -5, -5, 0, 0, 0, 0, 0},
		"stops after eight":  {0, 1, 2, 3, 4, 5, 6, 7, 8, 8, 8, 8, 8, 8, 8, 8},
		"nothing":            {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0},
		"drifts and stops":   {0, 3, 6, 9, 12, 12, 12, 12, 12, 12, 12},
		"moved by the first": {-2, -2, -2, -2, -2, -2, -2, -2, -2, -2, -2},
	} {
		draws := []Normal{{9.8, 0.5}, {10, 0.6}, {10.1, 0.5}}
		if len(by) > 11 { // from 12 on draws are taken by how they scatter
			draws[1].SD = 0.5
		}
		unit := (Check{Draws: draws}).unit()
		r := Row{}
		far := 8.0
		for i, z := range scatter[:len(by)] {
			y := unit.Mean + unit.SD*(by[i]+z)
			r.Checks = append(r.Checks, Check{interval.Interval{Low: y, High: y}, draws})
			far = math.Max(far, math.Abs(by[i]+z)+2)
		}
		n := len(r.Checks)
		var sizes, lefts []float64
		for k := 1; k <= 32; k++ {
			sizes = append(sizes, far*float64(k)/32, -far*float64(k)/32)
		}
		for k := -48; k <= 48; k++ {
			lefts = append(lefts, float64(k)/8)
		}
		chance := func(d, i int, moved float64) float64 {
			return num.LogNormalPDF((r.Checks[i].Seen.Low-draws[d].Mean-moved*unit.SD)/draws[d].SD) - math.Log(draws[d].SD)
		}
		// the logarithms of the chances of checks from the first up to each, all moved by so much, remembered
		type run [][]float64
		known := map[float64]run{}
		upTo := func(moved float64) run {
			if known[moved] == nil {
				known[moved] = make(run, len(draws))
				for d := range draws {
					p := []float64{0}
					for i := range n {
						p = append(p, p[i]+chance(d, i, moved))
					}
					known[moved][d] = p
				}
			}
			return known[moved]
		}
		whole := func(c course) (sum float64) {
			still, by, left := upTo(0), upTo(c.by), upTo(c.left)
			for d := range draws {
				p := still[d][c.begins]
				switch c.kind {
				case "step", "back":
					p += by[d][c.ends] - by[d][c.begins] + left[d][n] - left[d][c.ends]
				default:
					for i := c.begins; i < c.ends; i++ {
						p += chance(d, i, c.moved(i))
					}
					p += by[d][n] - by[d][c.ends]
				}
				sum += math.Exp(p)
			}
			return sum
		}
		none := whole(course{kind: "step", ends: n})
		kinds, begun, nothingLeft, all := map[string]float64{}, make([]float64, n), 0.0, 0.0
		shifts := map[float64]float64{}
		for _, c := range courses(n, sizes, lefts) {
			p := c.chances * whole(c) / none
			kinds[c.kind], begun[c.begins], all = kinds[c.kind]+p, begun[c.begins]+p, all+p
			if shifts[c.moved(n-1)] += p; c.kind == "back" && c.left == 0 {
				nothingLeft += p
			}
		}
		ended, tooMuch, other, ever := make([]float64, n), 0.0, 0.0, 0.0
		for _, s := range sizes[:len(sizes)*min(1, 11/n)] { // of the longest row this is not asked
			for to := range n {
				for from := range to {
					for _, left := range lefts {
						p := math.Pow(1+s*s/(3*typical*typical), -2) * whole(course{kind: "back", begins: from, ends: to, by: s, left: left}) / none
						ended[to], ever = ended[to]+p, ever+p
						limit := math.Min(math.Abs(s)/2, DefaultShift)
						switch same := math.Copysign(left, left*s); {
						case same >= limit:
							tooMuch += p
						case same <= -limit:
							other += p
						}
					}
				}
			}
		}
		surely, sum := 0, 0.0
		for ; surely < n; surely++ {
			if sum += ended[surely]; sum >= 0.95*ever {
				break
			}
		}
		if tooMuch > 0.05*ever || other > 0.05*ever || n-surely < 6 {
			surely = 0
		}
		if _, sizes := r.sizes(); returned(r.chances(far), sizes, DefaultShift) != surely {
			t.Errorf("%s: surely back by check %d, by counting %d (too much left %.3f, on the other side %.3f)", name, returned(r.chances(far), sizes, DefaultShift), surely, tooMuch/ever, other/ever)
		}
		o := OnsetOf(r, DefaultShift)
		same := func(what string, got, want float64) {
			t.Helper()
			if !(math.Abs(got-want) <= 1e-6*math.Abs(want)) {
				t.Errorf("%s: %s %.9g, by counting %.9g", name, what, got, want)
			}
		}
		same("odds of a row that rang", oddsOf(r, true), kinds["step"]+kinds["back"])
		same("odds of one that did not", oddsOf(r, false), kinds["step"])
		if drifts := kinds["drift"] > 3*kinds["step"] && kinds["drift"] > kinds["stopped"]; o.Drifts != drifts {
			t.Errorf("%s: drifts %v: %v", name, o.Drifts, kinds)
		}
		if back := nothingLeft > all/2; o.Back != back {
			t.Errorf("%s: back %v, nothing left %g of %g", name, o.Back, nothingLeft, all)
		}
		held := 0.0
		for i := o.From; i <= o.To; i++ {
			held += begun[i]
		}
		if likeliest := slices.Index(begun, slices.Max(begun)); o.Best != likeliest || held < 0.95*all || held-math.Min(begun[o.From], begun[o.To]) >= 0.95*all && o.To > o.From {
			t.Errorf("%s: from %d (%d to %d, %.3f of all), begun %.3g", name, o.Best, o.From, o.To, held/all, begun)
		}
		var places []float64
		for s := range shifts {
			places = append(places, s)
		}
		slices.Sort(places)
		for what, x := range map[string][2]float64{"middle": {0.5, o.Shift}, "low": {0.025, o.ShiftLow}, "high": {0.975, o.ShiftHigh}} {
			sum, at := 0.0, 0
			for ; sum < x[0]*all; at++ {
				sum += shifts[places[at]]
			}
			if !(math.Abs(x[1]-places[at-1]) <= 0.3) { // places are an eighth and more apart
				t.Errorf("%s: moved by %.3f (%s), by counting %.3f", name, x[1], what, places[at-1])
			}
		}
	}
}

// A drift that was looked for at some places only may have begun at any up to the next.
func TestADriftBeginsBetweenPlaces(t *testing.T) {
	r := Row{}
	for i := range 11 {
		y := 10 + 0.5*math.Max(0, float64(i-3))
		r.Checks = append(r.Checks, Check{interval.Interval{Low: y, High: y}, []Normal{{10, 0.5}}})
	}
	far, sizes := r.sizes()
	if o := r.places(r.chances(far), sizes, far/halfSizes, []int{0, 4, 8}, excursion{}); !o.Drifts || o.From != 4 || o.To != 7 {
		t.Errorf("from %d to %d, want 4 to 7: %+v", o.From, o.To, o)
	}
}

// By hand, of shifts of −0.1, −0.05, 0, 0.05 and 0.1.
func TestReads(t *testing.T) {
	w := Reads{first: -0.1, likely: []float64{0.02, 0.28, 0.3, 0.25, 0.15}}
	mid, low, high := w.Interval()
	for what, x := range map[string][2]float64{"middle": {mid, 0}, "low": {low, -0.05}, "high": {high, 0.1},
		"beyond 0.04 either way": {w.beyond(0.04), 0.4}, "beyond 0.09": {w.beyond(0.09), 0.15}, "beyond 0.2": {w.beyond(0.2), 0}} {
		if !(math.Abs(x[0]-x[1]) <= 1e-12) {
			t.Errorf("%s: %g, want %g", what, x[0], x[1])
		}
	}
	w.likely[0], w.likely[4] = w.likely[4], w.likely[0]
	if p := w.beyond(0.04); !(math.Abs(p-0.43) <= 1e-12) {
		t.Errorf("downwards %g, want 0.43", p)
	}
	if c := Of(Row{}, nil); !c.NoLimits || c.State != Undecided || c.Signal != -1 {
		t.Errorf("no checks: %+v", c)
	}
}
