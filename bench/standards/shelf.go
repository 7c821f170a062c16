package standards

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/known"
	"knownwater/science/note"
)

// Item is one version of a thing on the shelf. A version never changes: saving
// a changed description makes the next one, and sets that were made keep the
// one they were made with.
type Item struct {
	knownwater.Versioned[ItemSpec]
	Left   float64     // stock: mL left by its own note and what sets made since then took; NaN where nobody noted it
	Doubts []note.Note // on the day: expired, lost water, no date …
}

// shelf is everything on the shelf with what is left and what is doubtful today.
func (t tx) shelf() ([]Item, error) {
	all, err := items.Now(t.Tx)
	if err != nil {
		return nil, err
	}
	taken, err := t.taken(all)
	if err != nil {
		return nil, err
	}
	devices := devicesOf(all)
	for i := range all {
		x := &all[i]
		if x.Spec.Kind == StockItem && x.Spec.Stock.Left > 0 {
			x.Left = max(0, x.Spec.Stock.Left-taken[x.ID])
		}
		fs, doubts := x.Spec.check(devices, t.Now)
		x.Doubts = doubts
		for _, f := range fs { // a stock whose scale was renamed, say
			x.Doubts = append(x.Doubts, note.New("shelf-fault").Name("field", f.Column).Name("found", f.Found).Name("wanted", f.Want))
		}
		if x.Left == 0 {
			x.Doubts = append(x.Doubts, note.New("stock-used-up").Name("stock", x.Spec.Name))
		}
	}
	return all, nil
}

// devicesOf are the devices among things, each name once, live ones first.
func devicesOf(all []Item) (out []known.Device) {
	seen := map[string]bool{}
	for _, x := range all {
		if x.Spec.Kind == DeviceItem && !seen[x.Spec.Name] {
			seen[x.Spec.Name] = true
			out = append(out, x.Spec.Device.known(x.Spec.Name))
		}
	}
	return out
}

// Shelf is everything on the shelf, by kind and name; what is retired last.
func (b *Operations) Shelf(ctx context.Context) (all []Item, err error) {
	err = b.read(ctx, func(t tx) error {
		all, err = t.shelf()
		return err
	})
	return all, err
}

// Item is the latest version of one thing on the shelf.
func (b *Operations) Item(ctx context.Context, id int64) (x Item, err error) {
	err = b.read(ctx, func(t tx) error {
		x, err = t.item(id)
		return err
	})
	return x, err
}

func (t tx) item(id int64) (Item, error) {
	all, err := t.shelf()
	if err != nil {
		return Item{}, err
	}
	for _, x := range all {
		if x.ID == id {
			return x, nil
		}
	}
	return Item{}, knownwater.Refuse(knownwater.NotFound, "there is no such thing on the shelf")
}

// ItemVersions are all versions of one thing, newest first.
func (b *Operations) ItemVersions(ctx context.Context, id int64) (xs []Item, err error) {
	err = b.read(ctx, func(t tx) error {
		xs, err = items.All(t.Tx, id)
		return err
	})
	return xs, err
}

// SaveItem puts a new thing on the shelf (id 0) or makes the next version of
// one; an unchanged description makes nothing new. From the second version on
// it needs a why. Owner.
func (b *Operations) SaveItem(ctx context.Context, by knownwater.Who, id int64, s ItemSpec, why string) (x Item, err error) {
	if err := by.MustOwn(); err != nil {
		return Item{}, err
	}
	s, fs := s.tidied()
	store.Lines(&fs, "why", &why)
	if len(fs) > 0 {
		return Item{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		id, err := t.putItem(by, id, s, why)
		if err != nil {
			return err
		}
		x, err = t.item(id)
		return err
	})
	return x, err
}

// putItem checks and keeps a tidied description.
func (t tx) putItem(by knownwater.Who, id int64, s ItemSpec, why string) (int64, error) {
	shelf, err := t.shelf()
	if err != nil {
		return 0, err
	}
	if fs, _ := s.check(devicesOf(shelf), t.Now); len(fs) > 0 {
		return 0, fs
	}
	if taken, err := items.NameTaken(t.Tx, s.Name, id); err != nil {
		return 0, err
	} else if taken {
		return 0, knownwater.Faults{knownwater.Fault{Column: "name", Found: "something else on the shelf is called %q", Want: "a name of its own"}.Of(s.Name)}
	}
	what := "put " + s.Name + " on the shelf"
	if id != 0 {
		old, err := items.Latest(t.Tx, id)
		if err != nil || reflect.DeepEqual(old.Spec, s) {
			return id, err
		}
		if old.Spec.Kind != s.Kind {
			return 0, knownwater.Refuse(knownwater.WrongState, "%s is a %s and stays one", old.Spec.Name, old.Spec.Kind)
		}
		if old.Spec.Name != s.Name {
			if err := weighedWith(shelf, old.Spec); err != nil {
				return 0, err
			}
		}
		if why, err = store.Reason(why); err != nil {
			return 0, err
		}
		what = "changed " + old.Spec.Name + " on the shelf"
	}
	if id, err = items.Put(t.Tx, by, id, s.Name, s, why, column(id, s.Kind)...); err != nil {
		return 0, err
	}
	return id, t.Note(by, 0, what, why)
}

// weighedWith refuses to take away or rename what a stock was weighed with: its
// value rests on it.
func weighedWith(shelf []Item, s ItemSpec) error {
	for _, x := range shelf {
		if x.Retired || x.Spec.Kind != StockItem || x.Spec.Stock.Salt == nil || s.Kind != DeviceItem {
			continue
		}
		if w := x.Spec.Stock.Salt; w.Scale == s.Name || w.Flask == s.Name {
			return knownwater.Faults{knownwater.Fault{Column: "name", Found: "stock %q was weighed with %q",
				Want: "the device under its name as long as that stock is on the shelf"}.Of(x.Spec.Name, s.Name)}
		}
	}
	return nil
}

// RetireItem takes a thing off the shelf, or puts it back. Owner.
func (b *Operations) RetireItem(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		x, err := t.item(id)
		if err != nil || x.Retired == retired {
			return err
		}
		what := "took " + x.Spec.Name + " off the shelf"
		if retired {
			shelf, err := t.shelf()
			if err == nil {
				err = weighedWith(shelf, x.Spec)
			}
			if err != nil {
				return err
			}
		} else {
			what = "put " + x.Spec.Name + " back on the shelf"
			if taken, err := items.NameTaken(t.Tx, x.Spec.Name, id); err != nil {
				return err
			} else if taken {
				return knownwater.Refuse(knownwater.WrongState, "something else on the shelf is called %q by now", x.Spec.Name)
			}
		}
		if err := items.Retire(t.Tx, id, retired); err != nil {
			return err
		}
		return t.Note(by, 0, what, "")
	})
}

// BottleWeights are a stock bottle's weights when it was put back and when it
// was taken out again, in g: what is missing has evaporated.
type BottleWeights struct {
	PutBack, TakenOut float64
	U                 float64 // standard uncertainty of the difference
	Volume            float64 // mL that were in it
}

// WeighBottle notes what has evaporated from a stock between two uses: the
// stock's next version holds more. Owner.
func (b *Operations) WeighBottle(ctx context.Context, by knownwater.Who, stock int64, w BottleWeights) (x Item, err error) {
	if err := by.MustOwn(); err != nil {
		return Item{}, err
	}
	var fs knownwater.Faults
	number := func(column string, v float64, ok bool, want string) {
		if !ok || math.IsInf(v, 0) {
			fs = append(fs, knownwater.Fault{Column: column, Found: fmt.Sprint(v), Want: want})
		}
	}
	number("put_back", w.PutBack, w.PutBack > 0, "the bottle's weight in g when it was put back")
	number("taken_out", w.TakenOut, w.TakenOut > 0 && w.TakenOut <= w.PutBack, "its weight in g now, not above what it was: more means that something was added, or another bottle")
	number("u_loss", w.U, w.U > 0, "the standard uncertainty of the difference in g, about one step of the scale")
	number("loss_from", w.Volume, w.Volume > 0, "the mL that were in the bottle")
	if len(fs) > 0 {
		return Item{}, fs
	}
	err = b.write(ctx, func(t tx) error {
		if x, err = t.item(stock); err != nil {
			return err
		}
		if x.Spec.Kind != StockItem {
			return knownwater.Refuse(knownwater.WrongState, "%s is not a stock", x.Spec.Name)
		}
		s := x.Spec
		st := *s.Stock
		s.Stock = &st
		st.addLoss(w)
		if x.Left > 0 { // as by now: sets made before this version do not count again
			st.Left = x.Left
		}
		why := fmt.Sprintf("weighed the bottle: %g g when put back, %g g when taken out", w.PutBack, w.TakenOut)
		if _, err := t.putItem(by, stock, s, why); err != nil {
			return err
		}
		x, err = t.item(stock)
		return err
	})
	return x, err
}

// addLoss adds a loss to an earlier one. Each raises the strength by
// V/(V − loss) of what was in the bottle then; kept is one loss from the latest
// volume that raises it by the product.
func (s *StockSpec) addLoss(w BottleWeights) {
	raise := w.Volume / (w.Volume - (w.PutBack - w.TakenOut))
	share := w.U / w.Volume
	if s.Loss > 0 && s.LossFrom > s.Loss {
		raise *= s.LossFrom / (s.LossFrom - s.Loss)
		share = math.Hypot(share, s.ULoss/s.LossFrom)
	}
	s.Loss, s.ULoss, s.LossFrom = w.Volume*(1-1/raise), share*w.Volume, w.Volume
}

// taken is how many mL the made sets took from each stock since its present
// version was written down.
func (t tx) taken(shelf []Item) (map[int64]float64, error) {
	since := map[int64]time.Time{}
	for _, x := range shelf {
		if x.Spec.Kind == StockItem && x.Spec.Stock.Left > 0 {
			since[x.ID] = x.Made.At
		}
	}
	if len(since) == 0 {
		return nil, nil
	}
	made, err := sets.Now(t.Tx)
	if err != nil {
		return nil, err
	}
	out := map[int64]float64{}
	for _, s := range made {
		for _, x := range valuesOf(s).taken {
			if from, counted := since[x.item]; counted && x.kept.After(from) {
				out[x.item] += x.ml
			}
		}
	}
	return out, nil
}
