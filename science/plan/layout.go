package plan

import (
	"fmt"
	"math/rand/v2"
)

// Design is the plan of a trial in numbers: knowns, methods and readers are
// named by their place in a list.
type Design struct {
	Knowns     []DesignKnown
	Methods    []DesignMethod
	Readers    int
	Sessions   int
	Replicates int // vials a known, method and technique
	Blanks     int // … and for each blank
	Check      int // known used as check standard; below 0: none
	CheckEvery int // check vial after so many vials of a method, besides both ends of the session; 0: ends only
	Duplicates int // hidden duplicates a session and method
}

// DesignKnown is one known.
type DesignKnown struct {
	Level float64
	Blank bool
	Vials int // instead of Replicates or Blanks; 0: those
}

// DesignMethod is one method.
type DesignMethod struct {
	Techniques   []string // at least one; "" is a name like others
	Lots         int      // dealt out over its vials; 0: no lot is named
	Together     bool     // every reader reads every vial; else vials are dealt out to readers
	DilutionOver float64  // vials of knowns above this are diluted
	Dilution     float64  // by this factor; 0 or 1: never
}

// Vial is one vial of a laid-out trial, in run order.
type Vial struct {
	Code      string
	Session   int // from 1
	Method    int
	Known     int
	Technique string
	Lot       int // −1: none
	Role      Role
	Dilution  float64
	Readers   []int
}

// MostVials is the largest plan.
const MostVials = 20000

// Vials says how many vials a design asks for, checks and duplicates not
// counted; it never overflows.
func (d Design) Vials() int {
	n := 0
	for _, m := range d.Methods {
		for k := range d.Knowns {
			n += len(m.Techniques) * min(d.each(k), MostVials)
			if n > MostVials {
				return MostVials + 1
			}
		}
	}
	return n
}

// each is how many vials a known gets with one method and technique.
func (d Design) each(known int) int {
	k := d.Knowns[known]
	switch {
	case k.Vials > 0:
		return k.Vials
	case k.Blank:
		return d.Blanks
	}
	return d.Replicates
}

// Lay makes a design into vials in run order, by seed alone:
//
//  1. the vials of each method, technique and known are spread evenly over the
//     sessions, beginning at one drawn at random;
//  2. each session gets its hidden duplicates: another vial of a known that it
//     has already;
//  3. each session is shuffled;
//  4. check vials go to both ends of each method's run in each session, and after
//     every CheckEvery vials in between;
//  5. lots and readers are dealt out in turn within each method and known, so
//     that none of them goes with a level;
//  6. every vial gets a code (see [Codes]).
func Lay(d Design, seed uint64) ([]Vial, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(seed, 0x706c616e)) // "plan"
	var run []Vial
	for s, vials := range d.spread(rng) {
		vials = append(vials, d.duplicates(vials, s+1, rng)...)
		rng.Shuffle(len(vials), func(i, j int) { vials[i], vials[j] = vials[j], vials[i] })
		run = append(run, d.bracket(vials, s+1)...)
	}
	d.deal(run, rng)
	codes, err := Codes(len(run), rng)
	if err != nil {
		return nil, err
	}
	for i := range run {
		run[i].Code = codes[i]
	}
	return run, nil
}

func (d Design) check() error {
	switch {
	case len(d.Methods) == 0 || len(d.Knowns) == 0 || d.Readers <= 0 || d.Sessions <= 0:
		return fmt.Errorf("a plan needs methods, knowns, readers and sessions")
	case d.Replicates < 0 || d.Blanks < 0 || d.Duplicates < 0 || d.CheckEvery < 0 || d.Check >= len(d.Knowns):
		return fmt.Errorf("a plan has no negative numbers, and its check standard is one of its knowns")
	case d.Vials() > MostVials || d.Sessions*len(d.Methods)*d.Duplicates > MostVials:
		return fmt.Errorf("more than %d vials", MostVials)
	}
	return nil
}

func (d Design) vial(method, known int, technique string, session int, role Role) Vial {
	m, k := d.Methods[method], d.Knowns[known]
	v := Vial{Session: session, Method: method, Known: known, Technique: technique, Lot: -1, Role: role, Dilution: 1}
	if m.Dilution > 1 && k.Level > m.DilutionOver {
		v.Dilution = m.Dilution
	}
	return v
}

func (d Design) spread(rng *rand.Rand) [][]Vial {
	sessions := make([][]Vial, d.Sessions)
	for m := range d.Methods {
		for _, t := range d.Methods[m].Techniques {
			for k, known := range d.Knowns {
				role := Level
				if known.Blank {
					role = Blank
				}
				first := rng.IntN(d.Sessions)
				for i := range d.each(k) {
					s := (first + i) % d.Sessions
					sessions[s] = append(sessions[s], d.vial(m, k, t, s+1, role))
				}
			}
		}
	}
	return sessions
}

func (d Design) duplicates(vials []Vial, session int, rng *rand.Rand) []Vial {
	var more []Vial
	for m := range d.Methods {
		var from []Vial
		for _, v := range vials {
			if v.Method == m && v.Role == Level {
				from = append(from, v)
			}
		}
		if len(from) == 0 {
			continue
		}
		order := rng.Perm(len(from))
		for i := range d.Duplicates {
			v := from[order[i%len(order)]]
			more = append(more, d.vial(m, v.Known, v.Technique, session, Duplicate))
		}
	}
	return more
}

// bracket puts check vials around and between each method's vials.
func (d Design) bracket(vials []Vial, session int) []Vial {
	if d.Check < 0 {
		return vials
	}
	last := make([]int, len(d.Methods)) // place of each method's last vial
	for i := range last {
		last[i] = -1
	}
	for i, v := range vials {
		last[v.Method] = i
	}
	seen := make([]int, len(d.Methods))
	var out []Vial
	for i, v := range vials {
		check := d.vial(v.Method, d.Check, d.Methods[v.Method].Techniques[0], session, Check)
		if seen[v.Method] == 0 {
			out = append(out, check)
		}
		out = append(out, v)
		seen[v.Method]++
		if i == last[v.Method] || d.CheckEvery > 0 && seen[v.Method]%d.CheckEvery == 0 {
			out = append(out, check)
		}
	}
	return out
}

// deal hands out lots and readers in turn within each method and known,
// beginning at one drawn at random.
func (d Design) deal(run []Vial, rng *rand.Rand) {
	type cell struct{ method, known int }
	type turn struct{ lot, reader int }
	next := map[cell]turn{}
	for i := range run {
		v := &run[i]
		m := d.Methods[v.Method]
		c := cell{v.Method, v.Known}
		t, begun := next[c]
		if !begun {
			t = turn{rng.IntN(max(1, m.Lots)), rng.IntN(d.Readers)}
		}
		if m.Lots > 0 {
			v.Lot = t.lot % m.Lots
		}
		if m.Together {
			v.Readers = upTo(d.Readers)
		} else {
			v.Readers = []int{t.reader % d.Readers}
		}
		// The lot moves on once all readers had it, so that readers and lots cross.
		t.reader++
		if m.Together || t.reader%d.Readers == 0 {
			t.lot++
		}
		next[c] = t
	}
}

func upTo(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}
