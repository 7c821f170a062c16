package bench

import (
	"knownwater/science/known"
	"knownwater/science/unit"
)

// shelved puts on the shelf what docs/howto-standards.md has on its bench.
func (s *shed) shelved() (stock, water Item) {
	s.t.Helper()
	put := func(spec ItemSpec) Item {
		s.t.Helper()
		return must(s.SaveItem(ctx, owner, 0, spec, ""))(s.t)
	}
	put(ItemSpec{Kind: DeviceItem, Name: "flask 250", Device: &DeviceSpec{Kind: known.Flask, Nominal: 250, Class: "A"}})
	put(ItemSpec{Kind: DeviceItem, Name: "pipette 5", Device: &DeviceSpec{Kind: known.Piston, Nominal: 5, Smallest: 0.5}})
	put(ItemSpec{Kind: DeviceItem, Name: "scale", Device: &DeviceSpec{Kind: known.Scale, Nominal: 500, Step: 0.01}})
	water = put(ItemSpec{Kind: WaterItem, Name: "salt mix 7", Water: &WaterSpec{Salinity: 35,
		Backgrounds: []BackgroundSpec{{Scale: nitrate, Value: 0.259, U: 0.028, How: "standard addition"}}}})
	stock = put(ItemSpec{Kind: StockItem, Name: "bottle A", Stock: &StockSpec{Scale: nitrate, Value: 1000, Expanded: 6, K: 2, Expires: "2027-06-30", Left: 250}})
	return stock, water
}

// wanted are the standards of docs/howto-standards.md.
func (s *shed) wanted() Wanted {
	s.t.Helper()
	limits := DefaultLimits()
	limits.Volume, limits.SalinityCut = 250, 0.05
	w := Wanted{Name: "spring set", Scale: nitrate, Levels: []float64{0, 0.6, 3, 12, 40}, Temperature: 22, Within: 3, Limits: limits}
	for _, x := range must(s.Shelf(ctx))(s.t) {
		if x.Spec.Kind == WaterItem {
			w.Water = x.ID
		}
	}
	return w
}

// asPlanned is what was taken where everything went as planned.
func asPlanned(s SetSpec) (out []Made) {
	for _, x := range s.Solutions {
		x.Take.Planned, x.Make.Planned = 0, 0 // the bench knows
		out = append(out, Made{Solution: x.Name, Take: x.Take, Make: x.Make, MadeAt: "2026-03-01 09:30", MadeBy: "Ines"})
	}
	return out
}

// made is a set that was made as planned.
func (s *shed) made() PreparedSet {
	s.t.Helper()
	set := must(s.NewSet(ctx, owner, s.wanted()))(s.t)
	return must(s.WriteDown(ctx, owner, set.ID, asPlanned(set.Spec), "", "", ""))(s.t)
}

var phosphate = unit.Scale{Analyte: "phosphate", Unit: "mg/L", Basis: "PO4"}
