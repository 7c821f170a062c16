package record

import (
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/response"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tol)
	}
}

// two is a record of two equally likely lines, 1 + 2c and 1.5 + 2c, read with a
// standard deviation of 0.3 under the first and 0.3 + 0.1c under the second.
func two(bottom, top float64) *Record {
	r := &Response{Shape: response.Of(response.Line), Params: []float64{1.25, 2}, draws: [][]float64{{1, 2}, {1.5, 2}}}
	sd := func(d int, c float64) float64 { return 0.3 + 0.1*c*float64(d) }
	return New(r, Spread{All: sd, Same: sd}, Shown{Step: 0.1}, bottom, top, 1)
}

// Everything that a record of two lines says is a mean of two normals.
func TestTwoLines(t *testing.T) {
	r := two(0, 10)
	for _, c := range []float64{0, 0.37, 1, 4.2, 10, 11} {
		n := [2]Normal{{Mean: 1 + 2*c, SD: 0.3}, {Mean: 1.5 + 2*c, SD: 0.3 + 0.1*c}}
		cdf := func(y float64) float64 {
			return (num.Phi((y-n[0].Mean)/n[0].SD) + num.Phi((y-n[1].Mean)/n[1].SD)) / 2
		}
		seen := interval.Interval{Low: n[0].Mean, High: n[0].Mean + 1}
		near(t, "chance of an interval", r.Chance(c, seen), cdf(seen.High)-cdf(seen.Low), 1e-9)
		near(t, "chance below", r.Chance(c, interval.Below(seen.High)), cdf(seen.High), 1e-9)
		y := n[0].Mean + 0.2
		density := (num.NormalPDF(0.2/n[0].SD)/n[0].SD + num.NormalPDF((y-n[1].Mean)/n[1].SD)/n[1].SD) / 2
		near(t, "density", r.Chance(c, interval.Interval{Low: y, High: y}), density, 1e-9)
		square := (n[0].SD*n[0].SD+n[1].SD*n[1].SD)/2 + 0.25*0.25
		near(t, "uncertainty", r.Uncertainty(c), math.Sqrt(square)/2, 1e-9)
		near(t, "slope", r.Slope(c), 2, 1e-9)
		near(t, "level", r.Level(1.25+2*c), c, 1e-9)
		near(t, "best", r.Best(c), 1.25+2*c, 1e-12)
		near(t, "second draw", r.At(1, c), 1.5+2*c, 1e-9)
		if got := r.Reading(1, c); !(math.Abs(got.Mean-n[1].Mean) <= 1e-9) || !(math.Abs(got.SD-n[1].SD) <= 1e-12) {
			t.Errorf("reading at %v: %v, want %v", c, got, n[1])
		}
	}
	for i, c := range r.Grid {
		for _, p := range []float64{0.025, 0.3, 0.975} {
			y := r.Limit(p)[i]
			got := (num.Phi((y-1-2*c)/0.3) + num.Phi((y-1.5-2*c)/(0.3+0.1*c))) / 2
			near(t, "chance below the limit", got, p, 2e-4)
		}
	}
}

// The margin is the distance to the nearer limit that may be left: positive where
// neither end of what holds 95 % lies beyond what was seen.
func TestMargin(t *testing.T) {
	r := two(0, 10)
	c := r.Grid[60]
	low, high := r.Limit(0.025)[60], r.Limit(0.975)[60]
	near(t, "reading at the upper limit", r.Margin(c, interval.Interval{Low: high, High: high + 5}), 0, 1e-9)
	near(t, "reading at the lower limit", r.Margin(c, interval.Interval{Low: low - 5, High: low}), 0, 1e-9)
	near(t, "a reading inside", r.Margin(c, interval.Interval{Low: low + 0.1, High: low + 0.2}), 0.2, 1e-9)
	once := r.Of(1, func(int, float64) float64 { return 0 }, r.Spread.All)
	near(t, "at the limit, by chances", once.Margin(c, interval.Interval{Low: high, High: high + 5}), 0, 2e-4)
	near(t, "far inside, by chances", once.Margin(c, interval.Interval{Low: low, High: high}), 0.975-0.025, 4e-4)
}

// The record of a sample is moved by the shift of each draw and scatters as told.
func TestOfASample(t *testing.T) {
	r := two(0, 10)
	for _, step := range []int{1, 2} {
		s := r.Of(step, func(d int, c float64) float64 { return 0.5 + float64(d) + 0.01*c }, func(d int, c float64) float64 { return 0.2 + float64(d) })
		if want := (2 + step - 1) / step; s.Draws() != want {
			t.Fatalf("%d draws, want %d", s.Draws(), want)
		}
		last := len(s.Grid) - 1
		near(t, "bottom", s.Grid[0], 0, 0)
		near(t, "top", s.Grid[last], 10, 0)
		for i, c := range s.Grid {
			near(t, "first draw", s.At(0, c), 1+2*c+0.5+0.01*c, 1e-9)
			mean := 0.5 + 0.01*c
			if step == 1 {
				near(t, "second draw", s.At(1, c), 1.5+2*c+1.5+0.01*c, 1e-9)
				near(t, "its spread", s.Reading(1, c).SD, 1.2, 1e-12)
				mean += 0.5
			}
			near(t, "mean", s.Mean[i], 1.25+2*c+mean, 1e-9)
		}
	}
}

// A grid has more places where concentrations are low, and both ends in it exactly.
func TestGrid(t *testing.T) {
	r := two(0, 40)
	if len(r.Grid) != gridSteps+1 || r.Grid[0] != 0 || r.Grid[gridSteps] != 40 {
		t.Fatalf("%d places from %v to %v", len(r.Grid), r.Grid[0], r.Grid[len(r.Grid)-1])
	}
	near(t, "the middle, in asinh", math.Asinh(r.Grid[gridSteps/2]), math.Asinh(40)/2, 1e-12)
	r = two(3, 40)
	near(t, "the bottom", r.Grid[0], 3, 0)
	near(t, "the middle above it, in asinh", math.Asinh(r.Grid[gridSteps/2]), (math.Asinh(3)+math.Asinh(40))/2, 1e-12)
}

// Each draw of a line is its generalised least-squares fit, the knowns' errors taken
// off through the slope: here by the closed form for independent means.
func TestDrawsAreFits(t *testing.T) {
	c := []float64{0, 1, 4, 9}
	y := []float64{0.3, 1.2, 4.4, 8.8}
	u := []float64{0.1, 0.1, 0.3, 0.5}
	k := knowledge(c, y, u, []float64{0, 0.05, 0.1, 0.2}, 4000, 8)
	r, misfit, err := fitShape(response.Of(response.Line), k.settledAs())
	if err != nil {
		t.Fatal(err)
	}
	b := r.Params[1]
	line := func(y []float64) (a, b, rss float64) { // weighted by 1/u²
		var w, wx, wy, wxx, wxy float64
		for i := range c {
			v := 1 / (u[i]*u[i] + math.Pow(r.Params[1]*[]float64{0, 0.05, 0.1, 0.2}[i], 2))
			w, wx, wy, wxx, wxy = w+v, wx+v*c[i], wy+v*y[i], wxx+v*c[i]*c[i], wxy+v*c[i]*y[i]
		}
		b = (w*wxy - wx*wy) / (w*wxx - wx*wx)
		a = (wy - b*wx) / w
		for i := range c {
			v := 1 / (u[i]*u[i] + math.Pow(r.Params[1]*[]float64{0, 0.05, 0.1, 0.2}[i], 2))
			rss += v * (y[i] - a - b*c[i]) * (y[i] - a - b*c[i])
		}
		return a, b, rss
	}
	a0, b0, rss := line(y)
	near(t, "intercept", r.Params[0], a0, 0.01) // V comes from draws: good to a few per cent
	near(t, "slope", b, b0, 0.01)
	near(t, "misfit", misfit, rss, 0.1*rss)
	var worst float64
	for d := range 200 {
		z := make([]float64, len(c))
		for i := range c {
			z[i] = k.Draw[d][i] - b*k.Known[d][i]
		}
		a1, b1, _ := line(z)
		worst = math.Max(worst, math.Max(math.Abs(r.draws[d][0]-a1)/0.1, math.Abs(r.draws[d][1]-b1)/0.05))
	}
	if worst > 0.15 { // in standard errors
		t.Errorf("a draw lies %.2f of a standard error from its own fit", worst)
	}
}

// Only the leading draws say how sure the means are; the others are carried along.
func TestLeadingDraws(t *testing.T) {
	c, y, u := []float64{0, 1, 4, 9}, []float64{0, 1, 4, 9}, []float64{0.1, 0.1, 0.1, 0.1}
	k := knowledge(c, y, u, make([]float64, 4), 500, 8)
	alone, _, _ := fitShape(response.Of(response.Line), k.settledAs())
	wild := knowledge(c, y, []float64{5, 9, 1, 3}, make([]float64, 4), 500, 8)
	k.Lead, k.Draw, k.Known = 500, append(k.Draw, wild.Draw...), append(k.Known, wild.Known...)
	both, _, err := fitShape(response.Of(response.Line), k.settledAs())
	if err != nil || len(both.draws) != 1000 {
		t.Fatalf("%d draws, error %v", len(both.draws), err)
	}
	near(t, "slope", both.Params[1], alone.Params[1], 1e-12)
	near(t, "a leading draw", both.draws[3][1], alone.draws[3][1], 1e-12)
	freely := freeMonotone(k.settledAs())
	for i := range c {
		near(t, "a free mean", freely.At(c[i]), y[i], 1e-12)
	}
	for d := range freely.draws {
		for i := 1; i < len(c); i++ {
			if freely.draws[d][i] < freely.draws[d][i-1] {
				t.Fatalf("draw %d falls", d)
			}
		}
	}
	// the errors of knowns come off through the slope about each, half of either side's
	bent := Knowledge{Level: []float64{0, 1, 2}, Mean: []float64{0, 1, 4}, Draw: [][]float64{{0, 1, 4}, {0.1, 1.1, 4.1}, {-0.1, 0.9, 3.9}}, Known: [][]float64{{0, 0.1, 0}, {0, 0, 0.1}, {0, 0, 0}}}
	f := freeMonotone(bent.settledAs())
	near(t, "the middle known", f.draws[0][1], 1-0.1*2, 1e-6)
	near(t, "the top known", f.draws[1][2], 4.1-0.1*3, 1e-6)
	near(t, "no error", f.draws[2][1], 0.9, 1e-6)
}

// What the misfit's F test answers, against a table of F (3.49 at 5 % for 3 and 12
// degrees of freedom: any table of F), and where there is none.
func TestMisfit(t *testing.T) {
	near(t, "p", misfitP(3*3.4903, 3, 12), 0.05, 1e-4)
	for _, none := range [][2]float64{{0, 12}, {-1, 12}, {3, 0}} {
		if p := misfitP(5, none[0], none[1]); !math.IsNaN(p) {
			t.Errorf("df %v: p = %v", none, p)
		}
	}
}

// A covariance of three draws by hand.
func TestCovariance(t *testing.T) {
	v := Covariance([][]float64{{1, 2}, {2, 6}, {3, 4}})
	near(t, "variance", v[0][0], 1, 1e-8)
	near(t, "variance", v[1][1], 4, 1e-8)
	near(t, "covariance", v[0][1], 1, 1e-12)
	near(t, "covariance", v[1][0], 1, 1e-12)
}

// Where the response is flat a reading says the middle of the flat part; beyond the
// grid the ends go on, and nothing where they do not rise.
func TestInvertOn(t *testing.T) {
	grid, flat := []float64{0, 1, 2, 3, 4}, []float64{1, 1, 1, 2, 4}
	for _, x := range []struct{ y, want float64 }{{1, 1}, {1.5, 2.5}, {3, 3.5}, {5, 4.5}, {0.5, math.Inf(-1)}} {
		if got := InvertOn(grid, flat, x.y); got != x.want {
			t.Errorf("%v: %v, want %v", x.y, got, x.want)
		}
	}
	if got := InvertOn(grid, []float64{0, 1, 2, 3, 3}, 3.5); !math.IsInf(got, 1) {
		t.Errorf("above a flat end: %v", got)
	}
	if got := InvertOn(grid, []float64{1, 2, 3, 4, 5}, 0.5); got != -0.5 {
		t.Errorf("below a rising end: %v", got)
	}
}

func TestStepAt(t *testing.T) {
	s := Shown{Answers: []Answer{{Seen: interval.Below(2)}, {Seen: interval.Interval{Low: 2, High: 5}}, {Seen: interval.Interval{Low: 5, High: 6}}, {Seen: interval.Above(6)}}}
	for y, want := range map[float64]float64{-1: 1, 3: 3, 5.5: 1, 9: 1} {
		if got := s.StepAt(y); got != want {
			t.Errorf("step at %v: %v, want %v", y, got, want)
		}
	}
	if got := (Shown{Step: 0.1}).StepAt(3); got != 0.1 {
		t.Errorf("a display's step: %v", got)
	}
}

// Draws are thinned evenly, the first and the last share alike.
func TestThin(t *testing.T) {
	if got := Thin(3); len(got) != 3 || got[0] != 0 || got[2] != 2 {
		t.Errorf("three of three: %v", got)
	}
	got := Thin(1280)
	if len(got) != mostDraws || got[0] != 2 || got[1] != 6 || got[mostDraws-1] != 1278 {
		t.Errorf("one in four: %v … %v", got[:2], got[len(got)-1])
	}
	r := &Response{Shape: response.Of(response.Line), draws: [][]float64{{0, 1}, {0, 2}, {0, 3}}}
	if thin := r.Thin([]int{2, 0}); thin.Draw(0, 1) != 3 || thin.Draw(1, 1) != 1 || len(r.draws) != 3 {
		t.Error("the draws listed are not the draws kept")
	}
}

// A line that just passes gives way to a bent shape that fits clearly better; one that
// passes well stays, and two levels carry no more.
func TestLineGivesWay(t *testing.T) {
	c, u := []float64{0, 1, 2, 4, 8}, []float64{0.1, 0.1, 0.1, 0.1, 0.1}
	bent := func(by float64) *Response {
		y := make([]float64, len(c))
		for i := range c {
			y[i] = c[i] / (1 + by*c[i])
		}
		r, err := Fit(knowledge(c, y, u, make([]float64, len(c)), 2000, 10))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	if r := bent(0.001); r.Shape.Name != response.Line || !(r.LackOfFit > 0.2) {
		t.Errorf("hardly bent: %s, p = %v", r.Shape.Name, r.LackOfFit)
	}
	if r := bent(0.035); r.Shape.Name == response.Line || !(r.LackOfFit < 0.05) {
		t.Errorf("bent: %s, p = %v", r.Shape.Name, r.LackOfFit)
	}
	r, err := Fit(knowledge(c[:2], c[:2], u[:2], make([]float64, 2), 100, 4))
	if err != nil || r.Shape.Name != response.Line || !math.IsNaN(r.LackOfFit) {
		t.Errorf("two levels: %+v, error %v", r, err)
	}
	if _, err := Fit(knowledge(c[:1], c[:1], u[:1], make([]float64, 1), 100, 4)); err == nil {
		t.Error("one level shows a response")
	}
}

// Distances by hand: V = (1 1; 1 4), V⁻¹ = (4 −1; −1 1)/3.
func TestDistances(t *testing.T) {
	for _, swap := range []bool{false, true} {
		draws, centre, v := [][]float64{{1, 2}, {2, 6}, {3, 4}}, []float64{2, 4}, [][]float64{{1, 1}, {1, 4}}
		if swap {
			draws, centre, v = [][]float64{{2, 1}, {6, 2}, {4, 3}}, []float64{4, 2}, [][]float64{{4, 1}, {1, 1}}
		}
		got := distances(draws, centre, v)
		if len(got) != 3 {
			t.Fatal("no distances")
		}
		for _, d := range got {
			near(t, "distance", d, 4./3, 1e-14)
		}
	}
	if distances([][]float64{{1, 1}}, []float64{0, 0}, [][]float64{{1, 1}, {1, 1}}) != nil {
		t.Error("distances in units of a matrix that has no inverse")
	}
}

// Level means that fall are pooled by their weights, 1/variance.
func TestPooled(t *testing.T) {
	k := Knowledge{Level: []float64{0, 1, 2}, Mean: []float64{0, 2, 1}}
	for _, e := range []float64{-1, 1, -1, 1} {
		k.Draw = append(k.Draw, []float64{0.1 * e, 2 + 2*e, 1 + e})
		k.Known = append(k.Known, make([]float64, 3))
	}
	f := freeMonotone(k.settledAs())
	near(t, "pooled with weights 1 and 4", f.At(1), (2*1+1*4)/5., 1e-9)
	near(t, "the other", f.At(2), 1.2, 1e-9)
}

// The standard errors of a line are those of its draws, whatever degrees of freedom these have.
func TestLineErrorsOfDraws(t *testing.T) {
	c, u := []float64{0, 1, 4, 9}, []float64{0.1, 0.1, 0.1, 0.1}
	// Of one weight, by the text books: s²/n·Σx²/Σ(x − x̄)² and s²/Σ(x − x̄)².
	want := [2]float64{0.1 * math.Sqrt(98./4/49), 0.1 / 7}
	for _, df := range []float64{4, 6, math.Inf(1)} {
		_, se, _, err := StraightLine(knowledge(c, c, u, make([]float64, 4), 4000, df))
		if err != nil {
			t.Fatal(err)
		}
		for j := range se {
			near(t, "standard error", se[j]/want[j], 1, 0.05)
		}
	}
}

// A display of very fine steps orders as exact readings do.
func TestFineSteps(t *testing.T) {
	a, b := Normal{Mean: 2, SD: 0.6}, Normal{Mean: 3.1, SD: 0.8}
	above, same := Shown{Step: 1e-4}.Order(a, b)
	near(t, "above", above, num.Phi(1.1), 1e-9)
	near(t, "the same", same, 0, 0)
	coarser, _ := Shown{Step: 2e-3}.Order(a, b)
	near(t, "steps that count", coarser, above, 1e-3)
}

// A search that begins at a fit to nearly the same means ends where one from nothing does; a shape
// that fits those means not at all is not tried again.
func TestNearAFit(t *testing.T) {
	c := []float64{0, 1, 2, 4, 8, 16, 32}
	var y, u []float64
	for i, x := range c {
		y, u = append(y, 0.5+2*x/(1+x/20)+0.01*float64(i%2)), append(u, 0.02)
	}
	all := knowledge(c, y, u, make([]float64, len(c)), 400, 50)
	whole, err := Fit(all)
	if err != nil || whole.Shape.Name != response.Saturating {
		t.Fatalf("%v, %v", whole, err)
	}
	less := knowledge(append(c[:3:3], c[4:]...), append(y[:3:3], y[4:]...), u[:6], make([]float64, 6), 400, 50)
	from, err := Fit(less)
	if err != nil {
		t.Fatal(err)
	}
	less.Near = whole
	got, err := Fit(less)
	if err != nil || got.Shape != from.Shape {
		t.Fatalf("%v, not %v: %v", got, from, err)
	}
	for j, p := range from.Params {
		near(t, "parameter", got.Params[j], p, 1e-5*math.Abs(p))
	}
	whole.found[response.Saturating] = nil
	if got, err := Fit(less); err != nil || got.Shape.Name == response.Saturating {
		t.Errorf("tried again: %v, %v", got, err)
	}
}
