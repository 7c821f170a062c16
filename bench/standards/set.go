package standards

import (
	"cmp"
	"context"
	"math/rand/v2"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/known"
	"knownwater/science/note"
)

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
