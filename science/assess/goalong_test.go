package assess

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/reading"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// Three people read a display that scatters by 0.3 everywhere, and each otherwise by a share. By hand: a single reading of anybody scatters by
// √(0.3² + (s·c)²), s their standard deviation; a later one by one of them by 0.3, whatever the level; a mean by √((s·c)²/3 + 0.3²/9). While what they
// differ by was told in scatters, of 40 such trials the upper limit of the spread at the top missed in 7 and the lower one near nothing was 0.19 to 0.5.
func TestPeopleWhoDifferByAShare(t *testing.T) {
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	meter := knownwater.Method{Name: "display", Kind: knownwater.Display, Resolution: 0.001}
	tr := knownwater.Trial{Scale: scale, Water: unit.StandardSea, WaterStated: true, Methods: []knownwater.Method{meter}}
	rng, share := num.Source(42), []float64{-0.12, 0.02, 0.1}
	for _, c := range []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40} {
		for v := range 3 {
			for r := range share {
				text := reading.Show(c+share[r]*c+0.3*rng.NormFloat64(), meter)
				seen, err := reading.Understand(text, meter)
				if err != nil {
					t.Fatal(err)
				}
				tr.Observations = append(tr.Observations, knownwater.Observation{Method: "display", Level: c, Text: text, Seen: seen, Dilution: 1, Count: 1,
					Vial: fmt.Sprint(c, " ", v), Reader: fmt.Sprint("r", r)})
			}
		}
	}
	f := Run(tr, Options{Brief: true}).Methods[0]
	_, s := num.MeanSD(share)
	for _, l := range f.Levels {
		want := math.Hypot(0.3, s*l.Level)
		if !(float64(l.SDLow) < want && want < float64(l.SDHigh)) || !(float64(l.SD) > 0.6*want && float64(l.SD) < 1.6*want) {
			t.Errorf("at %g: spread %.3f, %.3f to %.3f; by hand %.3f", l.Level, float64(l.SD), float64(l.SDLow), float64(l.SDHigh), want)
		}
		if half, se := float64(l.MeanHigh-l.MeanLow)/2, math.Hypot(s*l.Level/math.Sqrt(3), 0.1); l.Level > 0 && !(half > 1.8*se && half < 5*se) {
			t.Errorf("at %g: the mean within ±%.3f, its standard error by hand is %.3f", l.Level, half, se)
		}
	}
	if !slices.ContainsFunc(f.Notes, func(n note.Note) bool { return n.Code == "part-by-share" }) {
		t.Error("it is not said")
	}
	for r, o := range f.Readers { // at a mean reading of 3 or 6, as printed
		want := (share[r] - num.Mean(share)) * float64(f.Spread.At)
		if !(float64(o.Low) < want && want < float64(o.High)) || math.Abs(float64(o.Offset)-want) > 0.35 {
			t.Errorf("%s at %.2f: %.3f, %.3f to %.3f; by hand %.3f", o.Reader, float64(f.Spread.At), float64(o.Offset), float64(o.Low), float64(o.High), want)
		}
	}
	p, err := PerformanceOf(tr, "display", "", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []float64{2, 8, 25} {
		for r, by := range share {
			text := fmt.Sprintf("%.3f", c*(1+by))
			o, err := p.Read(result.Question{Readings: []string{text}, Reader: fmt.Sprint("r", r)})
			if err != nil {
				t.Fatal(err)
			}
			if low, high := float64(o.Result.Low), float64(o.Result.High); !(low < c && c < high) || !(high-low < 1.7*3.92*0.3/(1+by)) {
				t.Errorf("%g read by r%d as %s: %.3f to %.3f", c, r, text, low, high)
			}
			w := p.Way(fmt.Sprint("r", r), "", 1)
			e, ok := p.Expect(c, 0, fmt.Sprint("r", r), "", 1)
			if !ok {
				t.Fatal("nothing is expected")
			}
			var mean, sd float64
			for _, d := range e.Draws {
				mean, sd = mean+d.Mean/float64(len(e.Draws)), sd+d.SD/float64(len(e.Draws))
			}
			if want := c * (1 + by); math.Abs(mean-want) > 0.45 || sd > 0.45 || math.Abs(w.Level(want)-c) > 0.5 {
				t.Errorf("of %g by r%d %.3f ± %.3f is expected, of that its way says %.3f; by hand %.3f", c, r, mean, sd, w.Level(want), want)
			}
		}
		any, err := p.Read(result.Question{Readings: []string{fmt.Sprint(c)}})
		if err != nil {
			t.Fatal(err)
		}
		if wide := float64(any.Result.High - any.Result.Low); wide < 3.92*math.Hypot(0.3, s*c)*0.9 { // without an end it is wide enough
			t.Errorf("%g read by nobody who is named: within %.3f", c, wide)
		}
	}
}

// Vials that differ by a tenth of what is there, each read three times by a display that scatters by 0.3: nothing near nothing, all of the spread
// at the top. By hand it is √(0.3² + (0.1·c)²). While vials were told in scatters, of 60 such trials the spread's lower limit near nothing lay too high in 46 and its upper one
// at the top too low in 35, and "not fit" was said of half of those that kept to what is permitted. And vials that differ by 0.5 besides, as of some that are not clean: while powers of
// the concentration alone were tried, of 60 the lower limit near nothing lay too high in 11, the upper one at the top too low in 25, and "not fit" was wrong in 14.
func TestVialsThatDifferOtherwise(t *testing.T) {
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	meter := knownwater.Method{Name: "display", Kind: knownwater.Display, Resolution: 0.001}
	for _, offset := range []float64{0, 0.5} {
		differ := func(c float64) float64 { return math.Hypot(offset, 0.1*c) }
		whole := func(c float64) float64 { return math.Hypot(0.3, differ(c)) }
		need := knownwater.Need{Name: "n", Low: 1.5, High: 20}
		for c := 1.5; c <= 20; c += 0.5 {
			need.Permitted = append(need.Permitted, knownwater.Permit{At: c, Error: 1.96 * whole(c)})
		}
		missed, told, wrong := 0, 0, 0
		for run := range uint64(6) {
			rng := num.Source(43, run)
			tr := knownwater.Trial{Scale: scale, Water: unit.StandardSea, WaterStated: true, Methods: []knownwater.Method{meter}, Needs: []knownwater.Need{need}}
			for _, c := range []float64{0, 0.6, 1.5, 3, 6, 12, 20, 40} {
				for v := range 3 {
					own := rng.NormFloat64()
					for range 3 {
						text := reading.Show(c+differ(c)*own+0.3*rng.NormFloat64(), meter)
						seen, err := reading.Understand(text, meter)
						if err != nil {
							t.Fatal(err)
						}
						tr.Observations = append(tr.Observations, knownwater.Observation{Method: "display", Level: c, Text: text, Seen: seen, Dilution: 1, Count: 1, Vial: fmt.Sprint(c, " ", v)})
					}
				}
			}
			f := Run(tr, Options{Brief: true, Few: true}).Methods[0]
			for _, l := range f.Levels {
				if want := whole(l.Level); !(float64(l.SDLow) < want && want < float64(l.SDHigh)) {
					missed++
				}
			}
			if slices.ContainsFunc(f.Notes, func(n note.Note) bool { return n.Code == "part-by-share" || n.Code == "part-by-root" }) {
				told++
			}
			if f.Needs[0].Raw.Verdict == NotFit {
				wrong++
			}
		}
		if missed > 5 || told < 4 || wrong > 1 { // of 48, 6 and 6: 3 % of limits a side are 3 of 48
			t.Errorf("besides %g: %d of 48 spreads missed, told in %d of 6, wrongly not fit in %d", offset, missed, told, wrong)
		}
	}
}

// By hand: repeatability 0.5 and 2 at two groups, 1 half way between them; readers differ by 0.8 of it, vials by 0.6 of what is 1 at the
// first group and 3 at the second, 2 half way.
func TestPartsThatGoAlongWithSomethingElse(t *testing.T) {
	d := &posterior.Draws{Mean: [][]float64{{1}, {1}}, LogSD: [][]float64{{math.Log(0.5)}, {math.Log(2)}}, Ratio: [][]float64{{0.8}, {0.6}},
		Along: [][][]float64{nil, {{9, 9}, {1, 3}}}, Way: [][]uint8{nil, {1}}}
	for _, c := range []struct {
		at   between
		vial float64
	}{{between{a: 0, b: 0}, 0.6 * 1 / 0.5}, {between{a: 1, b: 1}, 0.6 * 3 / 2.0}, {between{a: 0, b: 1, t: 0.5, straight: 0.5}, 0.6 * 2 / 1.0}} {
		for what, x := range map[string][2]float64{
			"vials": {c.at.part(d, 1, 0), c.vial}, "readers": {c.at.part(d, 0, 0), 0.8}, "all": {c.at.whole(d, 0), math.Sqrt(1 + 0.64 + c.vial*c.vial)},
			"one reader": {c.at.within(d, 0, 1), math.Hypot(1, c.vial)}, "no vials": {c.at.within(d, 0, posterior.None), 1},
		} {
			if math.Abs(x[0]-x[1]) > 1e-12 {
				t.Errorf("%v, %s: %v, by hand %v", c.at, what, x[0], x[1])
			}
		}
	}
}
