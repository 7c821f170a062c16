package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/known"
	"knownwater/science/note"
	"knownwater/science/unit"
	"knownwater/sqlite"
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
	ID        int64
	VersionID int64
	Version   int
	Latest    bool
	Retired   bool // poured away
	Spec      SetSpec
	Why       string
	Made      knownwater.Stamp
	Trials    int         // trials that took their levels from this version
	Values    known.Set   // by what was planned, or taken
	Doubts    []note.Note // on the day

	text string // of the description
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

var (
	insertSet        = sqlite.SQL(`insert into prepared (retired) values (0)`)
	retireSet        = sqlite.SQL(`update prepared set retired = ? where id = ?`)
	insertSetVersion = sqlite.SQL(`insert into prepared_version (prepared_id, version, name, spec, why, made_at, made_by, made_from)
		values (?1, (select count(*) + 1 from prepared_version where prepared_id = ?1), ?2, ?3, ?4, ?5, ?6, ?7)`)

	selectSet = `select v.id, v.prepared_id, v.version, v.version = (select max(version) from prepared_version where prepared_id = v.prepared_id),
		p.retired, v.spec, v.why, v.made_at, v.made_by, v.made_from,
		(select count(*) from trial where json_extract(plan, '$.set') = v.id)
		from prepared_version v join prepared p on p.id = v.prepared_id `
	latestSet    = `v.version = (select max(version) from prepared_version where prepared_id = v.prepared_id)`
	setByID      = sqlite.SQL(selectSet + `where v.prepared_id = ? order by v.version desc limit 1`)
	setVersionID = sqlite.SQL(selectSet + `where v.id = ?`)
	setAll       = sqlite.SQL(selectSet + `where v.prepared_id = ? order by v.version desc`)
	setsNow      = sqlite.SQL(selectSet + `where ` + latestSet + ` order by p.retired, v.prepared_id desc`)
)

func scanSet(scan func(...any) error) (s PreparedSet, err error) {
	err = scan(&s.VersionID, &s.ID, &s.Version, &s.Latest, &s.Retired, &s.text, &s.Why,
		store.Time(&s.Made.At), &s.Made.Name, &s.Made.Device, &s.Trials)
	if err == nil {
		err = json.Unmarshal([]byte(s.text), &s.Spec)
	}
	return s, err
}

// valued adds values and doubts.
func (s *PreparedSet) valued(today time.Time) {
	s.Values = workOut(s.text, s.Spec).values
	s.Doubts = s.Spec.doubts(s.Values, today)
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
func (b *Bench) PlanStandards(ctx context.Context, w Wanted, more bool) (out StandardsPlan, err error) {
	err = b.read(ctx, func(t tx) error {
		out, err = t.planStandards(w)
		return err
	})
	if !more || out.Shelf.Scale.Analyte == "" || len(out.Shelf.faults()) > 0 {
		return out, err
	}
	shelf := out.Shelf.Noun()
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
	shelf := out.Shelf.Noun()
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
func (b *Bench) NewSet(ctx context.Context, by knownwater.Who, w Wanted) (s PreparedSet, err error) {
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
			return firstOf(err, store.OrNil(fs))
		}
		spec := SetSpec{Name: w.Name, Shelf: p.Shelf}
		if spec.Solutions, err = t.coded(p.Plan.Preparation); err != nil {
			return err
		}
		id, err := t.Insert(insertSet)
		if err != nil {
			return err
		}
		s, err = t.putSet(by, id, spec, "", "planned the standards "+spec.Name)
		return err
	})
	return s, err
}

// coded draws codes that no other set's label bears.
func (t tx) coded(p known.Preparation) ([]SolutionSpec, error) {
	sets, err := store.All(t.Tx, setsNow, scanSet)
	if err != nil {
		return nil, err
	}
	taken := map[string]bool{}
	for _, s := range sets {
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
	text, err := store.ToJSON(spec)
	if err != nil {
		return PreparedSet{}, knownwater.Faults{{Found: "a number that is none", Want: "numbers throughout"}}
	}
	at, name, device := t.Stamp(by)
	if _, err := t.Insert(insertSetVersion, id, spec.Name, text, why, at, name, device); err != nil {
		return PreparedSet{}, err
	}
	if err := t.Note(by, 0, what, why); err != nil {
		return PreparedSet{}, err
	}
	return t.set(id)
}

func (t tx) set(id int64) (PreparedSet, error) {
	s, err := store.One(t.Tx, "set of standards", setByID, scanSet, id)
	if err == nil {
		s.valued(t.Now)
	}
	return s, err
}

func (t tx) setVersion(version int64) (PreparedSet, error) {
	s, err := store.One(t.Tx, "version of a set of standards", setVersionID, scanSet, version)
	if err == nil {
		s.valued(t.Now)
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
func (b *Bench) WriteDown(ctx context.Context, by knownwater.Who, id int64, made []Made, note, useBy, why string) (s PreparedSet, err error) {
	if err := by.MustOwn(); err != nil {
		return PreparedSet{}, err
	}
	err = b.write(ctx, func(t tx) error {
		old, err := store.One(t.Tx, "set of standards", setByID, scanSet, id)
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
func (b *Bench) Sets(ctx context.Context) (sets []PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		sets, err = store.All(t.Tx, setsNow, scanSet)
		for i := range sets {
			sets[i].valued(t.Now)
		}
		return err
	})
	return sets, err
}

// Set is the latest version of a set.
func (b *Bench) Set(ctx context.Context, id int64) (s PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		s, err = t.set(id)
		return err
	})
	return s, err
}

// SetVersion is a certain version, by its VersionID.
func (b *Bench) SetVersion(ctx context.Context, version int64) (s PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		s, err = t.setVersion(version)
		return err
	})
	return s, err
}

// SetVersions are all versions of a set, newest first, without values.
func (b *Bench) SetVersions(ctx context.Context, id int64) (sets []PreparedSet, err error) {
	err = b.read(ctx, func(t tx) error {
		sets, err = store.All(t.Tx, setAll, scanSet, id)
		return err
	})
	return sets, err
}

// RetireSet marks a set as poured away, or takes that back. Owner.
func (b *Bench) RetireSet(ctx context.Context, by knownwater.Who, id int64, retired bool) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	return b.write(ctx, func(t tx) error {
		s, err := store.One(t.Tx, "set of standards", setByID, scanSet, id)
		if err != nil || s.Retired == retired {
			return err
		}
		if err := t.Exec(retireSet, retired, id); err != nil {
			return err
		}
		return t.Note(by, 0, map[bool]string{true: "poured away the standards ", false: "took back the standards "}[retired]+s.Spec.Name, "")
	})
}
