package standards

import (
	"context"
	"fmt"
	"math"

	"knownwater"
	"knownwater/science/known"
	"knownwater/science/reading"
)

// Additions are readings of a salt water to which known amounts were added, by
// one method, on that method's scale.
type Additions struct {
	Method int64 // Method.ID
	Rows   []AdditionRow
	Zero   float64 // what the method reads in pure water that holds none
	UZero  float64 // its standard uncertainty; 0: not known
}

// AdditionRow is one reading: what was added (0: nothing), and what was read, in
// reading notation.
type AdditionRow struct {
	Added float64
	Text  string
}

// mostAdditions is more readings than anybody takes for one background.
const mostAdditions = 2000

// EstimateBackground estimates what a water holds itself from readings after
// known additions; nothing is kept.
func (b *Operations) EstimateBackground(ctx context.Context, a Additions) (out known.Background, m knownwater.MethodVersion, err error) {
	err = b.read(ctx, func(t tx) error {
		out, m, err = t.background(a)
		return err
	})
	return out, m, err
}

func (t tx) background(a Additions) (out known.Background, m knownwater.MethodVersion, err error) {
	if m, err = t.from.Method(t.Tx, a.Method); err != nil {
		return out, m, err
	}
	var fs knownwater.Faults
	wrong := func(row int, column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Row: row, Column: column, Found: found, Want: want}.Of(values...))
	}
	if len(a.Rows) > mostAdditions {
		wrong(0, "additions", "%d readings", "at most %d", len(a.Rows), mostAdditions)
	}
	if math.IsNaN(a.Zero) || math.IsInf(a.Zero, 0) || !(a.UZero >= 0) || math.IsInf(a.UZero, 0) {
		wrong(0, "zero", fmt.Sprintf("%g ± %g", a.Zero, a.UZero), "what the method reads in pure water, and its ± from 0 up")
	}
	var list []known.Addition
	for i, r := range a.Rows {
		seen, err := reading.Understand(r.Text, m.Spec.Method())
		switch {
		case err != nil:
			wrong(i+1, "additions", fmt.Sprintf("%q: %v", r.Text, err), "what was added, and what was read, such as: 2 2.33")
		case !(r.Added >= 0) || math.IsInf(r.Added, 0):
			wrong(i+1, "additions", fmt.Sprint(r.Added), "an added concentration from 0 up")
		}
		list = append(list, known.Addition{Added: r.Added, Reading: seen})
	}
	if len(fs) > 0 {
		return out, m, fs
	}
	return known.Additions(list, a.Zero, a.UZero), m, nil
}

// KeepBackground estimates what a water holds and keeps it as the water's next
// version. Owner.
func (b *Operations) KeepBackground(ctx context.Context, by knownwater.Who, water int64, a Additions) (x Item, err error) {
	if err := by.MustOwn(); err != nil {
		return Item{}, err
	}
	err = b.write(ctx, func(t tx) error {
		old, err := items.Latest(t.Tx, water)
		if err != nil {
			return err
		}
		if old.Spec.Kind != WaterItem {
			return knownwater.Refuse(knownwater.WrongState, "%s is not a salt water", old.Spec.Name)
		}
		est, m, err := t.background(a)
		if err != nil {
			return err
		}
		if math.IsNaN(est.Value) || !(est.U > 0) {
			return knownwater.Faults{{Column: "additions", Found: "the background cannot be told from these readings", Want: "at least three readings at two different additions, rising with what was added"}}
		}
		spec := old.Spec.withBackground(BackgroundSpec{Scale: m.Spec.Scale, Value: math.Max(0, est.Value), U: est.U, How: "standard addition"})
		if _, err := t.putItem(by, water, spec, fmt.Sprintf("standard additions: %d readings by %s", est.N, m.Spec.Name)); err != nil {
			return err
		}
		x, err = t.item(water)
		return err
	})
	return x, err
}

// withBackground is the water with what it holds of one analyte put anew.
func (s ItemSpec) withBackground(b BackgroundSpec) ItemSpec {
	w := *s.Water
	w.Backgrounds = nil
	for _, x := range s.Water.Backgrounds {
		if x.Scale.Analyte != b.Scale.Analyte {
			w.Backgrounds = append(w.Backgrounds, x)
		}
	}
	w.Backgrounds = append(w.Backgrounds, b)
	s.Water = &w
	return s
}
