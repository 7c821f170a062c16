package errorpart

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
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

// JCGM 100 G.4.1: effective degrees of freedom.
func TestDegreesAgainstG4(t *testing.T) {
	var ref struct {
		U          []float64 `json:"relative_u_percent"`
		DF         []float64 `json:"df"`
		Recomputed struct {
			U  float64 `json:"uc_percent"`
			DF float64 `json:"nu_eff"`
		} `json:"recomputed"`
	}
	load(t, "gum_g4_effective_df.json", &ref)
	ps := Of(
		Part{Name: "x1", U: ref.U[0], Sensitivity: 1, Degrees: ref.DF[0]},
		Part{Name: "x2", U: ref.U[1], Sensitivity: -1, Degrees: ref.DF[1]},
		Part{Name: "x3", U: ref.U[2], Sensitivity: 1, Degrees: ref.DF[2]})
	near(t, "u", ps.U(), ref.Recomputed.U, 1e-12)
	near(t, "degrees of freedom", ps.Degrees(), ref.Recomputed.DF, 1e-9)
	if !math.IsInf(Of(Part{Name: "a", U: 1, Sensitivity: 1}).Degrees(), 1) {
		t.Error("a part without a limit has limited degrees of freedom")
	}
}

// JCGM 101 9.2: sums of four.
func TestDrawsAgainst92(t *testing.T) {
	sum := func(x []float64) []float64 { return []float64{x[0] + x[1] + x[2] + x[3]} }
	var ref map[string]json.RawMessage
	load(t, "jcgm101_9_2.json", &ref)
	for _, c := range []struct {
		name  string
		shape Shape
		last  float64
	}{{"case_9_2_2", Normal, 1}, {"case_9_2_3", Rectangular, 1}, {"case_9_2_4", Rectangular, 10}} {
		var want struct {
			Exact struct {
				U          float64   `json:"u"`
				Interval95 []float64 `json:"interval95"`
			} `json:"exact"`
		}
		if err := json.Unmarshal(ref[c.name], &want); err != nil {
			t.Fatal(err)
		}
		in := make([]Input, 4)
		for i := range in {
			in[i] = Input{Name: string(rune('a' + i)), U: 1, Shape: c.shape}
		}
		in[3].U = c.last
		near(t, c.name+" first-order u", Propagate(in, sum)[0].U(), want.Exact.U, 1e-9)
		s := Summarise(Draws(in, sum, 400_000, rand.New(rand.NewPCG(1, 2)))[0])
		// Four standard errors of the sd and of the end points.
		near(t, c.name+" sd", s.SD, want.Exact.U, want.Exact.U*0.005)
		near(t, c.name+" low", s.Low, want.Exact.Interval95[0], want.Exact.U*0.018)
		near(t, c.name+" high", s.High, want.Exact.Interval95[1], want.Exact.U*0.018)
	}
}

// JCGM 101 9.3: mass calibration, where first-order propagation misses the
// product of two centred inputs.
func TestAgainst93(t *testing.T) {
	var ref struct {
		Recomputed struct {
			First struct {
				Y, U float64
			} `json:"gum_first_order"`
			SD      float64 `json:"exact_sd"`
			Monte10 struct {
				Mean     float64
				Shortest []float64 `json:"shortest95"`
				Symm     []float64 `json:"symmetric95"`
			} `json:"mc_1e7"`
		}
	}
	load(t, "jcgm101_9_3.json", &ref)
	in := []Input{
		{Name: "mRc", Value: 100000, U: 0.05},
		{Name: "dmRc", Value: 1.234, U: 0.02},
		{Name: "air", Value: 1.2, U: RectangularU(0.1), Shape: Rectangular},
		{Name: "W", Value: 8000, U: RectangularU(1000), Shape: Rectangular},
		{Name: "R", Value: 8000, U: RectangularU(50), Shape: Rectangular},
	}
	model := func(x []float64) []float64 {
		return []float64{(x[0]+x[1])*(1+(x[2]-1.2)*(1/x[3]-1/x[4])) - 100000}
	}
	v := Propagate(in, model)[0]
	near(t, "y", v.Value, ref.Recomputed.First.Y, 1e-9)
	near(t, "first-order u", v.U(), ref.Recomputed.First.U, 1e-6)
	s := Summarise(Draws(in, model, 400_000, rand.New(rand.NewPCG(3, 4)))[0])
	near(t, "sd", s.SD, ref.Recomputed.SD, 4e-4)
	near(t, "mean", s.Mean, ref.Recomputed.Monte10.Mean, 5e-4)
	near(t, "low", s.Low, ref.Recomputed.Monte10.Symm[0], 2e-3)
	near(t, "high", s.High, ref.Recomputed.Monte10.Symm[1], 2e-3)
	near(t, "shortest width", s.ShortHigh-s.ShortLow, ref.Recomputed.Monte10.Shortest[1]-ref.Recomputed.Monte10.Shortest[0], 2e-3)
}

func TestStudentAndTriangularDraws(t *testing.T) {
	same := func(x []float64) []float64 { return []float64{x[0]} }
	r := rand.New(rand.NewPCG(5, 6))
	s := Summarise(Draws([]Input{{U: 1, Shape: Student, Degrees: 4}}, same, 400_000, r)[0])
	// R qt(0.975, 4); dt(2.776, 4) = 0.0256, so one standard error is 0.0098.
	near(t, "t quantile, 4 degrees", s.High, 2.776445, 4*0.0098)
	s = Summarise(Draws([]Input{{U: 1, Shape: Triangular}}, same, 200_000, r)[0])
	near(t, "triangular sd", s.SD, 1, 0.008)
	near(t, "triangular quantile", s.High, math.Sqrt(6)*(1-math.Sqrt(0.05)), 0.02)
	zero := 0.0
	for _, v := range Draws([]Input{{Value: 0.05, U: 0.1, NotBelow: &zero}}, same, 2000, r)[0] {
		if v < 0 {
			t.Fatal("a draw below its bound")
		}
	}
}

func TestDerivativesAreExactEnough(t *testing.T) {
	model := func(x []float64) []float64 { return []float64{x[0] * x[1] / (x[2] + x[3])} }
	in := []Input{{Name: "a", Value: 3, U: 0.3}, {Name: "b", Value: 5, U: 0.01}, {Name: "c", Value: 2, U: 0.2}, {Name: "d", Value: 0, U: 1e-4}}
	got := Propagate(in, model)[0].Parts
	for i, want := range []float64{2.5, 1.5, -3.75, -3.75} {
		near(t, got[i].Name, got[i].Sensitivity, want, 2e-6*math.Abs(want))
	}
}

func TestSharedPartsCancel(t *testing.T) {
	stock := Part{Name: "stock", Kind: "stock", U: 0.01, Sensitivity: 10}
	a := Value{10, Of(stock, Part{Name: "pipette a", U: 0.1, Sensitivity: 1})}
	stock.Sensitivity = 20
	b := Value{20, Of(stock, Part{Name: "pipette b", U: 0.2, Sensitivity: 1})}
	near(t, "covariance", Covariance(a.Parts, b.Parts), 0.1*0.2, 1e-15)
	near(t, "ratio", Ratio(b, a).U(), 2*math.Hypot(0.01, 0.01), 1e-15)
	near(t, "difference", Sum([]float64{1, -1}, b.Parts, a.Parts).U(), math.Sqrt(0.01+0.04+0.01), 1e-15)
	if got := a.Parts.Shared(b.Parts); len(got) != 1 || got[0].Name != "stock" {
		t.Errorf("shared: %v", got)
	}
	if by := a.Parts.ByKind(); by[0].Share+by[1].Share < 0.999999 {
		t.Errorf("shares do not add up: %v", by)
	}
	if !math.IsNaN(Ratio(a, Value{}).Value) {
		t.Error("a ratio to nothing is a number")
	}
}

// somePart draws parts from few names, so that results share some.
func somePart(name string) *rapid.Generator[Part] {
	return rapid.Custom(func(t *rapid.T) Part {
		return Part{Name: rapid.SampledFrom([]string{"a", "b", "c", "d"}).Draw(t, name), U: 1, Sensitivity: rapid.Float64Range(-5, 5).Draw(t, name+"s")}
	})
}

func TestVarianceOfSumsIsTheSumOfCovariances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Of(rapid.SliceOfN(somePart("a"), 0, 6).Draw(t, "a")...)
		b := Of(rapid.SliceOfN(somePart("b"), 0, 6).Draw(t, "b")...)
		k, m := rapid.Float64Range(-3, 3).Draw(t, "k"), rapid.Float64Range(-3, 3).Draw(t, "m")
		got := Sum([]float64{k, m}, a, b).Variance()
		want := k*k*a.Variance() + m*m*b.Variance() + 2*k*m*Covariance(a, b)
		if !(math.Abs(got-want) <= 1e-9*(1+k*k*a.Variance()+m*m*b.Variance())) {
			t.Fatalf("variance %v, want %v", got, want)
		}
	})
}

// whole are the uncertainties that a covariance matrix holds.
func whole(cov [][]float64) (u []float64) {
	for i := range cov {
		u = append(u, math.Sqrt(cov[i][i]))
	}
	return u
}

func TestCommonFactor(t *testing.T) {
	// One shared error: found exactly, whatever else each result has.
	s := []float64{0.6, 3, 12, 40}
	cov := make([][]float64, 4)
	for i := range cov {
		cov[i] = make([]float64, 4)
		for j := range cov {
			cov[i][j] = s[i] * s[j]
		}
		cov[i][i] += 2
	}
	got, misfit := CommonFactor(cov, whole(cov))
	for i := range s {
		near(t, "size", got[i], s[i], 1e-6*s[i])
	}
	near(t, "misfit", misfit, 0, 1e-8)

	// The units of a result do not matter.
	mixed := make([][]float64, 4)
	k := []float64{1, 1000, 1, -3}
	for i := range mixed {
		mixed[i] = make([]float64, 4)
		for j := range mixed {
			mixed[i][j] = k[i] * k[j] * cov[i][j]
		}
	}
	other, _ := CommonFactor(mixed, whole(mixed))
	for i := range other {
		near(t, "size in another unit", math.Abs(other[i]), math.Abs(k[i]*s[i]), 1e-6*math.Abs(k[i]*s[i]))
	}

	// A second shared error cannot be carried, and the misfit says so.
	for i := range cov {
		for j := range cov {
			cov[i][j] += 4
		}
	}
	got, misfit = CommonFactor(cov, whole(cov))
	if misfit < 1e-3 {
		t.Errorf("two shared errors pass as one: %v, misfit %v", got, misfit)
	}
	for i := range got {
		if !(math.Abs(got[i]) <= math.Sqrt(cov[i][i])*(1+1e-12)) {
			t.Errorf("size %v above the whole uncertainty", got[i])
		}
	}
	if one, _ := CommonFactor([][]float64{{4}}, []float64{2}); one[0] != 0 {
		t.Error("one result alone shares something")
	}
}
