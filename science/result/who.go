package result

import (
	"slices"

	"knownwater"
)

// ReadBy names who read: one for all readings, or one for each in their order. The same
// name for each is one for all.
func (q *Question) ReadBy(names []string) error {
	q.Reader, q.By = "", nil
	if len(names) == 0 {
		return nil
	}
	if len(names) > 1 && len(names) != len(q.Readings) {
		return knownwater.Fault{Column: "reader", Found: "readers: %d, readings: %d", Want: "one reader for all readings, or one for each in their order"}.Of(len(names), len(q.Readings))
	}
	if slices.ContainsFunc(names, func(n string) bool { return n != names[0] }) {
		q.By = names
		return nil
	}
	q.Reader = names[0]
	return nil
}

// Who are the readers with how much each of them read, by name, so that the order of the
// readings changes nothing. Readings of nobody in particular are taken to be of one person.
func (q Question) Who() (out []Readings) {
	if q.By == nil {
		return []Readings{{q.Reader, len(q.Readings)}}
	}
	names := slices.Sorted(slices.Values(q.By))
	for _, n := range names {
		out = with(out, Readings{n, 1})
	}
	return out
}

// with are readings and more of them, those of one reader together.
func with(by []Readings, more Readings) []Readings {
	out := slices.Clone(by)
	if i := place(out, more.Reader); i >= 0 {
		out[i].Count += more.Count
		return out
	}
	return append(out, more)
}

func place(by []Readings, reader string) int {
	return slices.IndexFunc(by, func(b Readings) bool { return b.Reader == reader })
}
