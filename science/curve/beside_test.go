package curve

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"knownwater/science/note"
	"knownwater/science/num"
)

// A dead zone that ends between the lowest knowns looks like a parabola or a cubic that starts flat: by these alone a
// third to two thirds of waters in it were outside their 95 % intervals.
func TestADeadZoneAsLikely(t *testing.T) {
	const runs = 150
	beside, held, alone := 0, 0, 0
	limits, missed, missedAlone := 0., 0., 0.
	for run := range runs {
		r := num.Source(52, uint64(run))
		end := 0.1 + 0.1*r.Float64()
		soft := 0.15 * end // as the shape has it; of zones that end all at once 49 of 56 hold
		at := func(c float64) float64 { return 0.01 + soft*math.Log1p(math.Exp((c-end)/soft)) }
		signal := func(c float64) float64 { return at(c) + 0.004*r.NormFloat64() }
		var points []Point
		for _, c := range []float64{0, 0.25, 0.5, 0.75, 1} {
			for range 3 {
				points = append(points, Point{Level: c, Signal: signal(c), Dilution: 1, Row: len(points) + 2})
			}
		}
		c, err := Fit(points, Options{Light: true})
		if err != nil {
			t.Fatal(err)
		}
		if c.Beside == nil {
			continue
		}
		beside++
		if !slices.ContainsFunc(c.Notes, func(n note.Note) bool { return n.Code == "dead-zone-as-likely" }) {
			t.Fatal("nothing says that a dead zone is as likely")
		}
		x := end * r.Float64()
		s := Sample{Signals: []float64{signal(x), signal(x)}}
		both := c.Read(s)
		if !(x < both.Low) && !(x > both.High) {
			held++
		}
		single := c
		single.Beside = nil
		one := single.Read(s)
		if l, of := c.Limits(1), single.Limits(1); l.Detection > 0 {
			limits++
			missed += num.Phi((l.CriticalSignal - at(l.Detection)) / 0.004)
			missedAlone += num.Phi((of.CriticalSignal - at(of.Detection)) / 0.004)
			if l.Quantification < of.Quantification || l.Critical < of.Critical {
				t.Fatalf("limits by both %+v, by one %+v", l, of)
			}
		}
		if !(x < one.Low) && !(x > one.High) {
			alone++
		}
		if both.Low > one.Low || both.High < one.High || both.U < one.U {
			t.Fatalf("by both %+v, by one %+v", both, one)
		}
		blank, knowns := []float64{signal(0)}, []Retest{{Level: 0.3, Signals: []float64{signal(0.3)}}, {Level: 0.8, Signals: []float64{signal(0.8)}}}
		retest, err := c.TwoPoint(blank, knowns, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		apart, err := single.TwoPoint(blank, knowns, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if zone, err := c.Beside.TwoPoint(blank, knowns, 0.05); err == nil && (retest.SlopeLow > zone.SlopeLow || retest.SlopeHigh < zone.SlopeHigh || retest.SlopeLow > apart.SlopeLow || retest.BlankHigh < zone.BlankHigh || retest.Agree != (zone.Agree || apart.Agree)) {
			t.Fatalf("tested again by both %+v, by the dead zone %+v", retest, zone)
		}
		if all := c.Alike(points, Options{Light: true}); len(all) < 2 || all[0].Shape != c.Shape || all[1].Shape != DeadZone || len(c.WithSlope(0.9, 0.01).Alike(points, Options{})) != 2 || len(single.Alike(points[3:], Options{})) != 1 {
			t.Fatalf("%d alike", len(all))
		}
		text, err := json.Marshal(c.json(func(n []note.Note) []string { return nil }))
		if err != nil {
			t.Fatal(err)
		}
		var file curveJSON
		if err := json.Unmarshal(text, &file); err != nil {
			t.Fatal(err)
		}
		again, err := file.curve()
		if err != nil {
			t.Fatal(err)
		}
		if back := again.Read(s); back.Low != both.Low && !math.IsNaN(both.Low) || back.U != both.U && !math.IsNaN(both.U) {
			t.Fatalf("out of its file %+v, was %+v", back, both)
		}
		if steeper := c.WithSlope(2, 0).Beside; math.Abs(steeper.At(1)-c.Beside.At(2)) > 1e-9 {
			t.Fatal("the curve beside keeps its old slope")
		}
	}
	t.Logf("%d of %d curves may have a dead zone; %d hold their water, %d by the polynomial alone", beside, runs, held, alone)
	if beside < runs/3 || float64(held) < 0.9*float64(beside) || float64(alone) > 0.6*float64(beside) {
		t.Errorf("%d of %d curves may have a dead zone; %d hold their water, %d by the polynomial alone", beside, runs, held, alone)
	}
	t.Logf("missed at %.0f detection limits %.3f, by the polynomial alone %.3f", limits, missed/limits, missedAlone/limits)
	if limits < 20 || missed > 0.13*limits || missedAlone < 0.4*limits {
		t.Errorf("missed at %.0f detection limits %.3f, by the polynomial alone %.3f", limits, missed/limits, missedAlone/limits)
	}
}

// A zone that ends all at once shows nothing where the foot of the soft bend would: half of what was at the detection
// limit was missed.
func TestDetectionBeyondASharpEnd(t *testing.T) {
	const runs, sd = 60, 0.004
	missed, n := 0., 0.
	for run := range runs {
		r := num.Source(53, uint64(run))
		end := 0.15 + 0.05*r.Float64()
		at := func(c float64) float64 { return 0.01 + math.Max(0, c-end) }
		var points []Point
		for _, c := range []float64{0, 0.1, 0.2, 0.3, 0.4, 0.7, 1} {
			for range 3 {
				points = append(points, Point{Level: c, Signal: at(c) + sd*r.NormFloat64(), Dilution: 1, Row: len(points) + 2})
			}
		}
		c, err := Fit(points, Options{Shape: DeadZone, Light: true})
		if err != nil {
			t.Fatal(err)
		}
		if l := c.Limits(1); l.Detection > 0 {
			n++
			missed += num.Phi((l.CriticalSignal - at(l.Detection)) / sd)
		}
	}
	if n < runs/2 || missed > 0.08*n {
		t.Errorf("%.1f %% missed at %.0f detection limits", 100*missed/n, n)
	}
}
