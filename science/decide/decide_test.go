package decide

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"knownwater/science/num"
)

type reference struct {
	Conformance []struct {
		Name                  string
		Estimate, U           float64
		Lower, Upper          *float64
		Published, Recomputed float64
	}
	Guard []struct {
		Lower, Upper, U, P float64
		Band               *float64 `json:"guard_band"`
		One                float64  `json:"one_sided_z_u"`
	} `json:"guard_band_absolute"`
}

func load(t *testing.T) (r reference) {
	t.Helper()
	b, err := os.ReadFile("testdata/decide.json")
	if err == nil {
		err = json.Unmarshal(b, &r)
	}
	if err != nil || len(r.Conformance) < 5 || len(r.Guard) < 5 {
		t.Fatal(err, r)
	}
	return r
}

func orInf(v *float64, sign int) float64 {
	if v == nil {
		return math.Inf(sign)
	}
	return *v
}

// JCGM 106:2012, clause 7, its two examples as printed and more recomputed.
func TestConforms(t *testing.T) {
	for _, c := range load(t).Conformance {
		got := Conforms(c.Estimate, c.U, orInf(c.Lower, -1), orInf(c.Upper, 1))
		if !(math.Abs(got-c.Recomputed) <= 1e-11) || c.Published != 0 && !(math.Abs(got-c.Published) <= 0.005) {
			t.Errorf("%s: %.12g, want %.12g (printed %g)", c.Name, got, c.Recomputed, c.Published)
		}
	}
}

// By hand, in the manner of JCGM 106:2012, clause 7. 13.6 with u 1.8 between 12.5 and 16.3: Φ(2.7/1.8) −
// Φ(−1.1/1.8) = Φ(1.5) − Φ(−0.6111) = 0.93319 − 0.27056 (tables of Φ) = 0.6626. A range from 7 to 11 at 95 %:
// with u 1 a result at 8.80 lies inside with Φ(2.2) − Φ(−1.8) = 0.98610 − 0.03593 = 0.9502, and at 8.79 with
// Φ(2.21) − Φ(−1.79) = 0.98645 − 0.03673 = 0.9497: the band is 1.80, not the 1.64 of one limit; with u 1.2 the best, at 9, is
// 2·Φ(1.6667) − 1 = 0.9044: none can be accepted.
func TestDecisionsByHand(t *testing.T) {
	for _, c := range []struct{ x, u, low, high, want float64 }{{13.6, 1.8, 12.5, 16.3, 0.6626}, {8.80, 1, 7, 11, 0.9502}, {8.79, 1, 7, 11, 0.9497}, {9, 1.2, 7, 11, 0.9044}} {
		if got := Conforms(c.x, c.u, c.low, c.high); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("%v: %.5f, want %.4f", c, got, c.want)
		}
	}
	if g := GuardBand(7, 11, 1, 0.95); !(g > 1.79 && g <= 1.80) {
		t.Errorf("guard band %v, want between 1.79 and 1.80", g)
	}
	if g := GuardBand(7, 11, 1.2, 0.95); !math.IsNaN(g) {
		t.Errorf("guard band %v where no result can be accepted", g)
	}
}

func TestGuardBand(t *testing.T) {
	for _, c := range load(t).Guard {
		got := GuardBand(c.Lower, c.Upper, c.U, c.P)
		if c.Band == nil != math.IsNaN(got) || c.Band != nil && !(math.Abs(got-*c.Band) <= 1e-9) {
			t.Errorf("%+v: %.12g", c, got)
		}
		if one := GuardBand(math.Inf(-1), c.Upper, c.U, c.P); !(math.Abs(one-c.One) <= 1e-11) {
			t.Errorf("%+v: one limit %.12g", c, one)
		}
	}
	for _, bad := range [][4]float64{{1, 2, 0, 0.95}, {1, 2, 1, 0.4}, {2, 1, 1, 0.95}, {1, 2, math.NaN(), 0.95}, {1, 2, 1, 1}} {
		if g := GuardBand(bad[0], bad[1], bad[2], bad[3]); !math.IsNaN(g) {
			t.Errorf("%v: %g", bad, g)
		}
	}
}

func TestOn(t *testing.T) {
	for _, c := range []struct {
		r    Result
		low  float64
		want Advice
		side Side
		open bool
	}{
		{Result{Chances: Chances{0.01, 0.96, 0.03}}, 2, Leave, Inside, false},
		{Result{Chances: Chances{0.02, 0.9499, 0.0301}}, 2, Again, Inside, false},
		{Result{Chances: Chances{0, 0.05, 0.95}}, 2, Act, Above, false},
		{Result{Chances: Chances{0.97, 0.03, 0}}, 2, Act, Below, false},
		{Result{Chances{0.02, 0.98, 0}, true, false}, 2, Again, Inside, true}, // a dead zone
		{Result{Chances{0, 1, 0}, true, false}, 0, Leave, Inside, false},      // nothing lies below 0
		{Result{Chances{1, 0, 0}, true, false}, 2, Again, Below, true},
		{Result{Chances{0, 0, 1}, false, true}, 2, Again, Above, true},
		{Result{Chances{0.02, 0, 0.98}, true, false}, 2, Again, Above, true}, // the set goes down through what is wanted
		{Result{Chances{0, 0.99, 0.01}, false, true}, 0, Again, Inside, true},
	} {
		d := On(c.r, c.low, 0.95)
		if d.Advice != c.want || d.Side != c.side || d.Open != c.open {
			t.Errorf("%+v, low %g: %+v", c.r, c.low, d)
		}
		if d.Advice == Again && d.Risk != 0 {
			t.Errorf("a risk of doing nothing: %+v", d)
		}
		if d.Risk > 0.05+1e-12 {
			t.Errorf("risk %g is more than was accepted", d.Risk)
		}
	}
}

// Of waters as likely everywhere, those left or acted on are so wrongly at most as often as
// stated: every decision's risk is the share of such waters for which it is wrong.
func TestRisksHold(t *testing.T) {
	rng := num.Source(9)
	const u, low, high, sure = 0.7, 2.0, 6.0, 0.9
	done, wrong, stated := map[Advice]int{}, map[Advice]int{}, map[Advice]float64{}
	for range 60000 {
		c := -3 + 14*rng.Float64()
		y := c + u*rng.NormFloat64()
		in := Conforms(y, u, low, high)
		below := Conforms(y, u, math.Inf(-1), low)
		d := On(Result{Chances: Chances{below, in, 1 - in - below}}, low, sure)
		done[d.Advice]++
		stated[d.Advice] += d.Risk
		side := Inside
		if c < low {
			side = Below
		} else if c > high {
			side = Above
		}
		if d.Advice != Again && side != d.Side {
			wrong[d.Advice]++
		}
	}
	for _, a := range []Advice{Leave, Act} {
		share, want := float64(wrong[a])/float64(done[a]), stated[a]/float64(done[a])
		t.Logf("%s: %d, wrong %.4f, stated %.4f", a, done[a], share, want)
		if !(math.Abs(share-want) <= 4*math.Sqrt(want/float64(done[a]))) || share > 1-sure || done[a] < 1000 {
			t.Errorf("%s: wrong in %.4f, stated %.4f", a, share, want)
		}
	}
}
