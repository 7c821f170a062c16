package known

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"knownwater/science/note"
	"knownwater/science/unit"
)

func TestShelfFaultsSayWhatWouldBeRight(t *testing.T) {
	weighed := func(s *Shelf, w Weighed) { s.Stocks[0] = Stock{Name: "w", Salt: &w} }
	good := Weighed{Salt: "KNO3", Mass: 1.6306, Scale: "scale", Purity: 0.995, PurityWithin: 0.005, Flask: "flask 250"}
	for _, c := range []struct {
		what   string
		change func(*Shelf)
		want   string
	}{
		{"empty", func(s *Shelf) { s.Devices, s.Stocks = nil, nil }, "one [[device]] each"},
		{"no stock", func(s *Shelf) { s.Stocks = nil }, "at least one certified or weighed stock"},
		{"unit", func(s *Shelf) { s.Scale.Unit = "mg" }, "mg/L"},
		{"other analyte", func(s *Shelf) { s.Stocks[0].Scale.Analyte = "nitrite" }, "a stock of nitrate"},
		{"wrong basis", func(s *Shelf) { s.Stocks[0].Scale.Basis = "P" }, "NO3 or N is needed"},
		{"exact stock", func(s *Shelf) { s.Stocks[0].U = 0 }, "no stock is exact"},
		{"u in percent", func(s *Shelf) { s.Stocks[0].Value, s.Stocks[0].U = 1, 0.5 }, "a standard uncertainty in the stock's unit"},
		{"no value", func(s *Shelf) { s.Stocks[0].Value = math.NaN() }, "above 0"},
		{"purity over 1", func(s *Shelf) { w := good; w.Purity = 99.5; weighed(s, w) }, "0.995 for 99.5 %"},
		{"purity 0", func(s *Shelf) { w := good; w.Purity = 0; weighed(s, w) }, "such as 0.995"},
		{"salt", func(s *Shelf) { w := good; w.Salt = "NaCl"; weighed(s, w) }, "KNO3 or NaNO3"},
		{"salt of another analyte", func(s *Shelf) { w := good; w.Salt = "KH2PO4"; weighed(s, w) }, "KNO3 or NaNO3"},
		{"flask", func(s *Shelf) { w := good; w.Flask = "scale"; weighed(s, w) }, "a flask on the shelf"},
		{"scale", func(s *Shelf) { w := good; w.Scale = "nothing"; weighed(s, w) }, "a scale on the shelf"},
		{"too heavy", func(s *Shelf) { w := good; w.Mass = 600; weighed(s, w) }, "up to the scale's 500"},
		{"device kind", func(s *Shelf) { s.Devices[0].Kind = "bucket" }, "flask, pipette"},
		{"device size", func(s *Shelf) { s.Devices[0].Nominal = 0 }, "above 0"},
		{"unlisted size", func(s *Shelf) { s.Devices[0].Nominal = 123 }, "or its tolerance"},
		{"class", func(s *Shelf) { s.Devices[0].Class = "C" }, "class A or B"},
		{"few weighings", func(s *Shelf) {
			s.Devices[3].Check = &VolumeCheck{Setting: 5, Weights: []float64{5, 5}, Temperature: 20}
		}, "at least 3"},
		{"weights of another setting", func(s *Shelf) {
			s.Devices[3].Check = &VolumeCheck{Setting: 5, Weights: []float64{2, 2, 2}, Temperature: 20}
		}, "close to the setting"},
		{"two of a name", func(s *Shelf) { s.Devices[1].Name = "flask 100" }, "a name of its own"},
		{"exact background", func(s *Shelf) { s.Matrix.U = 0 }, "no salt matrix holds exactly"},
		{"negative background", func(s *Shelf) { s.Matrix.Background = -1 }, "0 or more"},
		{"salinity", func(s *Shelf) { s.Matrix.Salinity = 1.025 * 1000 }, "practical salinity"},
		{"limits", func(s *Shelf) { s.Limits.LevelWithin = 2 }, "0.02 for 2 %"},
		{"all evaporated", func(s *Shelf) { s.Stocks[0].Loss, s.Stocks[0].LossFrom = 100, 100 }, "less than half"},
	} {
		s := benchShelf()
		c.change(&s)
		faults, _ := s.Examine(someDay)
		if faults == nil || !strings.Contains(faults.Error(), c.want) {
			t.Errorf("%s: %v, want a text with %q", c.what, faults, c.want)
		}
	}
	s := benchShelf()
	weighed(&s, good)
	if faults, _ := s.Examine(someDay); faults != nil {
		t.Errorf("a good shelf: %v", faults)
	}
}

func TestShelfDoubts(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(*Shelf)
		want   string
	}{
		{"expired", func(s *Shelf) { s.Stocks[0].Expires = someDay.AddDate(0, 0, -1) }, "stock-expired 2026-02-28"},
		{"expires today: not yet expired", func(s *Shelf) { s.Stocks[0].Expires = someDay }, "stock-expires 2026-03-01"},
		{"old", func(s *Shelf) { s.Stocks[0].Expires = s.Stocks[0].Made; s.Stocks[0].Made = someDay.AddDate(-1, 0, -2) }, "stock-old"},
		{"basis", func(s *Shelf) { s.Stocks[0].Scale.Basis = "N" }, "bases-differ 4426"},
		{"class unknown", func(s *Shelf) { s.Devices[0].Class = "" }, "no-class-mark flask 100"},
		{"bold guess", func(s *Shelf) { s.Matrix = Matrix{Name: "m", Salinity: 35, Background: 0.4, U: 0.05, How: "guess"} }, "background-guessed"},
		{"little salt", func(s *Shelf) {
			s.Stocks[0] = Stock{Name: "w", Made: someDay, Salt: &Weighed{Salt: "KNO3", Mass: 0.16, Scale: "scale", Purity: 1, Flask: "flask 100"}}
		}, "little-salt"},
	} {
		s := benchShelf()
		c.change(&s)
		faults, notes := s.Examine(someDay)
		code, value, _ := strings.Cut(c.want, " ")
		if faults != nil || !saysCode(notes, code) || !strings.Contains(fmt.Sprint(notes), value) {
			t.Errorf("%s: %v, notes %v, want %q", c.what, faults, notes, c.want)
		}
	}
	for what, change := range map[string]func(*Shelf){
		"a good shelf":                func(*Shelf) {},
		"a guess that owns its doubt": func(s *Shelf) { s.Matrix = Matrix{Name: "m", Salinity: 35, Background: 0.4, U: 0.3, How: "guess"} },
		"a background that is sure, and measured": func(s *Shelf) {
			s.Matrix = Matrix{Name: "m", Salinity: 35, Background: 0.4, U: 0.05, How: "additions"}
		},
		"no class, but a tolerance": func(s *Shelf) { s.Devices[0].Class, s.Devices[0].Tolerance = "", 0.2 },
	} {
		s := benchShelf()
		change(&s)
		if faults, notes := s.Examine(someDay); faults != nil || len(notes) > 0 {
			t.Errorf("%s: %v, %v", what, faults, notes)
		}
	}
}

func TestPreparationFaultsSayWhatWouldBeRight(t *testing.T) {
	good := Solution{Name: "S", From: "bottle A", Take: Measure{"piston 5", 2.5, 1}, Make: Measure{"flask 250", 250, 1}, In: InMatrix, Standard: true}
	for _, c := range []struct {
		what   string
		change func(*Solution)
		want   string
	}{
		{"parent", func(x *Solution) { x.From = "bottle B" }, "a stock on the shelf or a solution further up"},
		{"device", func(x *Solution) { x.Take.Device = "spoon" }, "a pipette, syringe, dropper or scale"},
		{"take with a flask", func(x *Solution) { x.Take.Device = "flask 100" }, "a pipette, syringe, dropper or scale"},
		{"too much at once", func(x *Solution) { x.Take.Amount = 6 }, "0.5 to 5 mL"},
		{"too little", func(x *Solution) { x.Take.Amount = 0.1 }, "0.5 to 5 mL"},
		{"not a number", func(x *Solution) { x.Take.Amount = math.NaN() }, "above 0"},
		{"times", func(x *Solution) { x.Take.Times = 0 }, "1 or more"},
		{"one mark", func(x *Solution) { x.Take = Measure{"pipette 10", 5, 1} }, "this pipette delivers 10 mL"},
		{"fill into a pipette", func(x *Solution) { x.Make.Device = "piston 5" }, "a flask or a scale"},
		{"weighed whole", func(x *Solution) { x.Make = Measure{"scale", 0, 1} }, "grams of the whole"},
		{"more in than whole", func(x *Solution) { x.Take = Measure{"piston 5", 5, 60} }, "the whole is more"},
		{"diluent", func(x *Solution) { x.In = "brine" }, "matrix or water"},
		{"standard in water", func(x *Solution) { x.In = InWater }, "wrong water"},
		{"name of a stock", func(x *Solution) { x.Name = "bottle A" }, "a name of its own"},
	} {
		x := good
		c.change(&x)
		faults := Preparation{x}.Faults(benchShelf())
		if faults == nil || !strings.Contains(faults.Error(), c.want) {
			t.Errorf("%s: %v, want a text with %q", c.what, faults, c.want)
		}
	}
	s := benchShelf()
	s.Stocks[0].Left = 2
	if faults := (Preparation{good}).Faults(s); faults == nil || !strings.Contains(faults.Error(), "2 mL are left") {
		t.Errorf("more than the bottle holds: %v", faults)
	}
	if faults := (Preparation{}).Faults(s); faults == nil {
		t.Error("nothing prepared passes")
	}
}

func TestCodesTellNothing(t *testing.T) {
	plan, faults := Search(benchShelf(), tenLevels)
	if faults != nil {
		t.Fatal(faults)
	}
	coded := plan.Preparation.Coded(rand.New(rand.NewPCG(1, 1)))
	seen := map[string]bool{}
	for _, x := range coded {
		if x.Standard != (x.Code != "") || seen[x.Code] && x.Standard {
			t.Errorf("%s has the code %q", x.Name, x.Code)
		}
		seen[x.Code] = true
	}
	if plan.Preparation[1].Code != "" {
		t.Error("the argument was changed")
	}
}

func TestSheetCarriesCautionsAndAmounts(t *testing.T) {
	s := benchShelf()
	s.Stocks = append(s.Stocks, Stock{Name: "w", Salt: &Weighed{Salt: "KNO3", Mass: 1, Scale: "scale", Purity: 1, Flask: "flask 100"}})
	plan, faults := Search(benchShelf(), tenLevels)
	if faults != nil {
		t.Fatal(faults)
	}
	sheet := MakeSheet(s, plan.Preparation)
	for _, want := range []string{"never-into-a-tank", "not-for-drinking", "label-hazard", "waste-by-local-rules", "feeds-fires", "salt-to-dry"} {
		if !has(sheet.Cautions, want) {
			t.Errorf("no caution %q", want)
		}
	}
	for salt, want := range map[string]string{"NaNO2": "toxic", "CaCO3": "acid-into-water"} {
		analyte := map[string]string{"NaNO2": "nitrite", "CaCO3": "calcium"}[salt]
		other := Shelf{Scale: unit.Scale{Analyte: analyte}, Stocks: []Stock{{Name: "w", Salt: &Weighed{Salt: salt}}}}
		if said := cautions(other); !has(said, want) {
			t.Errorf("%s: no caution %q in %v", salt, want, said)
		}
	}
	if len(sheet.Rows) != len(plan.Preparation) {
		t.Fatalf("%d rows for %d solutions", len(sheet.Rows), len(plan.Preparation))
	}
	for i, row := range sheet.Rows {
		x := plan.Preparation[i]
		if x.From != "" && (!has(row.Steps, "turn-over") || !has(row.Steps, "rinse-vessel") && !has(row.Steps, "take-dry-bottle")) {
			t.Errorf("%s: %v", row.Name, row.Steps)
		}
		if label := row.Steps[len(row.Steps)-1]; x.Standard && label.Code != "label-not-value" { // it has no code yet
			t.Errorf("%s: the label says %v", row.Name, label)
		}
	}
}

func has(notes []note.Note, code string) bool {
	return slices.ContainsFunc(notes, func(n note.Note) bool { return n.Code == code })
}
