package known

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"knownwater/science/errorpart"
	"knownwater/science/num"
)

// slopeSD is the standard deviation of the least-squares slope of a line through standards with a covariance.
func slopeSD(levels []float64, cov func(i, j int) float64) float64 {
	mean, sxx, v := num.Mean(levels), 0.0, 0.0
	for _, l := range levels {
		sxx += (l - mean) * (l - mean)
	}
	for i, a := range levels {
		for j, b := range levels {
			v += (a - mean) * (b - mean) / sxx / sxx * cov(i, j)
		}
	}
	return math.Sqrt(v)
}

// offOf is by how much the correlations that a trial is told differ from those of a set, at most, and how many times as
// doubtful as it is told a slope is.
func offOf(set Set, shared, background func(i int) float64) (off, doubt float64) {
	var levels []float64
	for _, st := range set.Standards {
		levels = append(levels, st.Value.Value)
	}
	told := func(i, j int) float64 {
		if i == j {
			return set.Covariance[i][i]
		}
		return shared(i)*shared(j) + background(i)*background(j)
	}
	for i := range levels {
		for j := range levels {
			off = math.Max(off, math.Abs(told(i, j)-set.Covariance[i][j])/math.Sqrt(set.Covariance[i][i]*set.Covariance[j][j]))
		}
	}
	return off, slopeSD(levels, func(i, j int) float64 { return set.Covariance[i][j] }) / slopeSD(levels, told)
}

// TestStockAndBackgroundReachATrial: stock and background of any size, told as two errors, give a trial the correlations of
// the set and the doubt of a slope; told as one they did not.
func TestStockAndBackgroundReachATrial(t *testing.T) {
	worst := 1.0
	for _, uBackground := range []float64{0.02, 0.15, 0.5} {
		for _, uStock := range []float64{1, 5, 20} {
			t.Run(fmt.Sprint(uBackground, uStock), func(t *testing.T) {
				s := benchShelf()
				s.Matrix.U, s.Stocks[0].U = uBackground, uStock
				plan, faults := Search(s, []float64{0, 1, 5, 12, 20})
				if faults != nil {
					t.Fatal(faults)
				}
				set := plan.Set
				st := set.Standards
				off, doubt := offOf(set, func(i int) float64 { return st[i].UShared }, func(i int) float64 { return st[i].UBackground })
				near(t, "correlations", off, 0, 0.005)
				near(t, "misfit", set.SharedMisfit, off, 1e-6)
				near(t, "doubt of a slope", doubt, 1, 0.005)
				for _, x := range st { // the salt comes with the background: both count with the share of the water that is salt water
					near(t, "background of "+x.Solution.Name, x.UBackground, uBackground*x.Salinity/35, 1e-9)
				}
				if len(set.Notes) > 0 {
					t.Errorf("notes %v", set.Notes)
				}
				var u []float64
				for _, x := range st {
					u = append(u, x.U)
				}
				one, _ := errorpart.CommonFactor(set.Covariance, u)
				_, doubt = offOf(set, func(i int) float64 { return one[i] }, func(int) float64 { return 0 })
				worst = math.Max(worst, doubt)
			})
		}
	}
	if worst < 1.25 {
		t.Errorf("one error tells every slope as doubtful as it is: at most %.2f times", worst)
	}
}

// TestOnePipetteAllTheWayDown: each standard is made from the one before by five deliveries of one syringe, so that its
// error goes with the number of steps. A line laid through what a simulated making puts into them, by generalised least
// squares with the two errors that a trial is told and readings that scatter by a tenth of the standards' doubt, has a slope
// as doubtful as it says; with the one error that comes nearest it said 1.4 to 2 times as sure.
func TestOnePipetteAllTheWayDown(t *testing.T) {
	for _, uBackground := range []float64{0.01, 0.3} {
		s := benchShelf()
		s.Matrix.Background, s.Matrix.U, s.Stocks[0].U = 2, uBackground, 1
		s.Devices = append(s.Devices, Device{Name: "syringe", Kind: Syringe, Nominal: 10})
		p := Preparation{{Name: "B", In: InMatrix, Standard: true}}
		for i := range 6 {
			x := Solution{Name: fmt.Sprint("S", i), From: "bottle A", Take: Measure{"syringe", 4, 1}, Make: Measure{"flask 100", 100, 1}, In: InMatrix, Standard: true}
			if i > 0 {
				x.From, x.Take = p[i].Name, Measure{"syringe", 10, 5}
			}
			p = append(p, x)
		}
		if fs := p.Faults(s); fs != nil {
			t.Fatal(fs)
		}
		set := Evaluate(s, p)
		near, _ := errorpart.CommonFactor(set.others(), set.doubts())
		draws := Simulate(s, p, &set, 2000, rand.New(rand.NewPCG(5, 6)))
		kept := make([]float64, len(near))
		for i, st := range set.Standards {
			kept[i] = st.UShared
		}
		if r := overTold(set, kept, draws); !(r < 1.1) {
			t.Errorf("u %v: a slope scatters by %.2f times what it is told", uBackground, r)
		}
		if r := overTold(set, near, draws); !(r > 1.3) {
			t.Errorf("u %v: by the nearest error a slope scatters by %.2f times what it is told: no test", uBackground, r)
		}
		if len(set.Notes) > 0 {
			t.Errorf("u %v: notes %v", uBackground, set.Notes)
		}
	}
}

// overTold is by how much the slope of a line through drawn standards scatters, over what a trial tells.
func overTold(set Set, shared []float64, draws [][]float64) float64 {
	rng := rand.New(rand.NewPCG(7, 8))
	v, x := set.told(shared), make([][]float64, len(shared))
	for i, st := range set.Standards {
		x[i] = []float64{1, st.Value.Value}
		v[i][i] += 0.01 * set.Covariance[i][i]
	}
	gain, err := num.Gain(x, v)
	if err != nil {
		panic(err)
	}
	slopes := make([]float64, len(draws[0]))
	for k := range slopes {
		for i, st := range set.Standards {
			slopes[k] += gain[1][i] * (draws[i][k] + 0.1*st.U*rng.NormFloat64())
		}
	}
	_, sd := num.MeanSD(slopes)
	return sd / math.Sqrt(variance(gain[1], v))
}

// TestThreeSharedErrorsAreTold: two pipettes that are far off by themselves are two errors more.
func TestThreeSharedErrorsAreTold(t *testing.T) {
	s := benchShelf()
	s.Stocks[0].U = 1
	for i := range s.Devices {
		if s.Devices[i].Kind == Piston {
			s.Devices[i].Tolerance = 0.05 * s.Devices[i].Nominal
		}
	}
	var p Preparation
	for i, take := range []Measure{{"piston 1", 0.5, 1}, {"piston 1", 0.8, 1}, {"piston 5", 2, 1}, {"piston 5", 4, 1}} {
		p = append(p, Solution{Name: fmt.Sprint("S", i), From: "bottle A", Take: take, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true})
	}
	if fs := p.Faults(s); fs != nil {
		t.Fatal(fs)
	}
	set := Evaluate(s, p)
	if !(set.SharedMisfit > 0.1) || !(set.SharedSurer > SurerToTell) || len(set.Notes) != 1 || set.Notes[0].Code != "more-than-two-shared" {
		t.Errorf("misfit %v, %v times as sure, notes %v", set.SharedMisfit, set.SharedSurer, set.Notes)
	}
}
