package history

import (
	"slices"

	"knownwater/science/note"
)

// notesOf are the doubts about a log as a whole.
func notesOf(h History, l *links) (notes []note.Note) {
	var without []string
	for _, r := range h.Results {
		if len(l.Records[r.Method]) == 0 && !slices.Contains(without, r.Method) {
			without = append(without, r.Method)
		}
	}
	for _, c := range h.Checks {
		if c.Why != nil {
			notes = note.Add(notes, *c.Why)
		}
		if c.OtherwiseDiluted > 0 {
			notes = note.Add(notes, note.New("checks-otherwise-diluted").Number("n", float64(c.OtherwiseDiluted)).Number("known", c.Known).Name("method", c.Method))
		}
	}
	if len(without) > 0 {
		slices.Sort(without)
		notes = append(notes, note.New("method-without-record").Name("methods", without...))
	}
	for method, n := range sorted(l.withoutNitrite(h)) {
		notes = append(notes, note.New("nitrite-not-stated-of").Name("method", method).Number("results", float64(n)))
	}
	if len(h.Checks) == 0 {
		notes = append(notes, note.New("no-checks"))
	}
	for s, name := range l.setups {
		switch {
		case name.Lot == UnknownLot:
			if records := l.Records[name.Method]; len(records) > 0 && len(records[len(records)-1].TriedLots()) < 2 {
				notes = note.Add(notes, note.New("lots-not-stated").Name("method", name.Method).Number("u", 100*uUnknownLot))
			} else {
				notes = note.Add(notes, note.New("lots-not-stated-tried").Name("method", name.Method))
			}
		case l.against[s]:
			notes = note.Add(notes, note.New("pairs-against-record").Name("method", name.Method).Name("lot", name.Lot))
		case l.taken[s]:
			notes = note.Add(notes, note.New("lot-taken-as-tried").Name("method", name.Method).Name("lot", name.Lot))
		}
	}
	notes = append(notes, l.notTied()...)
	for _, b := range h.Bridges {
		if b.By == ByNone {
			notes = append(notes, note.New("no-bridge").Name("kind", string(b.Kind)).Name("method", b.Method).Name("from", b.From).Name("to", b.To))
		}
	}
	for _, s := range h.Slopes {
		if s.Why != nil {
			notes = note.Add(notes, *s.Why)
		}
	}
	if slices.ContainsFunc(h.Holds, func(x Hold) bool { return x.Last && x.Why == nil }) {
		notes = append(notes, note.New("hold-wanders-on"))
	}
	if l.Matters == 0 && len(h.Changes) > 0 {
		notes = append(notes, note.New("no-change-stated"))
	}
	return notes
}

// withoutNitrite counts, by method, the results of waters whose nitrite nobody states, where it is known
// to matter.
func (l *links) withoutNitrite(h History) map[string]int {
	out := map[string]int{}
	for _, r := range h.Results {
		if r.NitriteKnown || r.Outcome == nil {
			continue
		}
		for _, n := range r.Outcome.Notes {
			if n.Code == "nitrite-not-stated" {
				out[r.Method]++
			}
		}
	}
	return out
}

// notTied are the lots and readers that read waters and that neither the trial, nor a known, nor a sample
// read by others as well ties to known water: what levels and slopes say of them is as good as they are like those tried.
func (l *links) notTied() (notes []note.Note) {
	reads := make([]bool, len(l.setups))
	for _, p := range l.points {
		if p.at >= 0 {
			reads[p.set] = true
		}
	}
	for s, of := range l.setups {
		switch {
		case !reads[s] || l.true_[l.group[s]] || len(l.Records[of.Method]) == 0 || of.Lot == UnknownLot:
		case of.Reader != "":
			notes = note.Add(notes, note.New("reader-not-tied").Name("method", of.Method).Name("reader", of.Reader))
		default:
			notes = note.Add(notes, note.New("lot-not-tied").Name("method", of.Method).Name("lot", of.Lot))
		}
	}
	return notes
}
