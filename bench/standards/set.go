package standards

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
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

// PreparedSet is one version of a set of standards. A version never changes:
// writing down what was taken makes the next one, and a trial names the version
// that its levels came from.
type PreparedSet struct {
	knownwater.Versioned[SetSpec]
	Trials int         // trials that took their levels from this version
	Values known.Set   // by what was planned, or taken
	Doubts []note.Note // on the day

	late []note.Note // of those, the ones about dates and bottles
	text string      // of the description
}

// Standard finds a standard's value by its code or name.
func (s PreparedSet) Standard(name string) (known.Standard, bool) {
	for _, st := range s.Values.Standards {
		if name != "" && (st.Solution.Code == name || st.Solution.Name == name) {
			return st, true
		}
	}
	return known.Standard{}, false
}

// evaluate adds values and doubts.
func (s *PreparedSet) evaluate(today time.Time) {
	s.Values = valuesOf(*s).values
	s.Doubts, s.late = s.Spec.doubts(s.Values, today), s.Spec.late(today)
	if s.Retired {
		s.Doubts = append(s.Doubts, note.New("set-poured-away").Name("set", s.Spec.Name))
	}
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
		return out, doubts, knownwater.Faults{{Column: "stocks", Found: fmt.Sprintf("no stock of %s that is not used up", out.Scale.Analyte), Want: "a certified or weighed stock on the shelf"}}
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

// NewSet plans a set and keeps it as its first version, with codes for the
// labels drawn. Owner.
func (b *Operations) NewSet(ctx context.Context, by knownwater.Who, w Wanted) (s PreparedSet, err error) {
	if err := by.MustOwn(); err != nil {
		return PreparedSet{}, err
	}
	var fs knownwater.Faults
	store.Line(&fs, "name", &w.Name, true)
	err = b.write(ctx, func(t tx) error {
		p, err := t.planStandards(w)
		if more, ok := err.(knownwater.Faults); ok {
			return append(fs, more...)
		}
		if err != nil || len(fs) > 0 {
			return cmp.Or(err, store.OrNil(fs))
		}
		spec := SetSpec{Name: w.Name, Shelf: p.Shelf}
		if spec.Solutions, err = t.coded(p.Plan.Preparation); err != nil {
			return err
		}
		s, err = t.putSet(by, 0, spec, "", "planned the standards "+spec.Name)
		return err
	})
	return s, err
}

// coded draws codes that no other set's label bears.
func (t tx) coded(p known.Preparation) ([]SolutionSpec, error) {
	all, err := sets.Now(t.Tx)
	if err != nil {
		return nil, err
	}
	taken := map[string]bool{}
	for _, s := range all {
		for _, x := range s.Spec.Solutions {
			taken[x.Code] = true
		}
	}
	r := rand.New(rand.NewPCG(store.DrawSeed(), store.DrawSeed()))
	for {
		out := solutionsOf(p.Coded(r))
		clash := false
		for _, x := range out {
			clash = clash || x.Code != "" && taken[x.Code]
		}
		if !clash {
			return out, nil
		}
	}
}

// putSet keeps a version of a set.
func (t tx) putSet(by knownwater.Who, id int64, spec SetSpec, why, what string) (PreparedSet, error) {
	if fs := spec.faults(); len(fs) > 0 {
		return PreparedSet{}, fs
	}
	id, err := sets.Put(t.Tx, by, id, spec.Name, spec, why)
	if err != nil {
		return PreparedSet{}, err
	}
	if err := t.Note(by, 0, what, why); err != nil {
		return PreparedSet{}, err
	}
	return t.set(id)
}

func (t tx) set(id int64) (PreparedSet, error) {
	s, err := sets.Latest(t.Tx, id)
	if err == nil {
		s.evaluate(t.Now)
	}
	return s, err
}

func (t tx) setVersion(version int64) (PreparedSet, error) {
	s, err := sets.Version(t.Tx, version)
	if err == nil {
		s.evaluate(t.Now)
	}
	return s, err
}

// Made is what was really taken for one solution.
type Made struct {
	Solution string // its name in the set
	Take     MeasureSpec
	Make     MeasureSpec
	MadeAt   string // 2026-03-01 14:20, or the day alone
	MadeBy   string
}

// keepDays is how long standards are used: common practice, no source.
const keepDays = 7

// WriteDown keeps what was really weighed or poured: the next version of the
// set, with its values worked out anew. useBy empty is a week after the last
// one was made. Changing what was written down before needs a why. Owner.
func (b *Operations) WriteDown(ctx context.Context, by knownwater.Who, id int64, made []Made, note, useBy, why string) (s PreparedSet, err error) {
	if err := by.MustOwn(); err != nil {
		return PreparedSet{}, err
	}
	err = b.write(ctx, func(t tx) error {
		old, err := sets.Latest(t.Tx, id)
		if err != nil {
			return err
		}
		spec, again, err := old.Spec.with(made, note, useBy, t.Now)
		if err != nil {
			return err
		}
		if again {
			if why, err = store.Reason(why); err != nil {
				return err
			}
		}
		if why = store.Tidy(why); why == "" {
			why = "wrote down what was taken"
		}
		s, err = t.putSet(by, id, spec, why, "wrote down what was taken for the standards "+spec.Name)
		return err
	})
	return s, err
}

// with is the set with what was taken; again says that something that had been
// written down before has changed.
func (s SetSpec) with(made []Made, note, useBy string, now time.Time) (out SetSpec, again bool, err error) {
	var fs knownwater.Faults
	store.Lines(&fs, "note", &note)
	store.Day(&fs, "use_by", &useBy)
	out = s
	out.Solutions = append([]SolutionSpec(nil), s.Solutions...)
	again = again || s.IsMade() && (note != s.Note || useBy != s.UseBy && useBy != "")
	out.Note = note
	last := ""
	for _, m := range made {
		i := out.place(m.Solution)
		if i < 0 {
			fs = append(fs, knownwater.Fault{Column: "solution", Found: fmt.Sprintf("%q", m.Solution), Want: "a solution of this set"})
			continue
		}
		x := &out.Solutions[i]
		store.Line(&fs, "made_at_"+x.Name, &m.MadeAt, false)
		store.Line(&fs, "made_by_"+x.Name, &m.MadeBy, true)
		if m.MadeAt == "" {
			m.MadeAt = now.Format("2006-01-02 15:04")
		}
		at, ok := madeTime(m.MadeAt)
		if !ok {
			fs = append(fs, knownwater.Fault{Column: "made_at_" + x.Name, Found: fmt.Sprintf("%q", m.MadeAt), Want: "a time like 2026-03-01 14:20"})
		}
		was := *x
		x.MadeAt, x.MadeBy = at, m.MadeBy
		if x.From != "" {
			m.Take.Planned, m.Make.Planned = was.Take.Planned, was.Make.Planned
			x.Take, x.Make = m.Take, m.Make
		}
		if x.Kept == nil {
			kept := now
			x.Kept = &kept
		} else {
			again = again || was.Take != x.Take || was.Make != x.Make || was.MadeAt != x.MadeAt || was.MadeBy != x.MadeBy
		}
		fs = append(fs, out.tooEarly(*x)...)
		last = max(last, at)
	}
	if useBy == "" && s.UseBy == "" && len(last) >= len(time.DateOnly) {
		useBy = dayOf(last[:len(time.DateOnly)]).AddDate(0, 0, keepDays).Format(time.DateOnly)
	}
	if useBy != "" {
		out.UseBy = useBy
	}
	if len(fs) > 0 {
		return out, again, fs
	}
	for _, f := range out.faults() {
		fs = append(fs, out.placed(f))
	}
	return out, again, store.OrNil(fs)
}

func (s SetSpec) place(name string) int {
	for i, x := range s.Solutions {
		if x.Name == name {
			return i
		}
	}
	return -1
}

// tooEarly finds a solution that was made before what it is made from.
func (s SetSpec) tooEarly(x SolutionSpec) knownwater.Faults {
	i := s.place(x.From)
	if i < 0 || s.Solutions[i].IsMade() {
		return nil
	}
	return knownwater.Faults{{Column: "made_" + x.Name, Found: fmt.Sprintf("%s is made from %s, which is not written down as made", x.Name, x.From), Want: x.From + " first"}}
}

// placed names the form field of a fault: `solution "S2" take amount` becomes
// take_amount_S2.
func (s SetSpec) placed(f knownwater.Fault) knownwater.Fault {
	for _, x := range s.Solutions {
		rest, found := strings.CutPrefix(f.Column, fmt.Sprintf("solution %q", x.Name))
		if !found {
			continue
		}
		if rest = strings.TrimSpace(rest); rest == "" {
			rest = "take amount"
		}
		f.Column = strings.ReplaceAll(rest, " ", "_") + "_" + x.Name
	}
	return f
}

// madeTime is a typed time as it is kept; browsers put a T between.
func madeTime(s string) (string, bool) {
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02T15:04:05", time.DateOnly} {
		if t, err := time.Parse(layout, s); err == nil {
			if layout == time.DateOnly {
				return s, true
			}
			return t.Format("2006-01-02 15:04"), true
		}
	}
	return s, false
}

// Sets are the latest versions of all sets, newest first; those poured away
// last.
func (b *Operations) Sets(ctx context.Context) (list []PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = sets.Now(t.Tx)
		for i := range list {
			list[i].evaluate(t.Now)
		}
		return err
	})
	return list, err
}

// Set is the latest version of a set.
func (b *Operations) Set(ctx context.Context, id int64) (s PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		s, err = t.set(id)
		return err
	})
	return s, err
}

// SetVersion is a certain version, by its VersionID.
func (b *Operations) SetVersion(ctx context.Context, version int64) (s PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		s, err = t.setVersion(version)
		return err
	})
	return s, err
}

// SetVersions are all versions of a set, newest first, without values.
func (b *Operations) SetVersions(ctx context.Context, id int64) (list []PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		list, err = sets.All(t.Tx, id)
		return err
	})
	return list, err
}

// RetireSet marks a set as poured away, or takes that back. Owner.
func (b *Operations) RetireSet(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		s, err := sets.Latest(t.Tx, id)
		if err != nil || s.Retired == retired {
			return err
		}
		if err := sets.Retire(t.Tx, id, retired); err != nil {
			return err
		}
		return t.Note(by, 0, map[bool]string{true: "poured away the standards ", false: "took back the standards "}[retired]+s.Spec.Name, "")
	})
}
