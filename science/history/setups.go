package history

import "slices"

// setup is a method with one lot of its reagents and, where nothing says how another reader's readings differ, one reader: what a
// change of any of them ends. Reader is empty for those whom the record holds for.
type setup struct{ Method, Lot, Reader string }

// crew are the readers whom a record holds for.
type crew struct {
	told   bool // it says by how much readers differ, those too whom it does not know
	anyone bool // it holds for whoever reads: an instrument does
	tried  []string
}

// alone is a reader whose checks are held by themselves; empty: they are of those whom the record knows. Who was not tried may read
// further off than those who were differ, and that is no sign of the method.
func (c crew) alone(reader string) string {
	if c.anyone || slices.Contains(c.tried, reader) {
		return ""
	}
	return reader
}

// apart is a reader of whom the record says nothing; empty: it holds for this one. Who is not named is taken for one of them.
func (c crew) apart(reader string) string {
	if c.told || slices.Contains(c.tried, reader) {
		return ""
	}
	return reader
}

// crewsOf are the readers whom each record of a log holds for: those of its trial. Where these are not named, or none of them has used the
// method, the one who used it first is taken for them: of the log, or of those whom somebody knows to have used it.
func crewsOf(log []Entry, m Methods) map[string]crew {
	users := map[string][]string{}
	for _, e := range log {
		list := users[e.Method]
		if e.Reader != "" && !slices.Contains(list, e.Reader) {
			list = append(list, e.Reader)
		}
		users[e.Method] = list
	}
	out := map[string]crew{}
	for method, readers := range users {
		var c crew
		if records := m.Records[method]; len(records) > 0 {
			last := records[len(records)-1]
			_, c.anyone = last.(curved)
			c.told, c.tried = c.anyone || len(last.ToldReaders()) > 0, last.TriedReaders()
		}
		var known []string
		for _, u := range m.Uses[method] {
			if u.Reader != "" && !slices.Contains(known, u.Reader) {
				known = append(known, u.Reader)
			}
		}
		if len(known) > 0 {
			readers = known
		}
		if len(readers) > 0 && !slices.ContainsFunc(readers, func(r string) bool { return slices.Contains(c.tried, r) }) {
			c.tried = append(slices.Clone(c.tried), readers[0])
		}
		out[method] = c
	}
	return out
}
