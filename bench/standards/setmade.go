package standards

import (
	"context"
	"fmt"
	"strings"
	"time"

	"knownwater"
	"knownwater/bench/store"
)

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
	return knownwater.Faults{knownwater.Fault{Column: "made_" + x.Name, Found: "%s is made from %s, which is not written down as made", Want: "%s first"}.Of(x.Name, x.From, x.From)}
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
