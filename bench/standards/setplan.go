package standards

import (
	"context"

	"knownwater"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// Wanted says which standards are wanted, and from what.
type Wanted struct {
	Name        string
	Scale       unit.Scale // of the levels
	Levels      []float64  // 0 is the water itself: a blank
	Water       int64      // Item.ID
	Stocks      []int64    // Item.ID; none: all of the analyte that are on the shelf
	Temperature float64    // °C of all liquids
	Within      float64    // ± °C
	Limits      LimitsSpec
}

// StandardsPlan is the best way to make the wanted standards.
type StandardsPlan struct {
	Shelf  ShelfSpec
	Plan   known.Plan
	Doubts []note.Note
	Next   *known.Alternative  // the next best, where asked for
	Buying []known.Alternative // what one more device would gain, where asked for
}

// shelfFor picks from the shelf what a plan is made from.
func (t tx) shelfFor(w Wanted) (ShelfSpec, []note.Note, error) {
	items, err := t.shelf()
	if err != nil {
		return ShelfSpec{}, nil, err
	}
	out := ShelfSpec{Scale: w.Scale, Temperature: w.Temperature, Within: w.Within, Limits: w.Limits}
	if scale, err := unit.Parse(w.Scale.Analyte, w.Scale.Unit, w.Scale.Basis); err == nil {
		out.Scale = scale
	}
	wanted := map[int64]bool{}
	for _, id := range w.Stocks {
		wanted[id] = true
	}
	var doubts []note.Note
	for _, x := range items {
		ref := ShelfRef{Item: x.ID, Version: x.VersionID, Spec: x.Spec}
		switch {
		case x.Retired:
		case x.Spec.Kind == DeviceItem:
			out.Devices = append(out.Devices, ref)
		case x.Spec.Kind == WaterItem && x.ID == w.Water:
			out.Water = ref
		case x.Spec.Kind == StockItem && x.Spec.Stock.Scale.Analyte == out.Scale.Analyte && (len(wanted) == 0 || wanted[x.ID]):
			if x.Left == 0 {
				doubts = append(doubts, x.Doubts...)
				continue
			}
			if x.Left > 0 {
				ref.Left = x.Left
			}
			out.Stocks = append(out.Stocks, ref)
		}
	}
	if len(out.Stocks) == 0 {
		return out, doubts, knownwater.Faults{knownwater.Fault{Column: "stocks", Found: "no stock of %s that is not used up", Want: "a certified or weighed stock on the shelf"}.Of(out.Scale.Analyte)}
	}
	return out, doubts, nil
}

// PlanStandards finds the dilutions with the smallest uncertainty that the
// shelf allows. With more it adds the next best and what buying one device would
// gain, which takes some twenty times as long.
func (b *Operations) PlanStandards(ctx context.Context, w Wanted, more bool) (out StandardsPlan, err error) {
	err = b.read(ctx, func(t tx) error {
		out, err = t.planStandards(w)
		return err
	})
	if !more || out.Shelf.Scale.Analyte == "" || len(out.Shelf.faults()) > 0 {
		return out, err
	}
	shelf := out.Shelf.Known()
	if err == nil {
		out.Next = known.NextBest(shelf, w.Levels, out.Plan)
	}
	out.Buying = known.Buying(shelf, w.Levels, out.Plan)
	return out, err
}

func (t tx) planStandards(w Wanted) (out StandardsPlan, err error) {
	out.Shelf, out.Doubts, err = t.shelfFor(w)
	if err != nil {
		return out, err
	}
	if fs := out.Shelf.faults(); len(fs) > 0 {
		return out, fs
	}
	shelf := out.Shelf.Known()
	plan, fs := known.Search(shelf, w.Levels)
	if len(fs) > 0 {
		return out, fs
	}
	out.Plan = plan
	planned := SetSpec{Shelf: out.Shelf, Solutions: solutionsOf(plan.Preparation)}
	out.Doubts = append(out.Doubts, planned.doubts(plan.Set, t.Now)...)
	return out, nil
}
