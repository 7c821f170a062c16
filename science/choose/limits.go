package choose

import (
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/reading"
)

// limitsOf says whether a way keeps to what a need limits: minutes, money, waste, hazards,
// and whether somebody can read it. nil where nothing is limited, and, with what nobody
// stated, where that might exceed a limit and nothing stated does.
func limitsOf(w Way, n knownwater.Need) (*bool, []note.Note) {
	yes, no := true, false
	var beyond, unsaid []note.Note
	limited := false
	check := func(limit float64, is num.Number, says, missing note.Note) {
		if limit == 0 {
			return
		}
		limited = true
		if !is.OK() {
			unsaid = append(unsaid, missing)
		} else if float64(is) > limit*(1+1e-9) {
			beyond = append(beyond, says)
		}
	}
	c := w.Cost
	slow := note.New("beyond-minutes").Number("is", float64(c.Minutes)).Number("limit", n.MinutesAtMost)
	if w.more.most > 0 {
		slow = note.New("beyond-minutes-diluted").Number("is", float64(c.Minutes)).Number("limit", n.MinutesAtMost)
	}
	check(n.MinutesAtMost, c.Minutes, slow, note.New("unsaid-minutes"))
	check(n.MoneyAYear, c.Money, note.New("beyond-money").Number("is", float64(c.Money)).Number("limit", n.MoneyAYear), note.New("unsaid-money"))
	check(n.WasteMLAYear, c.WasteML, note.New("beyond-waste").Number("is", float64(c.WasteML)).Number("limit", n.WasteMLAYear), note.New("unsaid-waste"))
	m := w.method
	if n.NoColours {
		limited = true
		if reading.Of(m.Kind).ByEye {
			beyond = append(beyond, note.New("beyond-colours"))
		}
	}
	if n.OnlyHazards {
		limited = true
		var not []string
		for _, h := range m.Hazards {
			if !slices.Contains(n.Hazards, h) {
				not = append(not, h)
			}
		}
		if len(not) > 0 {
			beyond = append(beyond, note.New("beyond-hazards").Name("hazards", not...))
		}
		if m.Hazards == nil {
			unsaid = append(unsaid, note.New("unsaid-hazards"))
		}
	}
	switch {
	case len(beyond) > 0:
		return &no, beyond
	case limited && len(unsaid) == 0:
		return &yes, nil
	}
	return nil, unsaid
}
