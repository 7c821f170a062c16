package history

import (
	"fmt"
	"math"
	"slices"
	"time"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/series"
	"knownwater/science/unit"
)

// Experiment is something done to some waters on a day, and to others not.
type Experiment struct {
	Treated, Control []string
	From             time.Time // the day on which it was done: results from it on are after
	Settle           int       // days from it on whose results are left out
	Since, Until     time.Time // the first and the last day that count; zero: all
}

// What an experiment comes to, beside what a change does.
const (
	Raised  Told = "raised"
	Lowered Told = "lowered"
)

// Effect is what was done to treated waters, beside what control waters did meanwhile. NaN is what cannot be said.
type Effect struct {
	Experiment
	Value, Low, High, U             float64
	PRaised, PLowered               float64
	PRaisedMatters, PLoweredMatters float64 // by more than what matters; NaN: nobody says what does
	Smallest                        float64 // the smallest effect that is called in four of five such experiments
	Wander                          float64 // by how much these waters depart from their level, as a standard deviation
	Verdict                         Told
	Waters                          []Stepped
	Scale                           unit.Scale
	Notes                           []note.Note
}

// Stepped is what one water did from before to after.
type Stepped struct {
	Water           string
	Treated         bool
	Before, After   int     // results
	Level           float64 // before
	Step, Low, High float64
	Why             *note.Note // why it is left out
}

// fewestInPeriod results of a water are wanted before, and after.
const fewestInPeriod = 3

// Check finds what an experiment on these waters cannot mean; columns are treated, control, from, settle, since, until.
func (x Experiment) Check(waters []string) (fs knownwater.Faults) {
	wrong := func(column, found, want string, values ...any) {
		fs = append(fs, knownwater.Fault{Column: column, Found: found, Want: want}.Of(values...))
	}
	for _, side := range []struct {
		name  string
		names []string
	}{{"treated", x.Treated}, {"control", x.Control}} {
		if len(side.names) == 0 {
			wrong(side.name, "no water", "at least one: without control waters whatever happens to all waters looks like an effect")
		}
		for i, w := range side.names {
			switch {
			case !slices.Contains(waters, w):
				wrong(side.name, "%.40q", "a water of the log: %s", w, named(waters))
			case slices.Contains(side.names[:i], w), side.name == "control" && slices.Contains(x.Treated, w):
				wrong(side.name, "%.40q a second time", "each water once, treated or control", w)
			}
		}
	}
	if x.From.IsZero() {
		wrong("from", "no day", "the day on which it was done, such as 2026-03-23")
	}
	if x.Settle < 0 || x.Settle > 366 {
		wrong("settle", fmt.Sprint(x.Settle), "days from 0 to 366")
	}
	if !x.Since.IsZero() && !x.From.IsZero() && !x.Since.Before(x.From) {
		wrong("since", "%s", "a day before %s", dateOf(x.Since), dateOf(x.From))
	}
	if !x.Until.IsZero() && !x.From.IsZero() && x.Until.Before(x.From.AddDate(0, 0, x.Settle)) {
		wrong("until", "%s", "a day after %s", dateOf(x.Until), dateOf(x.From.AddDate(0, 0, x.Settle)))
	}
	return fs
}

// named are some names.
func named(all []string) (s string) {
	for i, n := range all {
		if i == 12 {
			return s + ", …"
		}
		if i > 0 {
			s += ", "
		}
		s += n
	}
	return s
}

// period says when a day lies: before, after, or neither.
func (x Experiment) period(at time.Time) (after, counts bool) {
	day, from := dayOf(at), dayOf(x.From)
	switch {
	case !x.Since.IsZero() && day.Before(dayOf(x.Since)), !x.Until.IsZero() && day.After(dayOf(x.Until)):
		return false, false
	case day.Before(from):
		return false, true
	}
	return true, !day.Before(from.AddDate(0, 0, x.Settle))
}

// EffectOf says what an experiment came to. What lots, methods and readers share cancels where treated and control waters
// share it (series.EffectOf has the model). Only results of setups that are linked are held against one another.
// The error holds knownwater.Faults: of the experiment, or of rows of the log.
func EffectOf(log []Entry, m Methods, x Experiment) (e Effect, err error) {
	h, l, err := linked(log, m)
	if err != nil {
		return e, err
	}
	if fs := x.Check(h.Waters()); fs != nil {
		return e, fs
	}
	nan := math.NaN()
	e = Effect{Experiment: x, Value: nan, Low: nan, High: nan, U: nan, PRaised: nan, PLowered: nan, PRaisedMatters: nan, PLoweredMatters: nan, Smallest: nan, Wander: nan, Verdict: CannotBeTold}
	used := l.used(h.Results)
	if m.Matters == 0 {
		e.Notes = append(e.Notes, note.New("no-effect-stated"))
	}
	group, broken := l.groupFor(x, used)
	waters, points := l.watersOf(&e, x, used, group)
	if len(waters) > 0 {
		e.Scale = l.scaleOf(points[0].set)
	}
	if broken {
		e.Notes = append(e.Notes, note.New("experiment-broken"))
	}
	found, ok := series.EffectOf(waters)
	if !ok {
		if !broken {
			e.Notes = append(e.Notes, note.New("experiment-too-few").Number("wanted", fewestInPeriod))
		}
		return e, nil
	}
	e.tell(found, m.Matters)
	e.Notes = append(e.Notes, l.doubtsOf(e, points)...)
	return e, nil
}

// tell puts what was found into words and chances.
func (e *Effect) tell(found series.Effect, matters float64) {
	e.Value, e.Low, e.High, e.U, e.Wander = found.Value, found.Low, found.High, found.U, found.Wander
	e.PLowered = found.Below(0)
	e.PRaised = 1 - e.PLowered
	e.Smallest = (e.High-e.Low)/2 + 0.8416212335729143*e.U
	switch {
	case e.Low > 0:
		e.Verdict = Raised
	case e.High < 0:
		e.Verdict = Lowered
	default:
		e.Verdict = Undecided
	}
	if matters > 0 {
		e.PLoweredMatters, e.PRaisedMatters = found.Below(-matters), 1-found.Below(matters)
		if e.Low > -matters && e.High < matters {
			e.Verdict = SameForNeed
		}
	}
	k := 0
	for i := range e.Waters {
		if w := &e.Waters[i]; w.Why == nil {
			w.Step, w.Low, w.High = found.Waters[k].Value, found.Waters[k].Low, found.Waters[k].High
			k++
		}
	}
}

// anyGroup stands for all setups, linked or not.
const anyGroup = -1

// groupFor is the group of setups in which most waters of both sides were read often enough: anyGroup where
// there is none. broken says that more of them were, if setups that nothing links counted together.
func (l *links) groupFor(x Experiment, used map[string][]point) (group int, broken bool) {
	enough := map[int][2]int{} // waters of either side
	for k, side := range [][]string{x.Control, x.Treated} {
		for _, name := range side {
			counts := map[int][2]int{} // results before and after
			for _, p := range used[name] {
				if after, ok := x.period(p.At); ok {
					for _, g := range []int{l.group[p.set], anyGroup} {
						c := counts[g]
						if after {
							c[1]++
						} else {
							c[0]++
						}
						counts[g] = c
					}
				}
			}
			for g, c := range counts {
				if min(c[0], c[1]) >= fewestInPeriod {
					n := enough[g]
					n[k]++
					enough[g] = n
				}
			}
		}
	}
	group, most := anyGroup, 0
	for g, n := range sorted(enough) {
		if g != anyGroup && min(n[0], n[1]) > 0 && n[0]+n[1] > most {
			group, most = g, n[0]+n[1]
		}
	}
	whole := enough[anyGroup]
	return group, min(whole[0], whole[1]) > 0 && whole[0]+whole[1] > most
}

// watersOf are the waters with enough results within a group, as the series knows them.
func (l *links) watersOf(e *Effect, x Experiment, used map[string][]point, group int) (out []series.Tried, all []point) {
	for _, name := range slices.Concat(x.Treated, x.Control) {
		s := Stepped{Water: name, Treated: slices.Contains(x.Treated, name), Level: math.NaN(), Step: math.NaN(), Low: math.NaN(), High: math.NaN()}
		var points []point
		open := 0
		for _, p := range used[name] {
			after, counts := x.period(p.At)
			if a, plain := p.way.(asShown); !counts || group != anyGroup && l.group[p.set] != group || plain && !(a.share > 0) {
				continue
			}
			if after {
				s.After++
			} else {
				s.Before++
			}
			if p.open {
				open++
			}
			points = append(points, p)
		}
		if s.Before < fewestInPeriod || s.After < fewestInPeriod {
			why := note.New("experiment-water-too-few").Name("water", name).Number("before", float64(s.Before)).Number("after", float64(s.After)).Number("wanted", fewestInPeriod)
			s.Why = &why
		} else if 2*open > len(points) {
			why := note.New("experiment-water-beyond").Name("water", name).Number("open", float64(open)).Number("results", float64(len(points)))
			s.Why = &why
		} else if w, level, ok := l.triedWater(x, points); ok && group != anyGroup {
			w.Treated, s.Level = s.Treated, level
			out, all = append(out, w), append(all, points...)
		} else if group != anyGroup {
			why := note.New("experiment-water-beyond").Name("water", name).Number("open", float64(len(points))).Number("results", float64(len(points)))
			s.Why = &why
		}
		e.Waters = append(e.Waters, s)
	}
	return out, all
}

// triedWater is a water as the series knows it, with its level before. Not ok: its readings say too little.
func (l *links) triedWater(x Experiment, points []point) (t series.Tried, level float64, ok bool) {
	overs, _ := l.overs(points)
	r, w := l.rowOf(withOver(points, overs))
	sites, shared := r.told(w, l.sharedOf(r.points, r.levels))
	t.Spread = make([]float64, draws)
	t.Shared = make([][]float64, draws)
	total := 0.0
	sides := [2]int{}
	for i, s := range sites {
		if !(s.Precision > 0) {
			continue
		}
		after, _ := x.period(points[i].At)
		t.Days, t.Value, t.Var = append(t.Days, points[i].day), append(t.Value, s.Shift/s.Precision), append(t.Var, 1/s.Precision)
		t.After = append(t.After, after)
		for d := range t.Shared {
			t.Shared[d] = append(t.Shared[d], shared[i][d])
			t.Spread[d] += points[i].way.Spreads()[d]
		}
		if after {
			sides[1]++
		} else {
			sides[0]++
			level += s.Shift
			total += s.Precision
		}
	}
	for d := range t.Spread {
		t.Spread[d] /= float64(len(t.Days))
	}
	return t, level / total, min(sides[0], sides[1]) >= 2
}

// doubtsOf are what to bear in mind of an effect.
func (l *links) doubtsOf(e Effect, points []point) (notes []note.Note) {
	sides := [2]int{}
	read := [2]map[setup]bool{{}, {}}
	treated := map[string]bool{}
	for _, w := range e.Waters {
		if w.Why != nil {
			notes = append(notes, *w.Why)
			continue
		}
		treated[w.Water] = w.Treated
		if w.Treated {
			sides[1]++
		} else {
			sides[0]++
		}
	}
	for _, p := range points {
		k := 0
		if treated[p.Water] {
			k = 1
		}
		read[k][l.setups[p.set]] = true
	}
	switch {
	case sides == [2]int{1, 1}:
		notes = append(notes, note.New("experiment-one-each"))
	case sides[1] == 1:
		notes = append(notes, note.New("experiment-one-treated"))
	case sides[0] == 1:
		notes = append(notes, note.New("experiment-one-control"))
	}
	for _, s := range l.setups {
		if read[0][s] != read[1][s] {
			notes = append(notes, note.New("experiment-other-setups").Name("method", s.Method).Name("lot", s.Lot))
		}
	}
	if !l.true_[l.group[points[0].set]] {
		notes = append(notes, note.New("experiment-not-tied").Name("method", points[0].Method))
	}
	return notes
}
