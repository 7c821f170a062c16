package known

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"knownwater/science/interval"
)

// tester is a *testing.T or a *rapid.T.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
}

func near(t tester, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g ± %.2g", what, got, want, tolerance)
	}
}

func load(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}

// Miller & Miller ch. 5: standard additions, silver (testdata/SOURCES.md).
func TestAdditionsAgainstMiller(t *testing.T) {
	var ref struct {
		XE      float64   `json:"x_E"`
		S       float64   `json:"s_xE"`
		Fieller []float64 `json:"fieller95"`
		R       struct {
			Slope float64 `json:"slope"`
			SE    float64 `json:"se_slope"`
		} `json:"recomputed"`
	}
	load(t, "miller_standard_addition.json", &ref)
	var readings []Addition
	for _, r := range rows(t, "miller_standard_addition.csv") {
		readings = append(readings, Addition{r[0], interval.Exact(r[1])})
	}
	b := Additions(readings, 0, 0)
	near(t, "x_E", b.Value, ref.XE, 1e-9)
	near(t, "u", b.U, ref.S, 1e-9)
	near(t, "slope", b.Slope, ref.R.Slope, 1e-12)
	near(t, "u of slope", b.USlope, ref.R.SE, 1e-12)
	near(t, "low", b.Low, ref.Fieller[0], 1e-8)
	near(t, "high", b.High, ref.Fieller[1], 1e-8)
}

// Narrow intervals approach exact readings; the factor n/(n−2) makes up for
// the spread by likelihood.
func TestAdditionsByNarrowIntervals(t *testing.T) {
	var exact, narrow []Addition
	for _, r := range rows(t, "miller_standard_addition.csv") {
		exact = append(exact, Addition{r[0], interval.Exact(r[1])})
		narrow = append(narrow, Addition{r[0], interval.Interval{Low: r[1] - 1e-6, High: r[1] + 1e-6}})
	}
	e, n := Additions(exact, 0, 0), Additions(narrow, 0, 0)
	near(t, "value", n.Value, e.Value, 1e-4*e.Value)
	near(t, "u", n.U, e.U, 1e-3*e.U)
}

func TestAdditionsSayWhatIsMissing(t *testing.T) {
	at := func(pairs ...float64) []Addition {
		var out []Addition
		for i := 0; i < len(pairs); i += 2 {
			out = append(out, Addition{pairs[i], interval.Exact(pairs[i+1])})
		}
		return out
	}
	for _, c := range []struct {
		what     string
		readings []Addition
		want     string
	}{
		{"two readings", at(0, 1, 1, 2), "few-additions"},
		{"one addition", at(0, 1, 0, 2, 0, 1.5), "few-additions"},
		{"no rise", at(0, 1, 0, 1.2, 1, 1.1, 1, 1.05, 2, 1), "additions-do-not-show"},
		{"one interval for all", []Addition{{0, interval.Below(1)}, {1, interval.Below(1)}, {2, interval.Below(1)}}, "additions-too-coarse"},
	} {
		b := Additions(c.readings, 0, 0)
		if !math.IsNaN(b.Value) || !saysCode(b.Notes, c.want) {
			t.Errorf("%s: %v, notes %v", c.what, b.Value, b.Notes)
		}
	}
}

// What pure water reads is in the background where it was not given, and taken as exact where its u was not.
func TestAdditionsSayWhatTheyTakeOfPureWater(t *testing.T) {
	var readings []Addition
	for i, added := range []float64{0, 1, 2, 4, 0, 1, 2, 4} {
		readings = append(readings, Addition{added, interval.Exact(0.2 + added + 0.5 + 0.02*float64(i%3-1))})
	}
	for _, c := range []struct {
		zero, u     float64
		says, never string
	}{{0, 0, "blank-in-background", "zero-taken-as-exact"}, {0.2, 0, "zero-taken-as-exact", "blank-in-background"}, {0.2, 0.01, "additions-as-straight", "zero-taken-as-exact"}} {
		if b := Additions(readings, c.zero, c.u); !saysCode(b.Notes, c.says) || saysCode(b.Notes, c.never) {
			t.Errorf("zero %g ± %g: %v", c.zero, c.u, b.Notes)
		}
	}
}

// Readings that bend have no background, whether they are numbers or intervals: drawn out along a line it is too much. A straight
// method's bend by scatter alone in 5 of 100.
func TestAdditionsThatBend(t *testing.T) {
	for wide, trials := range map[float64]int{0: 300, 0.05: 100} {
		bent := map[float64]int{}
		for _, bend := range []float64{0, 0.1} {
			for run := range trials {
				r := rand.New(rand.NewPCG(13, uint64(run)))
				var readings []Addition
				for _, added := range []float64{0, 0, 1, 1, 2, 2, 4, 4} {
					x := added + 1.5
					y := x/(1+bend*x) + 0.07*r.NormFloat64()
					if wide > 0 {
						y = math.Round(y*10) / 10
					}
					readings = append(readings, Addition{added, interval.Interval{Low: y - wide, High: y + wide}})
				}
				if b := Additions(readings, 0.01, 0.01); b.BentP < 0.05 {
					bent[bend]++
					if !math.IsNaN(b.Value) || !saysCode(b.Notes, "additions-bent") {
						t.Fatalf("%g, %v", b.Value, b.Notes)
					}
				} else if !math.IsNaN(b.Value) && !saysCode(b.Notes, "additions-as-straight") {
					t.Fatalf("no note: %v", b.Notes)
				}
			}
		}
		if bent[0] > trials*9/100 || bent[0.1] < trials/4 { // 5 % and three standard errors
			t.Errorf("± %g: of %d straight ones %d bend, of bent ones %d", wide, trials, bent[0], bent[0.1])
		}
	}
}

// Of straight ones whose readings scatter by 5 % of what they read not more bend: with six readings of the plain water and two of each
// addition it was said of 21 in 100, of one reading each of 9, when all readings were taken to scatter alike.
func TestStraightAdditionsWhoseScatterGrows(t *testing.T) {
	const trials = 500
	for _, added := range [][]float64{{0, 0, 0, 0, 0, 0, 5, 5, 10, 10, 20, 20}, {0, 2, 4, 8, 16}, {0, 0, 0, 5, 5, 5, 10, 10, 10, 20, 20, 20}} {
		r, bent := rand.New(rand.NewPCG(15, uint64(len(added)))), 0
		for range trials {
			var readings []Addition
			for _, a := range added {
				readings = append(readings, Addition{a, interval.Exact((a + 0.5) * (1 + 0.05*r.NormFloat64()))})
			}
			if Additions(readings, 0.01, 0.01).BentP < 0.05 {
				bent++
			}
		}
		if bent > trials*75/1000 { // 5 % and two and a half standard errors
			t.Errorf("%v: %d of %d bend", added, bent, trials)
		}
	}
}

// Simulated displays with steps of 0.1: the 95 % interval covers the truth.
func TestAdditionsCover(t *testing.T) {
	const truth, trials = 0.3, 400
	r := rand.New(rand.NewPCG(11, 12))
	hit, done := 0, 0
	for range trials {
		var readings []Addition
		for _, added := range []float64{0, 0, 0, 1, 1, 1, 2, 2, 2, 4, 4, 4} {
			y := math.Round((0.2+0.9*(added+truth)+0.12*r.NormFloat64())*10) / 10
			readings = append(readings, Addition{added, interval.Interval{Low: y - 0.05, High: y + 0.05}})
		}
		b := Additions(readings, 0.2+0.02*r.NormFloat64(), 0.02)
		if math.IsNaN(b.Value) {
			continue
		}
		done++
		if b.Low <= truth && truth <= b.High {
			hit++
		}
	}
	// 95 % of 400: three binomial standard errors are 3.3 %.
	if share := float64(hit) / float64(done); done < trials*9/10 || !(math.Abs(share-0.95) <= 0.033) {
		t.Errorf("%d of %d intervals cover the truth, %d could be computed", hit, done, done)
	}
}

// A method that finds four fifths to five quarters of what was added is not asked for its share (the bounds are our own).
func TestShareThatIsFound(t *testing.T) {
	for share, asked := range map[float64]bool{0.79: true, 0.81: false, 1: false, 1.24: false, 1.26: true} {
		if got := saysCode(additionNotes(Background{Slope: share, Low: 0.1}, 0, 0), "method-finds-share"); got != asked {
			t.Errorf("finds %g: asked %t, want %t", share, got, asked)
		}
	}
}
