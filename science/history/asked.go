package history

import (
	"slices"

	"knownwater/science/unit"
)

// Waters are those of the results, by name.
func (h History) Waters() (names []string) {
	for _, r := range h.Results {
		if !slices.Contains(names, r.Water) {
			names = append(names, r.Water)
		}
	}
	slices.Sort(names)
	return names
}

// TheChanges are the changes of a water: the whole from its first span to its last (nil: it has
// not three), the steps, and those across which nothing is linked.
type TheChanges struct {
	Whole  *Change
	Steps  []Change
	Broken []Change
}

// ChangesOf a water.
func (h History) ChangesOf(water string) (out TheChanges) {
	for _, c := range h.Changes {
		if c.Water != water {
			continue
		}
		switch {
		case c.Whole:
			if out.Whole == nil {
				one := c
				out.Whole = &one
			}
		case c.Verdict == CannotBeTold:
			if c.Came { // else its readings mean no concentrations
				out.Broken = append(out.Broken, c)
			}
		default:
			out.Steps = append(out.Steps, c)
		}
	}
	if out.Whole == nil && len(out.Steps) == 1 {
		out.Whole = &out.Steps[0]
	}
	return out
}

// ScaleOf is the unit in which a water's results are.
func (h History) ScaleOf(water string) (s unit.Scale, ok bool) {
	for _, r := range h.Results {
		if r.Water == water && r.Outcome != nil {
			return r.Outcome.Scale, true
		}
	}
	return s, false
}

// OnlyCompared says that a water was only tested to compare methods: nothing is said of it.
func (h History) OnlyCompared(water string) bool {
	for _, r := range h.Results {
		if r.Water == water && r.Pair == "" {
			return false
		}
	}
	return true
}
