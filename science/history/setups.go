package history

import "slices"

// setup is a method with one lot of its reagents and, where nothing says how another reader's readings differ, one reader: what a
// change of any of them ends. Reader is empty for those whom the record holds for.
type setup struct{ Method, Lot, Reader string }

// crew are the readers whom a record holds for.
type crew struct {
	told  bool // it says by how much readers differ, those too whom it does not know
	tried []string
}

// apart is a reader of whom the record says nothing; empty: it holds for this one. Who is not named is taken for one of them.
func (c crew) apart(reader string) string {
	if c.told || slices.Contains(c.tried, reader) {
		return ""
	}
	return reader
}

// crewsOf are the readers whom each record of a log holds for: those of its trial. Where these are not named, or none of them is in the
// log, the one that comes first in it is taken for them.
func crewsOf(log []Entry, m Methods) map[string]crew {
	first, met := map[string]string{}, map[string]bool{}
	out := map[string]crew{}
	for _, e := range log {
		c, there := out[e.Method]
		if !there {
			if records := m.Records[e.Method]; len(records) > 0 {
				last := records[len(records)-1]
				_, curve := last.(curved) // whose signals an instrument reads
				c.told, c.tried = curve || len(last.ToldReaders()) > 0, last.TriedReaders()
			}
			out[e.Method] = c
		}
		if e.Reader == "" {
			continue
		}
		if first[e.Method] == "" {
			first[e.Method] = e.Reader
		}
		met[e.Method] = met[e.Method] || slices.Contains(c.tried, e.Reader)
	}
	for method, reader := range first {
		if c := out[method]; !met[method] {
			c.tried = append(slices.Clone(c.tried), reader)
			out[method] = c
		}
	}
	return out
}
