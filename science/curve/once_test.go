package curve

import (
	"math"
	"testing"

	"knownwater/science/num"
)

// TestPointsOnce: curves through seven knowns measured once, but for the blank, whose signals scatter by 0.002 and 2 %. Later readings are
// held by about 95 % of their intervals, also near the top: of 100 eight may be missed and by chance some more. Taken to scatter alike, which
// was so up to version 0.16, 28 were missed at 11, and with four blanks 48. Nor do repeated blanks speak against a
// straight line that the knowns follow: in 1 of 20 at most; they did in half.
func TestPointsOnce(t *testing.T) {
	const runs = 100
	for _, blanks := range []int{1, 4} {
		var missed [3]int
		fails := 0
		levels := [3]float64{0.5, 6, 11}
		for run := range runs {
			rng := num.Source(uint64(run), 37)
			signal := growingSignal(rng)
			var points []Point
			for i, c := range []float64{0, 0, 0, 0, 1, 2, 4, 6, 9, 12} {
				if i < blanks || c > 0 {
					points = append(points, Point{Level: c, Signal: signal(c), Dilution: 1})
				}
			}
			c := mustFit(t, points, Options{})
			if c.LackOfFit < adequate {
				fails++
			}
			for i, level := range levels {
				if r := c.Read(Sample{Signals: []float64{signal(level)}}); level < r.Low || level > r.High {
					missed[i]++
				}
			}
		}
		for i, n := range missed {
			if n > 13 {
				t.Errorf("%d blanks: %d of %d missed at %g", blanks, n, runs, levels[i])
			}
		}
		if fails > 10 {
			t.Errorf("%d blanks: %d of %d said not to fit", blanks, fails, runs)
		}
	}
}

// TestInexactKnownsOnce: seven knowns, each off by 1 %, measured once by signals that scatter by 0.001. What is left over may come from the
// knowns or from the signals; taken for the knowns' alone, 30 of 100 later readings at 0.5 were missed.
func TestInexactKnownsOnce(t *testing.T) {
	const runs, level = 50, 0.5
	missed := 0
	for run := range runs {
		rng := num.Source(uint64(run), 39)
		signal := func(c float64) float64 { return 0.02 + 0.07*c + 0.001*rng.NormFloat64() }
		var points []Point
		for _, c := range []float64{0, 1, 2, 4, 6, 9, 12} {
			points = append(points, Point{Level: c, ULevel: 0.01 * c, Signal: signal(c * (1 + 0.01*rng.NormFloat64())), Dilution: 1})
		}
		if r := mustFit(t, points, Options{}).Read(Sample{Signals: []float64{signal(level)}}); level < r.Low || level > r.High {
			missed++
		}
	}
	if missed > 6 {
		t.Errorf("%d of %d missed", missed, runs)
	}
}

// TestRiseOnce: the smallest rise by curves through six or seven points, one a known, that bend by 3 % of stray light, which so few hardly tell
// from a straight line. Taken for one, it left the truth outside its limits in 95 of 100; of straight ones with four blanks whose signals
// scatter in proportion, by half-way beliefs about that, in 12. Now at most 4 of 20.
func TestRiseOnce(t *testing.T) {
	const runs, from = 20, 5.0
	for _, x := range []struct {
		name    string
		stray   float64
		scatter [2]float64
		levels  []float64
	}{
		{"bent", 0.03, [2]float64{0.004, 0.01}, []float64{0, 2, 4, 6, 9, 12}},
		{"straight", 0, [2]float64{0.002, 0.02}, []float64{0, 0, 0, 0, 1, 2, 4, 6, 9, 12}},
	} {
		at := func(c float64) float64 { return 0.012 - math.Log10((math.Pow(10, -0.09*c)+x.stray)/(1+x.stray)) }
		sd := func(c float64) float64 { return math.Hypot(x.scatter[0], x.scatter[1]*(at(c)-0.012)) }
		truth, err := num.Root(func(d float64) float64 { return at(from+d) - at(from) - 1.6449*math.Hypot(sd(from), sd(from+d)) }, 0, 6, 1e-6)
		if err != nil {
			t.Fatal(err)
		}
		missed := 0
		for run := range runs {
			rng := num.Source(uint64(run), 41)
			var points []Point
			for _, c := range x.levels {
				points = append(points, Point{Level: c, Signal: at(c) + sd(c)*rng.NormFloat64(), Dilution: 1})
			}
			o := Options{Light: true}
			if r := Among(mustFit(t, points, o).Alike(points, o), func(c Curve) Around { return c.Rise(from) }); truth < r.Low || truth > r.High {
				missed++
			}
		}
		if missed > 4 {
			t.Errorf("%s: %d of %d missed", x.name, missed, runs)
		}
	}
}

// Through two knowns goes one line, and nothing says how signals scatter: by hand 5 half way, twice that of a sample diluted twofold, without an
// interval; above the range it is said that it lies above.
func TestReadThroughTwoKnowns(t *testing.T) {
	c := mustFit(t, pointsOf([]float64{0, 10}, []float64{0.01, 0.81}), Options{Shape: Line, Weights: Equal})
	for _, dilution := range []float64{1, 2} {
		r := c.Read(Sample{Signals: []float64{0.41}, Dilution: dilution})
		near(t, "level", r.Level, 5*dilution, 1e-12)
		if !math.IsNaN(r.U) || !math.IsNaN(r.Low) || !math.IsNaN(r.High) || len(r.Notes) == 0 || r.Notes[0].Code != "signal-scatter-untold" {
			t.Errorf("%+v", r)
		}
	}
	if r := c.Read(Sample{Signals: []float64{0.91}}); r.Open != Above || r.Low != 10 || !math.IsNaN(r.Level) {
		t.Errorf("above the range: %+v", r)
	}
}
