package doubt

import (
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
)

// vial is what was read of one vial, named or a row of its own.
type vial struct {
	name, session string
	rows          []int
	level         int
	y             float64 // mean of its readings
}

// mostOdd bounds the vials that are looked at in pairs.
const mostOdd = 200

// How far, in scatters, the first and the second of two swapped vials have to
// be off, and how near to each other's level.
const swapOff, partnerOff, swapNear = 5, 2.5, 2.5

// askSwaps looks for two vials of different levels, tested in one session, each
// of which reads like the other's level and not like its own. A level is
// judged by its other vials, or by the line through the other levels where it
// has fewer than two others. One of the two has to be far off by itself, the
// other one less: that each reads like the other's level speaks too.
func (s *Sight) askSwaps() []Question {
	type odd struct {
		vial
		own, off float64
	}
	var odds []odd
	for _, v := range s.vials() {
		e, ok := s.expected(v.level, v.rows)
		if off := math.Abs(v.y-e) / s.scatter(e, v.level, v.rows[0]); ok && off > partnerOff {
			odds = append(odds, odd{v, e, off})
		}
	}
	if len(odds) > mostOdd {
		return nil
	}
	var qs []Question
	for i, a := range odds {
		for _, b := range odds[i+1:] {
			if math.Max(a.off, b.off) <= swapOff || a.level == b.level || a.session != b.session || s.taken[a.rows[0]] || s.taken[b.rows[0]] {
				continue
			}
			fits := func(v vial, e float64, level int) bool {
				return math.Abs(v.y-e) <= swapNear*s.scatter(e, level, v.rows[0])
			}
			if !fits(a.vial, b.own, b.level) || !fits(b.vial, a.own, a.level) {
				continue
			}
			for _, k := range slices.Concat(a.rows, b.rows) {
				s.taken[k] = true
			}
			q := Question{
				Kind: OfSwap, Method: s.method.Name, At: PlacesOf(s.obs(slices.Concat(a.rows, b.rows))),
				Matrix: s.matrix, Mends: []Mend{s.exchange(a.vial, b.vial)},
			}
			q.Says = note.New("ask-swap").Name("vial", a.name, b.name).Number("level", s.levels[a.level].c, s.levels[b.level].c).
				Number("read", a.y, b.y).Number("expected", a.own, b.own)
			qs = append(qs, q)
			s.findScatter()
		}
	}
	return qs
}

// expected is what is expected of a level, some of its rows left out.
func (s *Sight) expected(level int, without []int) (float64, bool) {
	if m, ok := s.mates(level, without...); ok {
		return m, true
	}
	l, ok := s.lineWithout(level, 3)
	return l.at(s.levels[level].c), ok && !s.signal()
}

// vials gathers the rows of each vial that has a name; a row without one is a
// vial of its own where it stands for one reading.
func (s *Sight) vials() []vial {
	var out []vial
	index := map[string]int{}
	for i, r := range s.rows {
		if math.IsNaN(r.y) || r.o.Vial == "" && r.o.Count > 1 {
			continue
		}
		key := strings.Join([]string{r.o.VialKey(), r.o.Session, short(r.o.Dilution)}, "\x00")
		at, known := index[key]
		if !known || r.o.Vial == "" {
			at = len(out)
			index[key] = at
			out = append(out, vial{name: r.o.Vial, session: r.o.Session, level: r.level})
		}
		v := &out[at]
		n := float64(0)
		for _, k := range v.rows {
			n += float64(s.rows[k].o.Count)
		}
		v.y = (v.y*n + r.y*float64(r.o.Count)) / (n + float64(r.o.Count))
		v.rows = append(v.rows, i)
	}
	return out
}

// exchange is the trial with the levels of two vials exchanged.
func (s *Sight) exchange(a, b vial) Mend {
	to := map[which]knownwater.Observation{}
	for _, i := range a.rows {
		to[whichOf(s.rows[i].o)] = s.rows[b.rows[0]].o
	}
	for _, i := range b.rows {
		to[whichOf(s.rows[i].o)] = s.rows[a.rows[0]].o
	}
	return func(t knownwater.Trial) knownwater.Trial {
		t.Observations = slices.Clone(t.Observations)
		for i := range t.Observations {
			o := &t.Observations[i]
			if other, ok := to[whichOf(*o)]; ok {
				o.Level, o.ULevel, o.UShared, o.UBackground = other.Level, other.ULevel, other.UShared, other.UBackground
			}
		}
		return t
	}
}
