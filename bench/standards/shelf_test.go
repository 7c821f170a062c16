package standards_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/standards"
	"knownwater/internal/benchtest"
	"knownwater/report"
	"knownwater/science/known"
	"knownwater/science/unit"
)

func TestShelfKeepsVersions(t *testing.T) {
	s := benchtest.New(t)
	stock, _ := s.Shelved()
	spec := stock.Spec
	changed := *spec.Stock
	changed.Expanded = 8
	spec.Stock = &changed
	_, err := s.SaveItem(ctx, benchtest.Owner, stock.ID, spec, " ")
	benchtest.WantFault(t, err, "why")
	next := benchtest.Must(s.SaveItem(ctx, benchtest.Owner, stock.ID, spec, "the second certificate"))(t)
	if next.Version != 2 || !next.Latest || next.Spec.Stock.StandardU() != 4 {
		t.Errorf("next version: %+v", next)
	}
	if same := benchtest.Must(s.SaveItem(ctx, benchtest.Owner, stock.ID, spec, "nothing new"))(t); same.Version != 2 {
		t.Errorf("an unchanged description made version %d", same.Version)
	}
	versions := benchtest.Must(s.ItemVersions(ctx, stock.ID))(t)
	if len(versions) != 2 || versions[1].Spec.Stock.Expanded != 6 || versions[0].Why != "the second certificate" {
		t.Errorf("versions: %+v", versions)
	}
	if err := benchtest.Exec(t, s.Path, "update shelf_version set name = 'x'"); err == nil {
		t.Error("a version was changed in place")
	}
	_, err = s.SaveItem(ctx, s.Ines, 0, spec, "")
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
	_, err = s.SaveItem(ctx, benchtest.Owner, 0, spec, "")
	benchtest.WantFault(t, err, "name")
	if err := s.RetireItem(ctx, benchtest.Owner, stock.ID, true); err != nil {
		t.Fatal(err)
	}
	benchtest.Must(s.SaveItem(ctx, benchtest.Owner, 0, spec, ""))(t)
	benchtest.WantRefusal(t, s.RetireItem(ctx, benchtest.Owner, stock.ID, false), knownwater.WrongState)
}

func TestShelfFaultsNameTheirField(t *testing.T) {
	s := benchtest.New(t)
	s.Shelved()
	device := func(d standards.DeviceSpec) standards.ItemSpec {
		return standards.ItemSpec{Kind: standards.DeviceItem, Name: "d", Device: &d}
	}
	stock := func(x standards.StockSpec) standards.ItemSpec {
		return standards.ItemSpec{Kind: standards.StockItem, Name: "s", Stock: &x}
	}
	water := func(w standards.WaterSpec) standards.ItemSpec {
		return standards.ItemSpec{Kind: standards.WaterItem, Name: "w", Water: &w}
	}
	weighed := func(w standards.WeighedSpec) standards.ItemSpec {
		return stock(standards.StockSpec{Scale: benchtest.Nitrate, Salt: &w})
	}
	good := standards.WeighedSpec{Salt: "KNO3", Mass: 1.63, Purity: 0.995, Scale: "scale", Flask: "flask 250"}
	for name, c := range map[string]struct {
		spec   standards.ItemSpec
		column string
	}{
		"no name":      {standards.ItemSpec{Kind: standards.DeviceItem, Device: &standards.DeviceSpec{Kind: known.Flask, Nominal: 100, Class: "A"}}, "name"},
		"no kind":      {standards.ItemSpec{Name: "x"}, "kind"},
		"wrong kind":   {standards.ItemSpec{Name: "x", Kind: standards.StockItem, Device: &standards.DeviceSpec{}}, "kind"},
		"bucket":       {device(standards.DeviceSpec{Kind: "bucket", Nominal: 1}), "kind"},
		"no size":      {device(standards.DeviceSpec{Kind: known.Flask}), "nominal"},
		"odd flask":    {device(standards.DeviceSpec{Kind: known.Flask, Nominal: 123, Class: "A"}), "class"},
		"step":         {device(standards.DeviceSpec{Kind: known.Scale, Nominal: 100, Step: -1}), "step"},
		"infinite":     {device(standards.DeviceSpec{Kind: known.Scale, Nominal: math.Inf(1)}), "nominal"},
		"few weights":  {device(standards.DeviceSpec{Kind: known.Flask, Nominal: 100, Class: "A", Check: &standards.OwnCheck{Setting: 100, Weights: []float64{99}}}), "check"},
		"exact stock":  {stock(standards.StockSpec{Scale: benchtest.Nitrate, Value: 1000}), "u"},
		"no value":     {stock(standards.StockSpec{Scale: benchtest.Nitrate, U: 3}), "value"},
		"both us":      {stock(standards.StockSpec{Scale: benchtest.Nitrate, Value: 1000, U: 3, Expanded: 6, K: 2}), "u"},
		"U without k":  {stock(standards.StockSpec{Scale: benchtest.Nitrate, Value: 1000, Expanded: 6}), "k"},
		"no unit":      {stock(standards.StockSpec{Scale: unit.Scale{Analyte: "nitrate", Unit: "spoons"}, Value: 1, U: 0.1}), "unit"},
		"no day":       {stock(standards.StockSpec{Scale: benchtest.Nitrate, Value: 1000, U: 3, Expires: "next spring"}), "expires"},
		"all lost":     {stock(standards.StockSpec{Scale: benchtest.Nitrate, Value: 1000, U: 3, Loss: 90, LossFrom: 100}), "loss"},
		"purity":       {weighed(standards.WeighedSpec{Salt: "KNO3", Mass: 1, Purity: 99.5, Scale: "scale", Flask: "flask 250"}), "purity"},
		"salt":         {weighed(standards.WeighedSpec{Salt: "NaCl", Mass: 1, Purity: 1, Scale: "scale", Flask: "flask 250"}), "salt"},
		"flask":        {weighed(standards.WeighedSpec{Salt: "KNO3", Mass: 1, Purity: 1, Scale: "scale", Flask: "no flask"}), "flask"},
		"salinity":     {water(standards.WaterSpec{Salinity: 1025}), "salinity"},
		"0 ± 0":        {water(standards.WaterSpec{Salinity: 35, Backgrounds: []standards.BackgroundSpec{{Scale: benchtest.Nitrate}}}), "u"},
		"below 0":      {water(standards.WaterSpec{Salinity: 35, Backgrounds: []standards.BackgroundSpec{{Scale: benchtest.Nitrate, Value: -1, U: 1}}}), "background"},
		"twice":        {water(standards.WaterSpec{Salinity: 35, Backgrounds: []standards.BackgroundSpec{{benchtest.Nitrate, 1, 1, ""}, {benchtest.Nitrate, 2, 1, ""}}}), "analyte"},
		"wrong scale":  {water(standards.WaterSpec{Salinity: 35, Backgrounds: []standards.BackgroundSpec{{Scale: unit.Scale{Analyte: "x"}, U: 1}}}), "unit"},
		"value & salt": {stock(standards.StockSpec{Scale: benchtest.Nitrate, Value: 1000, Salt: &good}), "value"},
	} {
		_, err := s.SaveItem(ctx, benchtest.Owner, 0, c.spec, "")
		t.Run(name, func(t *testing.T) { benchtest.WantFault(t, err, c.column) })
	}
	benchtest.Must(s.SaveItem(ctx, benchtest.Owner, 0, weighed(good), ""))(t)
	for _, x := range benchtest.Must(s.Shelf(ctx))(t) {
		if x.Spec.Name == "scale" {
			err := s.RetireItem(ctx, benchtest.Owner, x.ID, true)
			benchtest.WantFault(t, err, "name")
			x.Spec.Name = "the scale"
			_, err = s.SaveItem(ctx, benchtest.Owner, x.ID, x.Spec, "a better name")
			benchtest.WantFault(t, err, "name")
		}
	}
}

func TestExpiredAndUsedUp(t *testing.T) {
	s := benchtest.New(t)
	stock, _ := s.Shelved()
	if len(stock.Doubts) > 0 || stock.Left != 250 {
		t.Errorf("a fresh bottle: %v, %g mL", stock.Doubts, stock.Left)
	}
	set := s.Prepared()
	used := set.Values.StockUsed["bottle A"]
	if left := benchtest.Must(s.Item(ctx, stock.ID))(t).Left; !(math.Abs(left-(250-used)) <= 1e-9*used) || used < 1 {
		t.Errorf("%g mL are left after %g mL", left, used)
	}
	s.Clock.T = time.Date(2027, 6, 15, 8, 0, 0, 0, time.UTC)
	soon := strings.Join(report.SayAll(benchtest.Must(s.Item(ctx, stock.ID))(t).Doubts), "\n")
	s.Clock.T = time.Date(2027, 7, 1, 8, 0, 0, 0, time.UTC)
	late := strings.Join(report.SayAll(benchtest.Must(s.Item(ctx, stock.ID))(t).Doubts), "\n")
	if !strings.Contains(soon, "expires on 2027-06-30") || !strings.Contains(late, "expired on 2027-06-30") {
		t.Errorf("doubts: %s; %s", soon, late)
	}
	plan := benchtest.Must(s.PlanStandards(ctx, s.Wanted(), false))(t)
	if !strings.Contains(strings.Join(report.SayAll(plan.Doubts), "\n"), "expired on 2027-06-30") {
		t.Errorf("a plan from an expired stock: %v", plan.Doubts)
	}
	set = benchtest.Must(s.Set(ctx, set.ID))(t)
	doubts := strings.Join(report.SayAll(set.Doubts), "\n")
	if !strings.Contains(doubts, "expired on 2027-06-30") || !strings.Contains(doubts, "used by 2026-03-08") {
		t.Errorf("a set from an expired stock: %s", doubts)
	}
	little := *stock.Spec.Stock
	little.Left = 1
	spec := stock.Spec
	spec.Stock = &little
	benchtest.Must(s.SaveItem(ctx, benchtest.Owner, stock.ID, spec, "spilled"))(t)
	_, err := s.PlanStandards(ctx, s.Wanted(), false)
	if err == nil || !strings.Contains(err.Error(), "less") && !strings.Contains(err.Error(), "more stock") {
		t.Errorf("planned from 1 mL: %v", err)
	}
}

// TestBottleWeighed: V/(V − loss), twice over, worked by hand: 250 mL lose 2 g,
// then 200 mL lose 1 g: 250/248 · 200/199 = 1.013131…
func TestBottleWeighed(t *testing.T) {
	s := benchtest.New(t)
	stock, _ := s.Shelved()
	benchtest.Must(s.WeighBottle(ctx, benchtest.Owner, stock.ID, standards.BottleWeights{PutBack: 312.4, TakenOut: 310.4, U: 0.02, Volume: 250}))(t)
	x := benchtest.Must(s.WeighBottle(ctx, benchtest.Owner, stock.ID, standards.BottleWeights{PutBack: 260.1, TakenOut: 259.1, U: 0.02, Volume: 200}))(t)
	factor, _ := known.Evaporated(x.Spec.Stock.Loss, 0, x.Spec.Stock.LossFrom)
	if want := 250.0 / 248 * 200 / 199; !(math.Abs(factor-want) <= 1e-9) || x.Version != 3 {
		t.Errorf("raised by %v, want %v; version %d", factor, want, x.Version)
	}
	if u := x.Spec.Stock.ULoss; !(math.Abs(u-200*math.Hypot(0.02/250, 0.02/200)) <= 1e-6) {
		t.Errorf("u of the loss %v", u)
	}
	if !strings.Contains(strings.Join(report.SayAll(x.Doubts), "\n"), "lost 1.3 % of its water") {
		t.Errorf("doubts: %v", x.Doubts)
	}
	_, err := s.WeighBottle(ctx, benchtest.Owner, stock.ID, standards.BottleWeights{PutBack: 100, TakenOut: 101, U: 0.02, Volume: 200})
	benchtest.WantFault(t, err, "taken_out")
	_, err = s.WeighBottle(ctx, s.Ines, stock.ID, standards.BottleWeights{})
	benchtest.WantRefusal(t, err, knownwater.NotAllowed)
}
