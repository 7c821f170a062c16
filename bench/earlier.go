package bench

import (
	"context"
	"fmt"
	"io"
	"math"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/bench/waters"
	"knownwater/science/assess"
	"knownwater/science/reading"
)

// earlierRow is where the rows of earlier logs begin among those of a log: results of the bench have
// smaller ids. Both halves fit in an int of 32 bits.
const earlierRow = 1 << 30

// earlierBy is what reads a method of an earlier log.
type earlierBy struct {
	name    string
	method  knownwater.Method
	analyte string // empty: nobody says
}

// earlierInto adds what earlier logs say of a water, and the checks of its methods: a method of the bench
// is read by its record, the one that reads this water where there are several.
func (b *Bench) earlierInto(ctx context.Context, water knownwater.Water, names map[int64]string, out *WaterLog, key io.Writer) error {
	rows, err := b.EarlierRows(ctx, water.ID)
	if err != nil || len(rows) == 0 {
		return err
	}
	logs, err := b.EarlierLogs(ctx)
	if err != nil {
		return err
	}
	said := map[int64]waters.EarlierSaid{}
	for _, l := range logs {
		said[l.ID] = l.Said
	}
	type from struct {
		log, method int64
		name        string
	}
	known := map[from]earlierBy{}
	used := map[string]bool{}
	for _, e := range out.Entries {
		used[e.Method] = true
	}
	for _, checks := range []bool{false, true} {
		for _, r := range rows {
			if r.Check != checks {
				continue
			}
			k := from{r.Log, r.Method, r.Entry.Method}
			if r.Method != 0 {
				k = from{method: r.Method}
			}
			by, there := known[k]
			if !there {
				if by, err = b.earlierMethod(ctx, r, said[r.Log], names, out, key); err != nil {
					return err
				}
				known[k] = by
			}
			if checks && !used[by.name] {
				continue
			}
			if _, err := reading.Understand(r.Reading, by.method); err != nil {
				out.Unread++ // the method was described otherwise since
				continue
			}
			used[by.name] = true
			e := r.Entry
			e.Row, e.Method, e.Water = earlierRow+int(r.ID), by.name, water.Spec.Name
			if !checks {
				e.Known = math.NaN()
				out.Earlier++
			}
			out.Entries = append(out.Entries, e)
			fmt.Fprint(key, "earlier ", r.ID, ";")
		}
	}
	return nil
}

func (b *Bench) earlierMethod(ctx context.Context, r waters.EarlierRow, said waters.EarlierSaid, names map[int64]string, out *WaterLog, key io.Writer) (by earlierBy, err error) {
	if r.Method == 0 {
		by = earlierBy{name: r.Entry.Method, method: said.Kinds[r.Entry.Method]}
		for out.Methods.Records[by.name] != nil {
			by.name += " (earlier log)"
		}
		out.kind(by)
		return by, nil
	}
	records, err := b.Records(ctx)
	if err != nil {
		return by, err
	}
	var chosen *calibrations.Record
	for i, rec := range records {
		if rec.Method == r.Method && (chosen == nil || names[rec.ID] != "" && names[chosen.ID] == "") {
			chosen = &records[i]
		}
	}
	if chosen != nil {
		name := names[chosen.ID]
		if name == "" {
			var version int64
			if name, version, err = b.sourceInto(ctx, chosen.ID, out); err != nil {
				return by, err
			}
			fmt.Fprint(key, "record ", version, ";")
			names[chosen.ID] = name
		}
		if name != "" {
			return earlierBy{name: name, method: out.Methods.Records[name][0].(*assess.Performance).Method}, nil
		}
	}
	m, err := b.Method(ctx, r.Method)
	if err != nil {
		return by, err
	}
	by = earlierBy{m.Spec.Name, m.Spec.Method(), m.Spec.Scale.Analyte}
	fmt.Fprint(key, "method ", m.VersionID, ";")
	out.kind(by)
	return by, nil
}

// kind describes a method without a record.
func (w *WaterLog) kind(by earlierBy) {
	if w.Methods.Kinds == nil {
		w.Methods.Kinds, w.Methods.Measures = map[string]knownwater.Method{}, map[string]string{}
	}
	w.Methods.Kinds[by.name], w.Methods.Measures[by.name] = by.method, by.analyte
}
