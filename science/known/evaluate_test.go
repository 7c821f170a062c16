package known

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"knownwater/science/errorpart"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// somePreparation is a random chain on the bench shelf: an intermediate by
// weight or volume, in matrix or water, and two standards from it or the stock.
func somePreparation(t *rapid.T, s Shelf) Preparation {
	takes := func(label string) Measure {
		return rapid.SampledFrom([]Measure{
			{"pipette 10", 10, 1}, {"pipette 10", 10, 2}, {"piston 5", 2.5, 1}, {"piston 5", 5, 2}, {"piston 1", 0.8, 3}, {"scale", 12.34, 1},
		}).Draw(t, label)
	}
	fills := func(label string) Measure {
		return rapid.SampledFrom([]Measure{{"flask 100", 100, 1}, {"flask 250", 250, 1}, {"scale", 205.5, 1}}).Draw(t, label)
	}
	in := rapid.SampledFrom([]Diluent{InMatrix, InWater}).Draw(t, "in")
	from := func(label string) string { return rapid.SampledFrom([]string{"bottle A", "I"}).Draw(t, label) }
	p := Preparation{
		{Name: "I", From: "bottle A", Take: takes("t1"), Make: fills("m1"), In: in},
		{Name: "S1", From: from("f2"), Take: takes("t2"), Make: fills("m2"), In: InMatrix, Standard: true, Asked: 5},
		{Name: "S2", From: from("f3"), Take: takes("t3"), Make: fills("m3"), In: InMatrix, Standard: true, Asked: 9},
	}
	if faults := p.Faults(s); faults != nil {
		t.Fatal(faults)
	}
	return p
}

// What was in the bottles is what is in them afterwards: stock, background and
// nothing else.
func TestMassBalanceCloses(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := benchShelf()
		s.Stocks[0].Left = 0
		p := somePreparation(rt, s)
		m := build(s, p)
		made := m.run(means(m.inputs))
		in, held := 0.0, map[string]float64{}
		for _, x := range p {
			solution := made[m.index[x.Name]]
			whole, part, c := solution.whole, solution.taken, solution.c
			near(rt, "rough volume of "+x.Name, x.madeVolume(s), whole, 0.012*whole)
			near(rt, "rough volume taken into "+x.Name, x.takenVolume(s), part, 0.03*part)
			held[x.Name] += whole * c
			from := made[m.index[x.From]].c * part
			if x.From == "bottle A" {
				in += from
			} else {
				held[x.From] -= from
			}
			if x.In == InMatrix {
				in += (whole - part) * s.Matrix.Background
			}
		}
		out := 0.0
		for _, v := range held {
			out += v
		}
		if !(math.Abs(out/in-1) <= 1e-12) {
			rt.Fatalf("%v mg went in, %v are there", in, out)
		}
	})
}

func TestMassBalanceClosesExactlyByVolume(t *testing.T) {
	s := benchShelf()
	p := Preparation{
		{Name: "I", From: "bottle A", Take: Measure{"pipette 10", 10, 1}, Make: Measure{"flask 100", 100, 1}, In: InMatrix},
		{Name: "S", From: "I", Take: Measure{"piston 5", 5, 1}, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true},
	}
	m := build(s, p)
	made := m.run(means(m.inputs))
	near(t, "I", made[1].c, (10*1000+90*0.1)/100, 1e-12)
	near(t, "S", made[2].c, (5*100.09+245*0.1)/250, 1e-12)
	near(t, "matrix in S", made[2].matrix, 1-5*0.1/250, 1e-12)
}

// The uncertainty of a preparation never falls when a tolerance grows.
func TestUncertaintyNeverFallsWithTolerance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := benchShelf()
		s.Stocks[0].Left = 0
		p := somePreparation(t, s)
		before := Evaluate(s, p)
		i := rapid.IntRange(0, len(s.Devices)-1).Draw(t, "device")
		limit, _ := s.Devices[i].limit()
		s.Devices[i].Tolerance = limit * rapid.Float64Range(1, 20).Draw(t, "factor")
		if s.Devices[i].Tolerance >= s.Devices[i].Nominal {
			t.Skip()
		}
		s.Devices[i].Random = s.Devices[i].use(s.Devices[i].Nominal).random // the scatter stays
		if s.Devices[i].Kind == Scale {
			s.Devices[i].Random = 0
		}
		after := Evaluate(s, p)
		for k := range before.Standards {
			if after.Standards[k].U < before.Standards[k].U*(1-1e-9) {
				t.Fatalf("u fell from %v to %v", before.Standards[k].U, after.Standards[k].U)
			}
		}
	})
}

// In the ratio of two standards the stock's error is gone.
func TestSharedStockCancelsInRatios(t *testing.T) {
	s := benchShelf()
	s.Matrix.Background, s.Matrix.U = 0, 1e-9
	s.Stocks[0].U = 100 // 10 %
	plan, faults := Search(s, []float64{5, 20})
	if faults != nil {
		t.Fatal(faults)
	}
	a, b := plan.Set.Standards[0], plan.Set.Standards[1]
	if !(a.U > 0.09*a.Value.Value) {
		t.Fatalf("u %v of %v: the stock's 10 %% is missing", a.U, a.Value.Value)
	}
	ratio := errorpart.Ratio(b.Value, a.Value)
	if ratio.U()/ratio.Value > 0.02 {
		t.Errorf("the ratio still has %v of relative uncertainty", ratio.U()/ratio.Value)
	}
	if corr := errorpart.Covariance(a.Value.Parts, b.Value.Parts) / (a.Value.U() * b.Value.U()); corr < 0.98 {
		t.Errorf("correlation %v", corr)
	}
	near(t, "shared part", a.UShared/a.U, 1, 0.02)
}

// A weighed (mg/kg) and a poured (mg/L) standard of one number differ by 2.3 %.
func TestPerKilogram(t *testing.T) {
	s := benchShelf()
	p := Preparation{{Name: "S", From: "bottle A", Take: Measure{"pipette 10", 10, 1}, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true}}
	perLitre := Evaluate(s, p).Standards[0].Value.Value
	s.Scale = unit.Scale{Analyte: "nitrate", Unit: "mg/kg", Basis: "NO3"}
	s.Matrix.Background /= s.water().Density() // the same water
	perKilogram := Evaluate(s, p).Standards[0]
	near(t, "mg/L over mg/kg", perLitre/perKilogram.Value.Value, unit.Water{Salinity: perKilogram.Salinity, Temperature: 22}.Density(), 1e-9)
}

// A stock certified per kilogram, weighed out, needs no density.
func TestStockPerKilogramByWeight(t *testing.T) {
	s := benchShelf()
	s.Stocks[0] = Stock{Name: "bottle A", Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/kg", Basis: "NO3"}, Value: 1000, U: 1, Density: 1.02, UDensity: 0.02}
	p := Preparation{{Name: "S", From: "bottle A", Take: Measure{"scale", 10, 1}, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true}}
	st := Evaluate(s, p).Standards[0]
	for _, k := range st.Value.Parts.ByKind() {
		if k.Kind == KindDensity && k.U > 1e-4*st.Value.Value {
			t.Errorf("the density still counts for %v", k.U)
		}
	}
	// 10 g display are 10·1.00105 g of mass: buoyancy.
	near(t, "value", st.Value.Value, (10*1.00104*1000/1000+0.24*0.1)/0.25, 0.001)
}

// Other analytes and units: alkalinity in dKH from baking soda, phosphate in
// µmol/kg; by hand.
func TestOtherScales(t *testing.T) {
	s := benchShelf()
	s.Scale = unit.Scale{Analyte: "alkalinity", Unit: "dKH"}
	s.Matrix.Background, s.Matrix.U = 7, 0.05
	s.Stocks = []Stock{{Name: "soda", Made: someDay, Salt: &Weighed{Salt: "NaHCO3", Mass: 2.10015, Scale: "scale", Purity: 1, Flask: "flask 250"}}}
	if faults, _ := s.Examine(someDay); faults != nil {
		t.Fatal(faults)
	}
	p := Preparation{{Name: "S", From: "soda", Take: Measure{"pipette 10", 10, 1}, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true}}
	// 2.10015 g are 25 mmol in 250 mL: 100 meq/L, 280.4 dKH.
	near(t, "dKH", Evaluate(s, p).Standards[0].Value.Value, (10*100*2.80385+240*7)/250, 1e-3)

	s.Scale = unit.Scale{Analyte: "phosphate", Unit: "umol/kg", Basis: "PO4"}
	s.Matrix.Background, s.Matrix.U = 0.1, 0.02
	s.Stocks = []Stock{{Name: "soda", Scale: unit.Scale{Analyte: "phosphate", Unit: "mg/L", Basis: "P"}, Value: 1, U: 0.01}}
	if faults, _ := s.Examine(someDay); faults != nil {
		t.Fatal(faults)
	}
	// 1 mg/L P is 32.285 µmol/L; 10 mL in 250 mL; over the density of the mixture.
	mix := unit.Water{Salinity: 35 * 0.96, Temperature: 22}.Density()
	perLitre := (10*1000/30.974 + 240*0.1*s.water().Density()) / 250
	near(t, "µmol/kg", Evaluate(s, p).Standards[0].Value.Value, perLitre/mix, 1e-9)
}

func TestMonteCarloBesideTheBudget(t *testing.T) {
	s := benchShelf()
	s.Matrix.Background, s.Matrix.U = 1, 0.05
	plan, faults := Search(s, []float64{0, 3, 12, 40})
	if faults != nil {
		t.Fatal(faults)
	}
	Simulate(s, plan.Preparation, &plan.Set, 20_000, rand.New(rand.NewPCG(41, 42)))
	for _, st := range plan.Set.Standards {
		near(t, "mean", st.Monte.Mean, st.Value.Value, 4*st.U/math.Sqrt(20_000))
		near(t, "sd", st.Monte.SD, st.U, 0.025*st.U)
		near(t, "low", st.Monte.Low, st.Low, 0.08*st.U)
		near(t, "high", st.Monte.High, st.High, 0.08*st.U)
	}
	// A background that may be nothing bends the model: the note says so.
	s.Matrix.Background, s.Matrix.U = 0.05, 0.08
	set := Evaluate(s, plan.Preparation)
	Simulate(s, plan.Preparation, &set, 20_000, rand.New(rand.NewPCG(43, 44)))
	blank := set.Standards[0]
	if blank.Monte.Low < 0 || !saysCode(blank.Notes, "monte-carlo-differs") {
		t.Errorf("blank: %v, notes %v", blank.Monte, blank.Notes)
	}
}

// Actual amounts give the value, not planned ones.
func TestActualAmountsCount(t *testing.T) {
	s := benchShelf()
	p := Preparation{{Name: "S", From: "bottle A", Take: Measure{"scale", 2.5, 1}, Make: Measure{"scale", 255.8, 1}, In: InMatrix, Standard: true, Asked: 10}}
	planned := Evaluate(s, p).Standards[0]
	p[0].Take.Amount = 2.75
	actual := Evaluate(s, p).Standards[0]
	near(t, "ratio", (actual.Value.Value-0.1)/(planned.Value.Value-0.1), 1.1, 1e-3)
	if !saysCode(actual.Notes, "other-than-asked") {
		t.Errorf("notes %v", actual.Notes)
	}
}

// Simulated work at a bench, by its own arithmetic: glass, pipettes, scale and
// stock with errors drawn within their limits, amounts noted as displayed. The
// 95 % intervals must cover what is really in the bottles.
func TestIntervalsCoverTheTruth(t *testing.T) {
	const benches = 400
	r := rand.New(rand.NewPCG(51, 52))
	uniform := func(a float64) float64 { return a * (2*r.Float64() - 1) }
	triangular := func(a float64) float64 { return a * (r.Float64() - r.Float64()) }
	covered := make([]int, 3)
	for range benches {
		s := benchShelf()
		stock := 1000 + 2.9*r.NormFloat64()
		background := math.Max(0, 0.2+0.05*r.NormFloat64())
		s.Matrix.Background = 0.2
		flask := 250 + triangular(0.15)
		piston := uniform(0.04)
		sea, fresh := unit.Water{Salinity: 35, Temperature: 22 + uniform(3)}.Density(), pureWater(22)+0.65*0.002
		weigh := func(mass float64) float64 { // what the scale shows
			return math.Round((mass*(1-0.0012/1.02)/(1-0.0012/8)+uniform(0.01))*100) / 100
		}
		// The intermediate by weight: about 50 mL in about 500 mL.
		v, rest := 50*(1+0.02*r.NormFloat64()), 450*(1+0.02*r.NormFloat64())
		shownTake, shownWhole := weigh(v*fresh), weigh(v*fresh+rest*sea)
		inter := (stock*v + background*rest) / (v + rest)
		mix := (v*fresh + rest*sea) / (v + rest)
		// By pipette into the flask, twice 4 mL.
		poured := 8 + 2*piston + 0.015*(r.NormFloat64()+r.NormFloat64())
		byPipette := (inter*poured + background*(flask-poured)) / flask
		// By weight into the same flask.
		v2 := 30 * (1 + 0.02*r.NormFloat64())
		shown2 := weigh(v2 * mix)
		filled := flask + 0.03*r.NormFloat64()
		byWeight := (inter*v2 + background*(filled-v2)) / filled
		s.Devices[len(s.Devices)-1].Nominal = 2000
		p := Preparation{
			{Name: "I", From: "bottle A", Take: Measure{"scale", shownTake, 1}, Make: Measure{"scale", shownWhole, 1}, In: InMatrix},
			{Name: "blank", In: InMatrix, Standard: true},
			{Name: "P", From: "I", Take: Measure{"piston 5", 4, 2}, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true},
			{Name: "W", From: "I", Take: Measure{"scale", shown2, 1}, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true},
		}
		if faults := p.Faults(s); faults != nil {
			t.Fatal(faults)
		}
		set := Evaluate(s, p)
		for k, truth := range []float64{background, byPipette, byWeight} {
			if st := set.Standards[k]; st.Low <= truth && truth <= st.High {
				covered[k]++
			}
		}
	}
	// 95 %: three binomial standard errors of 400 are 3.3 %. Limits that are
	// hardly ever reached make intervals a little wide; that is allowed, less is not.
	for k, n := range covered {
		if share := float64(n) / benches; share < 0.917 || share > 0.995 {
			t.Errorf("standard %d: %d of %d intervals cover the truth", k, n, benches)
		}
	}
}

func TestEvaporationRaisesTheValue(t *testing.T) {
	s := benchShelf()
	before := s.stockValue(s.Stocks[0])
	s.Stocks[0].Loss, s.Stocks[0].ULoss, s.Stocks[0].LossFrom = 5, 0.05, 250
	near(t, "value", s.stockValue(s.Stocks[0]), before*250/245, 1e-9)
	if notes := s.Stocks[0].doubts(someDay); !saysCode(notes, "stock-lost-water") {
		t.Errorf("notes %v", notes)
	}
	if f, _ := Evaporated(10, 0, 10); !math.IsNaN(f) {
		t.Error("an empty bottle has a concentration")
	}
}

func TestCompareStocks(t *testing.T) {
	value := func(v, u float64, name string) errorpart.Value {
		return errorpart.Value{Value: v, Parts: errorpart.Of(errorpart.Part{Name: name, U: u, Sensitivity: 1})}
	}
	a, b := value(10, 0.05, "a"), value(10, 0.05, "b")
	for _, c := range []struct {
		readA, readB, u, permitted float64
		want                       Agreement
	}{
		{9.5, 9.5, 0.02, 0.03, Agree},
		{9.9, 9.5, 0.02, 0.03, Disagree},
		{9.5, 9.5, 0.3, 0.03, Undecided},
		{9.5, 0, 0.3, 0.03, Undecided},
	} {
		got := CompareStocks(a, b, MeanRead{c.readA, c.u, 0}, MeanRead{c.readB, c.u, 0}, c.permitted)
		if got.Verdict != c.want {
			t.Errorf("%v: %v, %v", c, got.Verdict, got.Why)
		}
	}
	// What both share cancels: with one stock in both, only the readings count.
	got := CompareStocks(a, value(10, 0.05, "a"), MeanRead{9.5, 0.02, 0}, MeanRead{9.5, 0.02, 0}, 0.03)
	near(t, "u", got.U, math.Sqrt2*0.02/9.5, 1e-9)
}

// Two stocks that agree are said to disagree in 5 of 100 trials of three readings each, as t
// of four degrees of freedom has it; by two standard uncertainties it would be 12.
func TestStocksByFewReadings(t *testing.T) {
	rng := num.Source(7, 3)
	mean := func(n int) MeanRead {
		y := make([]float64, n)
		for i := range y {
			y[i] = 10 + 0.3*rng.NormFloat64()
		}
		m, sd := num.MeanSD(y)
		return MeanRead{m, sd / math.Sqrt(float64(n)), n}
	}
	exact := errorpart.Value{Value: 10, Parts: errorpart.Of(errorpart.Part{Name: "flask", U: 0.01, Sensitivity: 1})}
	const runs = 4000
	for _, n := range []int{3, 5} {
		differ := 0
		for range runs {
			if CompareStocks(exact, exact, mean(n), mean(n), 0.001).Verdict == Disagree {
				differ++
			}
		}
		if share := float64(differ) / runs; share < 0.03 || share > 0.06 { // Welch's t is a little careful
			t.Errorf("%d readings: said to disagree in %.3f, want 0.03 to 0.06", n, share)
		}
	}
}

// saysCode says whether notes hold a code.
func saysCode(notes []note.Note, code string) bool {
	return slices.ContainsFunc(notes, func(n note.Note) bool { return n.Code == code })
}

// The kind of error that makes up most of the variance is named with its share; of none, or of errors of nothing, that there is none.
func TestLargestPart(t *testing.T) {
	for _, c := range []struct {
		what  string
		parts errorpart.Parts
		code  string
	}{
		{"no part", nil, "no-error-part"},
		{"a part of nothing", errorpart.Parts{{Name: "a", Kind: "stock", Sensitivity: 1}}, "no-error-part"},
		{"two", errorpart.Parts{{Name: "a", Kind: "stock", U: 1, Sensitivity: 1}, {Name: "b", Kind: "device", U: 2, Sensitivity: -1}}, "largest-part"},
	} {
		got := largest(c.parts)
		if got.Code != c.code || c.code == "largest-part" && (got.Names["part"][0] != "device" || math.Abs(float64(got.Numbers["share"][0])-0.8) > 1e-12) {
			t.Errorf("%s: %+v, want %s", c.what, got, c.code)
		}
	}
}
