package record

import (
	"errors"
	"math"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/response"
)

// Zigzag about a line is no bend: where the line just passes, a bent shape that comes
// little nearer does not take its place.
func TestZigzagIsNoBend(t *testing.T) {
	c, u := []float64{0, 1, 2, 4, 6, 8}, []float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1}
	y := make([]float64, len(c))
	for i, up := range []float64{1, -1.2, 0.6, 0.6, -1.2, 0.5} {
		y[i] = c[i] + 0.13*up
	}
	r, err := Fit(knowledge(c, y, u, make([]float64, len(c)), 4000, 12))
	if err != nil {
		t.Fatal(err)
	}
	if !(r.LackOfFit > adequate && r.LackOfFit < doubtful) {
		t.Fatalf("p = %v: this is to be a line that just passes", r.LackOfFit)
	}
	if r.Shape.Name != response.Line {
		t.Errorf("%s took the place of the line", r.Shape.Name)
	}
}

// The misfit of a line may be what one trial in twenty shows; bent shapes are tried where one in
// five shows less. Both borders from either side: means are bent, or zigzag, as far as it takes.
func TestBordersOfALine(t *testing.T) {
	c := []float64{0, 1, 2, 3, 4, 5, 6, 7, 8}
	u := []float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1}
	fitted := func(off func(i int) float64, by float64) *Response {
		y := make([]float64, len(c))
		for i := range c {
			y[i] = c[i] + by*off(i)
		}
		r, err := Fit(knowledge(c, y, u, make([]float64, len(c)), 500, 10))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	at := func(off func(i int) float64, p float64) *Response { // the larger by, the smaller p
		low, high := 0.0, 1.0
		for range 18 {
			if mid := (low + high) / 2; fitted(off, mid).LackOfFit > p {
				low = mid
			} else {
				high = mid
			}
		}
		return fitted(off, low)
	}
	zigzag := func(i int) float64 { return []float64{1, -1.2, 0.6, 0.6, -1.2, 0.5, 0.9, -1.1, 0.4}[i] }
	bend := func(i int) float64 { return -(c[i] - 4) * (c[i] - 4) / 16 }
	for _, x := range []struct {
		off  func(i int) float64
		p    float64
		line bool
	}{{zigzag, 0.055, true}, {zigzag, 0.045, false}, {bend, 0.22, true}, {bend, 0.18, false}} {
		if r := at(x.off, x.p); (r.Shape.Name == response.Line) != x.line {
			t.Errorf("p = %.3f: %s", r.LackOfFit, r.Shape.Name)
		}
	}
}

// What a reading says of a place is the chances there, also where a shortcut says that it lies
// surely outside: further than four spreads from the means of all draws, 3 in 100,000.
func TestMarginOfASample(t *testing.T) {
	r := two(0, 10).Of(1, func(int, float64) float64 { return 0 }, func(int, float64) float64 { return 0.5 })
	c := r.Grid[len(r.Grid)/2]
	// the draws' means lie at 1 + 2c and half a reading above that
	for _, off := range []float64{0.25, -0.5, 1, -1.9, 2.4, -2.6, 3.1} {
		y := 1 + 2*c + off
		below, above := (num.Phi(off/0.5)+num.Phi(off/0.5-1))/2, (num.Phi(-off/0.5)+num.Phi(1-off/0.5))/2
		near(t, "margin", r.Margin(c, interval.Interval{Low: y, High: y}), math.Min(below, above)-outer, 5e-5)
	}
}

// Means that only a shared error moves have a covariance of rank one; their line goes
// through them all the same, and every draw is that line moved.
func TestMeansThatMoveTogether(t *testing.T) {
	c := []float64{1, 2, 5}
	k := Knowledge{Level: c, Mean: []float64{3, 5, 11}}
	for _, e := range []float64{-0.1, 0.1, -0.2, 0.2} {
		k.Draw = append(k.Draw, []float64{3 + e, 5 + e, 11 + e})
		k.Known = append(k.Known, make([]float64, 3))
	}
	r, _, err := fitShape(response.Of(response.Line), k.settledAs())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope", r.Params[1], 2, 1e-6)
	near(t, "a draw at 2", r.Draw(3, 2), 5.2, 1e-4)
	if v, _ := scatterOf(k.Draw); v == nil {
		t.Error("no scatter of draws that move together")
	}
	k.Draw[2][1] = math.NaN()
	if v, df := scatterOf(k.Draw); v != nil || !math.IsInf(df, 1) {
		t.Errorf("scatter of what is no number: %v, %v degrees of freedom", v, df)
	}
}

// Readings that fall have no line that could be read back.
func TestNoFallingLine(t *testing.T) {
	c, u := []float64{0, 1, 2, 4}, []float64{0.1, 0.1, 0.1, 0.1}
	if _, _, _, err := StraightLine(knowledge(c, []float64{9, 8, 7, 5}, u, make([]float64, 4), 100, 8)); !errors.Is(err, ErrFalls) {
		t.Errorf("readings that fall: error %v", err)
	}
}

// What lies far beyond all readings at a place is outside there, and by the chances
// in between too.
func TestFarOutsideIsOutside(t *testing.T) {
	r := two(0, 10)
	once := r.Of(1, func(int, float64) float64 { return 0 }, r.Spread.All)
	for _, g := range []int{0, 30, 60, len(r.Grid) - 1} {
		c := r.Grid[g]
		y := 1.25 + 2*c
		for what, seen := range map[string]interval.Interval{"below": {Low: y - 60, High: y - 50}, "above": {Low: y + 50, High: y + 60}} {
			for name, rec := range map[string]*Record{"limits": r, "chances": once} {
				if m := rec.Margin(c, seen); !(m < 0) {
					t.Errorf("%s by %s at %v: margin %v", what, name, c, m)
				}
				if m := rec.Margin(c+1e-4, seen); g < len(r.Grid)-1 && !(m < 0) {
					t.Errorf("%s by %s beside %v: margin %v", what, name, c, m)
				}
			}
		}
	}
}

// Limits of a record of many draws are as close as those of two: of a hundred lines that
// agree those of one normal.
func TestLimitsOfManyDraws(t *testing.T) {
	r := &Response{Shape: response.Of(response.Line), Params: []float64{1, 2}}
	for range 100 {
		r.draws = append(r.draws, []float64{1, 2})
	}
	sd := func(int, float64) float64 { return 0.3 }
	rec := New(r, Spread{All: sd, Same: sd}, Shown{}, 0, 10, 2)
	for i, c := range rec.Grid {
		near(t, "upper limit", rec.Limit(0.975)[i], 1+2*c+0.3*1.959964, 1e-4)
		near(t, "lower limit", rec.Limit(0.025)[i], 1+2*c-0.3*1.959964, 1e-4)
	}
	near(t, "the middle of the grid, in asinh of the smallest level", math.Asinh(rec.Grid[gridSteps/2]/2), math.Asinh(10./2)/2, 1e-12)
	// one draw in two scatters by a hundredth of the other: steps as wide as both scatter on average go past all of the narrow one, and back
	narrow := []centred{{0, 1 / 0.1}, {0, 1 / 10.}}
	y := mixtureQuantile(narrow, 0.6, 1.28, 5.05)
	near(t, "a quantile among the narrow", (num.Phi(y/0.1)+num.Phi(y/10))/2, 0.6, 5e-3)
	rec = New(r, Spread{All: sd, Same: sd}, Shown{}, 3, 40, 2)
	near(t, "the middle of a grid from 3", math.Asinh(rec.Grid[gridSteps/2]/2), (math.Asinh(3./2)+math.Asinh(40./2))/2, 1e-12)
}
