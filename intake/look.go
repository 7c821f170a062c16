package intake

import (
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// MethodSeen is a method as a table of readings names it.
type MethodSeen struct {
	Name  string
	N     int               // its readings
	Looks knownwater.Method // what it looks like by them
}

// Look tells which methods a table of readings names and what they look like, for
// somebody who is then asked to describe them. Faults in single cells are left for
// Trial to find; those that hide the whole table come back.
func (o Options) Look(readings Source) ([]MethodSeen, error) {
	stated := MethodsFile{Water: unit.StandardSea}
	sh, t, faults := o.counted(readings, stated, false)
	switch {
	case t == nil:
		return nil, faults
	case sh.stopped != nil:
		return nil, sh.stopped
	}
	j := join(sh, t, Source{}, stated, false, false)
	seen := map[uint32][]reading.Typed{}
	count := map[uint32]int{}
	var order []uint32
	for _, g := range t.groups {
		id, typed := g.ids[fMethod], j.typed[g.ids[fReading]]
		if typed.notRead || t.words[fMethod].texts[id] == "" {
			continue
		}
		if count[id] == 0 {
			order = append(order, id)
		}
		count[id] += g.count
		if !typed.bad() {
			seen[id] = append(seen[id], typed.typed)
		}
	}
	var out []MethodSeen
	for _, id := range order {
		name := t.words[fMethod].texts[id]
		out = append(out, MethodSeen{name, count[id], reading.Suggest(name, seen[id])})
	}
	return out, nil
}

// leaveOut takes groups of rows out of what was counted.
func (t *tally) leaveOut(bad map[int][]cellFault) {
	kept := make([]group, 0, len(t.groups)-len(bad))
	for i, g := range t.groups {
		if _, is := bad[i]; !is {
			kept = append(kept, g)
		}
	}
	t.groups = kept
}

// noteLeftOut names the rows that were left out.
func noteLeftOut(left knownwater.Faults) note.Note {
	var rows []float64
	for _, f := range left {
		if r := float64(f.Row); !slices.Contains(rows, r) {
			rows = append(rows, r)
		}
	}
	if len(left) >= mostFaults {
		return note.New("rows-left-out-and-more").Number("rows", rows...)
	}
	return note.New("rows-left-out").Number("rows", rows...)
}
