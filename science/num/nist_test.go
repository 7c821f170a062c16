package num

import (
	"fmt"
	"math"
	"strconv"
	"testing"
)

// NIST/ITL Statistical Reference Datasets (public domain); see testdata/SOURCES.md.
type nistSet struct {
	Dataset    string
	N          int
	Parameters []struct {
		Name           string
		Estimate, SD   float64
		Start1, Start2 float64
	}
	ResidualSD float64 `json:"residual_sd"`
	ResidualSS float64 `json:"residual_ss"`
	RSquared   float64 `json:"r_squared"`
	ANOVA      struct {
		Regression, Residual struct {
			DF     int
			SS, MS float64
		}
		F *float64
	}
	Between, Within struct {
		DF     int
		SS, MS float64
	}
	F    float64
	Mean float64
	SD   float64
}

func nist(t testing.TB, name string) nistSet {
	var s nistSet
	readJSON(t, "nist/"+name+".json", &s)
	return s
}

func nistXY(t testing.TB, name string) (x, y []float64) {
	v, _ := rows(t, "nist/"+name+".csv")
	for _, r := range v {
		y = append(y, r[0])
		x = append(x, r[1])
	}
	return x, y
}

func linearAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Linear least squares (`LeastSquares`, `Polynomial`)", "coefficients", "standard errors", "residual SD", "R², sums of squares, F")
	for _, c := range []struct {
		name string
		note string
	}{
		{"Norris", "line"}, {"Pontius", "parabola"}, {"NoInt1", "line through 0"}, {"NoInt2", "line through 0"},
		{"Filip", "degree 10"}, {"Wampler1", "degree 5, exact"}, {"Wampler3", "degree 5"}, {"Wampler5", "degree 5, noisy"},
	} {
		s := nist(t, c.name)
		x, y := nistXY(t, c.name)
		var f Fit
		var err error
		if len(s.Parameters) == 1 {
			X := make([][]float64, len(x))
			for i := range x {
				X[i] = []float64{x[i]}
			}
			f, err = LeastSquares(X, y, nil)
		} else {
			f, err = Polynomial(x, y, nil, len(s.Parameters)-1)
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		a.set(c.name, 15, "NIST StRD, "+c.note)
		for j, p := range s.Parameters {
			a.add("coefficients", f.Coef[j], p.Estimate)
			a.add("standard errors", f.SE(j), p.SD)
		}
		a.add("residual SD", f.SD, s.ResidualSD)
		const sums = "R², sums of squares, F"
		a.add(sums, f.R2, s.RSquared)
		a.add(sums, f.ANOVA.RegressionSS, s.ANOVA.Regression.SS)
		a.add(sums, f.ANOVA.ResidualSS, s.ANOVA.Residual.SS)
		if s.ANOVA.F != nil {
			a.add(sums, f.ANOVA.F, *s.ANOVA.F)
		} else if !math.IsInf(f.ANOVA.F, 1) {
			t.Errorf("%s: F = %g, certified as infinite", c.name, f.ANOVA.F)
		}
		if f.DF != s.ANOVA.Residual.DF || f.ANOVA.RegressionDF != s.ANOVA.Regression.DF {
			t.Errorf("%s: degrees of freedom %d, %d", c.name, f.ANOVA.RegressionDF, f.DF)
		}
	}
	return a
}

// numAcc makes NumAcc2 and NumAcc3: offset.2, then offset.1 and offset.3 in turn.
func numAcc(offset string) []float64 {
	x := []float64{parse(offset + ".2")}
	for range 500 {
		x = append(x, parse(offset+".1"), parse(offset+".3"))
	}
	return x
}

func parse(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err)
	}
	return v
}

func univariateAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Mean and standard deviation (`MeanSD`)", "mean", "SD")
	for _, name := range []string{"Lew", "Lottery", "Mavro", "Michelso", "PiDigits", "NumAcc1", "NumAcc2", "NumAcc3"} {
		s := nist(t, name)
		var x []float64
		note := "NIST StRD"
		switch name {
		case "NumAcc2":
			x = numAcc("1")
		case "NumAcc3":
			x = numAcc("1000000")
			note += "; the data as float64 hold no more digits of the spread"
		default:
			v, _ := rows(t, "nist/"+name+".csv")
			for _, r := range v {
				x = append(x, r[0])
			}
		}
		if len(x) != s.N {
			t.Fatalf("%s has %d values, certified for %d", name, len(x), s.N)
		}
		mean, sd := MeanSD(x)
		a.set(name, 15, note)
		a.add("mean", mean, s.Mean)
		a.add("SD", sd, s.SD)
	}
	return a
}

// smLs makes the Simon–Lesage sets: nine groups, each its middle value once,
// then a tenth below and above it in turn; middles .4, .3, .5, .3, .5, …
func smLs(perGroup int, offset string) [][]float64 {
	groups := make([][]float64, 9)
	for g := range groups {
		middle := []int{5, 3}[g%2]
		if g == 0 {
			middle = 4
		}
		for i := range perGroup {
			d := middle
			if i > 0 {
				d += 1 - 2*(i%2)
			}
			groups[g] = append(groups[g], parse(fmt.Sprintf("%s.%d", offset, d)))
		}
	}
	return groups
}

func oneWayAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("One-way analysis of variance (`NewOneWay`)", "between", "within", "F", "R²")
	sets := []struct {
		name   string
		groups [][]float64
		note   string
	}{
		{"SiRstv", nil, ""},
		{"SmLs01", smLs(21, "1"), ""}, {"SmLs02", smLs(201, "1"), ""}, {"SmLs03", smLs(2001, "1"), ""},
		{"SmLs04", smLs(21, "1000000"), "; 1000000.4 as float64 keeps 10 digits of the spread"},
		{"SmLs05", smLs(201, "1000000"), "; the same"}, {"SmLs06", smLs(2001, "1000000"), "; the same"},
		{"SmLs08", smLs(201, "1000000000000"), "; 1000000000000.4 as float64 keeps 4 digits of the spread"},
		{"SmLs09", smLs(2001, "1000000000000"), "; the same"},
	}
	v, _ := rows(t, "nist/SiRstv.csv")
	sets[0].groups = make([][]float64, 5)
	for _, r := range v {
		g := int(r[0]) - 1
		sets[0].groups[g] = append(sets[0].groups[g], r[1])
	}
	for _, c := range sets {
		s := nist(t, c.name)
		o := NewOneWay(c.groups...)
		if o.BetweenDF != s.Between.DF || o.WithinDF != s.Within.DF {
			t.Errorf("%s: degrees of freedom %d, %d", c.name, o.BetweenDF, o.WithinDF)
		}
		a.set(c.name, 15, "NIST StRD"+c.note)
		a.add("between", o.BetweenSS, s.Between.SS)
		a.add("between", o.BetweenMS, s.Between.MS)
		a.add("within", o.WithinSS, s.Within.SS)
		a.add("within", o.WithinMS, s.Within.MS)
		a.add("within", math.Sqrt(o.WithinMS), s.ResidualSD)
		a.add("F", o.F, s.F)
		a.add("R²", o.R2, s.RSquared)
	}
	return a
}
