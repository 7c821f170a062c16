package known

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"knownwater/science/unit"
)

var nitrate = unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}

var someDay = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)

// benchShelf is an invented shelf: a stock, glassware, pipettes, a scale.
func benchShelf() Shelf {
	s := Shelf{
		Scale:  nitrate,
		Room:   Room{Temperature: 22, Within: 3},
		Matrix: Matrix{Name: "salt mix", Salinity: 35, Background: 0.1, U: 0.05, How: "standard addition"},
		Stocks: []Stock{{Name: "bottle A", Scale: nitrate, Value: 1000, U: 2.9, Left: 500, Expires: someDay.AddDate(1, 0, 0)}},
		Devices: []Device{
			{Name: "flask 100", Kind: Flask, Nominal: 100, Class: "A"},
			{Name: "flask 250", Kind: Flask, Nominal: 250, Class: "A"},
			{Name: "pipette 10", Kind: OneMark, Nominal: 10, Class: "A"},
			{Name: "piston 5", Kind: Piston, Nominal: 5, Smallest: 0.5},
			{Name: "piston 1", Kind: Piston, Nominal: 1, Smallest: 0.1},
			{Name: "scale", Kind: Scale, Nominal: 500, Step: 0.01},
		},
		Limits: DefaultLimits,
	}
	s.Limits.Volume, s.Limits.SalinityCut = 250, 0.05
	return s
}

var tenLevels = []float64{0, 0.6, 1.5, 3, 6, 9, 12, 16, 20, 30, 40}

// scoreOf is the score from the full budget.
func scoreOf(s Shelf, p Preparation) float64 {
	set := valued(s, p)
	score := 0.0
	for _, st := range set.Standards {
		if st.Solution.From != "" {
			score += math.Log(st.U/st.Value.Value) + math.Abs(st.Value.Value/st.Solution.Asked-1)
		}
	}
	for _, x := range p {
		if x.From == "" {
			continue
		}
		n := x.Take.Times + 1
		if s.device(x.Take.Device).Kind == Dropper {
			n = 2
		}
		score += stepPrice*float64(n) + volumePrice*x.madeVolume(s)/s.Limits.Volume
	}
	return score
}

// The planner's short form of the budget against the full one, over random
// shelves with everything on them (also a checked pipette, a scale with a
// gain error, a weighed stock made in a flask that is used again).
func TestSearchAgreesWithTheFullBudget(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	plans := 0
	for range 60 {
		s := randomShelf(r, 6)
		levels := []float64{0.8, 3, 11, 35}
		plan, faults := Search(s, levels)
		if faults != nil {
			continue
		}
		plans++
		if faults := plan.Preparation.Faults(s); faults != nil {
			t.Fatal(faults)
		}
		near(t, "score", plan.Score, scoreOf(s, plan.Preparation), 2e-4)
	}
	if plans < 20 {
		t.Errorf("only %d of 60 shelves gave a plan", plans)
	}
}

// randomShelf has up to n devices.
func randomShelf(r *rand.Rand, n int) Shelf {
	s := benchShelf()
	s.Limits.Volume = 100
	s.Limits.LevelWithin = 0.05
	s.Limits.SalinityCut = []float64{0.02, 0.05, 0.2}[r.IntN(3)]
	s.Matrix.U = []float64{0.005, 0.05, 0.15}[r.IntN(3)]
	choices := []Device{
		{Kind: Flask, Nominal: 100, Class: "A"}, {Kind: Flask, Nominal: 250, Class: "B"}, {Kind: Flask, Nominal: 500, Class: "A"},
		{Kind: OneMark, Nominal: 10, Class: "A"}, {Kind: OneMark, Nominal: 1, Class: "B"}, {Kind: OneMark, Nominal: 5, Class: "A"},
		{Kind: Piston, Nominal: 5, Smallest: 0.5}, {Kind: Piston, Nominal: 1, Smallest: 0.1}, {Kind: Syringe, Nominal: 10},
		{Kind: Dropper, Nominal: 0.05},
		{Kind: Scale, Nominal: 500, Step: 0.01, Gain: 0.001}, {Kind: Scale, Nominal: 200, Step: 0.001},
		{Kind: Piston, Nominal: 5, Smallest: 0.5, Check: &VolumeCheck{Setting: 5, Weights: []float64{4.96, 4.97, 4.975, 4.965}, Temperature: 21}},
	}
	s.Devices = []Device{{Name: "first flask", Kind: Flask, Nominal: 100, Class: "A"}}
	for i := range 1 + r.IntN(n) {
		d := choices[r.IntN(len(choices))]
		d.Name = fmt.Sprintf("device %d", i)
		s.Devices = append(s.Devices, d)
	}
	if r.IntN(3) == 0 {
		s.Devices = append(s.Devices, Device{Name: "fine scale", Kind: Scale, Nominal: 100, Step: 0.001})
		s.Stocks[0] = Stock{Name: "weighed", Salt: &Weighed{Salt: "KNO3", Mass: 0.1631, Scale: "fine scale", Purity: 0.995, PurityWithin: 0.005, Flask: "first flask"}}
	}
	return s
}

// bruteForce tries every way that it can think of, by the full budget alone:
// direct, and through one intermediate of a random amount.
func bruteForce(s Shelf, levels []float64, r *rand.Rand) float64 {
	best := func(level float64, above Preparation, from string, c float64) float64 {
		least := math.Inf(1)
		for _, fill := range bruteFills(s, s.Limits.Volume) {
			whole := Solution{Make: fill, In: InMatrix}.madeVolume(s)
			volume := whole * (level - s.Matrix.Background) / (c - s.Matrix.Background)
			for _, take := range bruteTakes(s, from, volume) {
				x := Solution{Name: "S", From: from, Take: take, Make: fill, In: InMatrix, Standard: true, Asked: level}
				p := append(append(Preparation(nil), above...), x)
				if !bruteAllowed(s, p) {
					continue
				}
				least = math.Min(least, scoreOf(s, p)-priceOf(s, above))
			}
		}
		return least
	}
	stock := s.Stocks[0].Name
	c := s.stockValue(s.Stocks[0])
	direct := make([]float64, len(levels))
	total := 0.0
	for i, level := range levels {
		direct[i] = best(level, nil, stock, c)
		total += direct[i]
	}
	for range 40 {
		fills := bruteFills(s, 50)
		fill := fills[r.IntN(len(fills))]
		in := []Diluent{InMatrix, InWater}[r.IntN(2)]
		whole := Solution{Make: fill, In: in}.madeVolume(s)
		takes := bruteTakes(s, stock, whole*math.Pow(10, -2.5*r.Float64()-0.3))
		for _, take := range takes {
			above := Preparation{{Name: "I", From: stock, Take: take, Make: fill, In: in}}
			if above.Faults(s) != nil || s.device(take.Device).Kind != Scale && above[0].takenVolume(s) < s.Limits.Smallest {
				continue
			}
			m := build(s, above)
			made := m.run(means(m.inputs))[1].c
			sum := priceOf(s, above)
			for i, level := range levels {
				if made <= level {
					sum += direct[i]
				} else {
					sum += math.Min(direct[i], best(level, above, "I", made))
				}
			}
			total = math.Min(total, sum)
		}
	}
	return total
}

func priceOf(s Shelf, above Preparation) float64 {
	if len(above) == 0 {
		return 0
	}
	return scoreOf(s, above) // no standard in it: only its price
}

func bruteFills(s Shelf, least float64) []Measure {
	var out []Measure
	for _, d := range s.Devices {
		if d.Kind == Flask && d.Nominal >= least {
			out = append(out, Measure{d.Name, d.Nominal, 1})
		}
		if d.Kind == Scale {
			for _, v := range []float64{100, 200} {
				if m := onStep(v*1.0235, d.step()); m*1.5 <= d.Nominal && v >= least {
					out = append(out, Measure{d.Name, m, 1})
				}
			}
		}
	}
	return out
}

func bruteTakes(s Shelf, from string, volume float64) []Measure {
	var out []Measure
	for _, d := range s.Devices {
		switch d.Kind {
		case OneMark, Dropper:
			most := s.Limits.Deliveries
			if d.Kind == Dropper {
				most = 60
			}
			for n := 1; n <= most; n++ {
				if math.Abs(float64(n)*d.Nominal/volume-1) < 0.3 {
					out = append(out, Measure{d.Name, d.Nominal, n})
				}
			}
		case Piston, Syringe:
			for n := 1; n <= s.Limits.Deliveries; n++ {
				if v := onStep(volume/float64(n), d.step()); v >= d.smallest() && v <= d.Nominal {
					out = append(out, Measure{d.Name, v, n})
				}
			}
		case Scale:
			if m := onStep(volume*s.densityOf(from), d.step()); m >= d.smallest() && m <= d.Nominal {
				out = append(out, Measure{d.Name, m, 1})
			}
		}
	}
	return out
}

func bruteAllowed(s Shelf, p Preparation) bool {
	if p.Faults(s) != nil {
		return false
	}
	last := p[len(p)-1]
	if s.device(last.Take.Device).Kind != Scale && last.takenVolume(s) < s.Limits.Smallest {
		return false
	}
	st := valued(s, p).Standards[0]
	return 1-st.Salinity/s.Matrix.Salinity <= s.Limits.SalinityCut && math.Abs(st.Value.Value/last.Asked-1) <= s.Limits.LevelWithin
}

// The search is never worse than brute force over random amounts. The margin
// is what a random intermediate may gain over the search's grid of 16 a decade.
func TestSearchIsNeverWorseThanBruteForce(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	compared := 0
	for range 16 {
		s := randomShelf(r, 3)
		s.Stocks[0].Left = 0
		levels := []float64{1.3, 9}
		brute := bruteForce(s, levels, r)
		plan, faults := Search(s, levels)
		switch {
		case faults != nil && math.IsInf(brute, 1):
		case faults != nil:
			t.Errorf("brute force finds a plan of %v on %v, the search none: %v", brute, s.Devices, faults)
		default:
			compared++
			if plan.Score > brute+0.01 {
				t.Errorf("search %.4f, brute force %.4f on %v", plan.Score, brute, s.Devices)
			}
		}
	}
	if compared < 8 {
		t.Errorf("only %d shelves compared", compared)
	}
}

func TestSearchKeepsToItsLimits(t *testing.T) {
	free, faults := Search(benchShelf(), tenLevels)
	if faults != nil {
		t.Fatal(faults)
	}
	s := benchShelf()
	s.Stocks[0].Left = 35 // the free plan takes more
	s.Limits.Steps = 24
	s.Limits.MatrixLeft = 3000
	if free.Set.StockUsed["bottle A"] < 35 {
		t.Fatalf("the free plan takes only %v mL: the test shows nothing", free.Set.StockUsed)
	}
	plan, faults := Search(s, tenLevels)
	if faults != nil {
		t.Fatal(faults)
	}
	if used := plan.Set.StockUsed["bottle A"]; used > 35 || plan.Steps > 24 || plan.Set.MatrixUsed > 3000 {
		t.Errorf("%v mL of stock, %d steps, %v mL of matrix", used, plan.Steps, plan.Set.MatrixUsed)
	}
	if plan.Score < free.Score {
		t.Errorf("with less to hand the plan is better: %v, %v", plan.Score, free.Score)
	}
	for _, st := range plan.Set.Standards {
		if 1-st.Salinity/35 > s.Limits.SalinityCut+1e-9 {
			t.Errorf("%s: salinity %v", st.Solution.Name, st.Salinity)
		}
	}
	s.Stocks[0].Left = 5
	if _, faults = Search(s, tenLevels); faults == nil {
		t.Error("5 mL of stock make ten times 250 mL")
	}
}

// Very weak levels need two intermediates, one made from the other.
func TestSearchGoesDeeper(t *testing.T) {
	s := benchShelf()
	s.Matrix.Background, s.Matrix.U = 0.001, 0.001
	s.Devices = []Device{{Name: "flask", Kind: Flask, Nominal: 100, Class: "A"}, {Name: "pipette", Kind: OneMark, Nominal: 1, Class: "A"}}
	s.Limits.Volume, s.Limits.Deliveries, s.Limits.LevelWithin = 100, 1, 0.15
	levels := []float64{0.0011} // 1000 → 10 → 0.1 → 0.001 and the background
	s.Limits.Intermediates = 1
	if _, faults := Search(s, levels); faults == nil {
		t.Fatal("one intermediate reaches a millionth")
	}
	s.Limits.Intermediates, s.Limits.Added = 2, true
	plan, faults := Search(s, levels)
	if faults != nil {
		t.Fatal(faults)
	}
	if len(plan.Preparation) != 3 || plan.Preparation[1].From != plan.Preparation[0].Name {
		t.Errorf("plan %v", plan.Preparation)
	}
}

func TestAlternativesAndBuying(t *testing.T) {
	s := benchShelf()
	s.Devices = s.Devices[:5] // no scale
	levels := []float64{0, 3, 6, 12, 40}
	plan, faults := Search(s, levels)
	if faults != nil {
		t.Fatal(faults)
	}
	next := NextBest(s, levels, plan)
	if next == nil || next.Plan.Score < plan.Score {
		t.Errorf("next best: %v", next)
	}
	buying := Buying(s, levels, plan)
	if len(buying) == 0 {
		t.Fatal("nothing to buy would help")
	}
	for i, b := range buying {
		if b.Ratio > 0.99 || i > 0 && b.Ratio < buying[i-1].Ratio {
			t.Errorf("%s: %v", b.What, b.Ratio)
		}
	}
	if share := BackgroundBound(plan); !(share > 0 && share < 1) {
		t.Errorf("share of the background %v", share)
	}
}

func TestSearchIsTheSameTwice(t *testing.T) {
	a, _ := Search(benchShelf(), tenLevels)
	b, _ := Search(benchShelf(), []float64{40, 30, 20, 16, 12, 9, 6, 3, 1.5, 0.6, 0})
	if fmt.Sprint(a.Preparation) != fmt.Sprint(b.Preparation) {
		t.Errorf("the order of the levels changes the plan:\n%v\n%v", a.Preparation, b.Preparation)
	}
}

func TestSearchSaysWhatWouldBeRight(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(*Shelf)
		levels []float64
		want   string
	}{
		{"above the stock", nil, []float64{1200}, "a stronger stock"},
		{"below the background", nil, []float64{0.05}, "a cleaner matrix"},
		{"twice", nil, []float64{3, 3}, "each level once"},
		{"none", nil, nil, "the concentrations to make"},
		{"negative", nil, []float64{-1}, "0 or more"},
		{"no number", nil, []float64{math.NaN()}, "0 or more"},
		{"salinity", func(s *Shelf) { s.Limits.SalinityCut = 0.01 }, []float64{40}, "a stock of 4000 or more"},
		{"too little", func(s *Shelf) { s.Stocks[0].Left = 1 }, []float64{10, 20}, "more stock"},
		{"no vessel", func(s *Shelf) { s.Limits.Volume = 5000 }, []float64{10}, "a flask of that size"},
		{"no small pipette", func(s *Shelf) {
			s.Devices = []Device{{Name: "f", Kind: Flask, Nominal: 250, Class: "A"}, {Name: "p", Kind: OneMark, Nominal: 10, Class: "A"}}
			s.Limits.Intermediates = 0
		}, []float64{1}, "a smaller pipette"},
		{"no closeness", func(s *Shelf) {
			s.Devices = []Device{{Name: "f", Kind: Flask, Nominal: 250, Class: "A"}, {Name: "p", Kind: OneMark, Nominal: 10, Class: "A"}}
			s.Limits.Intermediates = 0
		}, []float64{34}, "larger level_within"},
	} {
		s := benchShelf()
		if c.change != nil {
			c.change(&s)
		}
		_, faults := Search(s, c.levels)
		if faults == nil || !strings.Contains(faults.Error(), c.want) {
			t.Errorf("%s: %v, want a text with %q", c.what, faults, c.want)
		}
	}
}

func BenchmarkSearchTenLevels(b *testing.B) {
	s := benchShelf()
	for range b.N {
		if _, faults := Search(s, tenLevels); faults != nil {
			b.Fatal(faults)
		}
	}
}

func BenchmarkSearchTwoIntermediates(b *testing.B) {
	s := benchShelf()
	s.Limits.Intermediates = 2
	for range b.N {
		if _, faults := Search(s, tenLevels); faults != nil {
			b.Fatal(faults)
		}
	}
}
