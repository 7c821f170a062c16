package bench

import (
	"context"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"slices"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/science/assess"
	"knownwater/science/history"
	"knownwater/science/note"
	"knownwater/science/unit"
)

// WaterLog is a water's results as a log, with the checks of their methods and the records
// that read them.
type WaterLog struct {
	Entries []history.Entry // Row is the result's id
	Methods history.Methods
	By      map[int]calibrations.Result    // by row
	Left    int                            // results by curves that cannot be read again from what was typed
	Earlier int                            // results of earlier logs, among the entries
	Unread  int                            // rows of those that their method can no longer read
	Needs   []knownwater.Need              // of its waters, on its scale
	From    map[string]calibrations.Record // what Methods.Records are of, by the same names
	Scale   unit.Scale                     // of its records; the zero one: it has none
	Scales  []unit.Scale                   // of all results of its waters: each has a log of its own, the one with most results first

	key string // all that it depends on
}

// mostHistories are remembered.
const mostHistories = 50

// WaterHistory is the log, judged. What was worked out is remembered until there is another result,
// check or version of a record.
func (b *Bench) WaterHistory(ctx context.Context, log WaterLog) (history.History, error) {
	if h, ok := b.waterLog.Find(log.key); ok {
		return h, nil
	}
	h, err := history.Of(log.Entries, log.Methods)
	if err != nil {
		return h, err
	}
	if log.Left > 0 {
		h.Notes = append(h.Notes, note.New("curve-results-left").Number("results", float64(log.Left)))
	}
	return b.waterLog.Of(log.key, func() history.History { return h }), nil
}

// mostHistory is how many results of a water its history takes, the newest.
const mostHistory = 20_000

// LogOfWater gathers what is known of a water: results by records, the checks of those
// records, and each record as it is in use now. A result that somebody said stands is taken as
// it is; one that was left out is not in it. of is which of several analytes; one that none of its results is of: that of most.
func (b *Bench) LogOfWater(ctx context.Context, water knownwater.Water, of unit.Scale) (WaterLog, error) {
	return b.LogOfWaters(ctx, of, water)
}

// LogOfWaters is the log of several waters together, their methods under one name each.
func (b *Bench) LogOfWaters(ctx context.Context, of unit.Scale, all ...knownwater.Water) (out WaterLog, err error) {
	out.By, out.From = map[int]calibrations.Result{}, map[string]calibrations.Record{}
	out.Methods.Records, out.Methods.Uses, out.Methods.Solved = map[string][]history.Source{}, map[string][]history.Use{}, &b.solved
	names := map[int64]string{}
	key := fnv.New128a()
	for _, water := range all {
		if err := b.resultsInto(ctx, water, names, &out, key); err != nil {
			return out, err
		}
	}
	checks, err := b.Checks(ctx)
	if err != nil {
		return out, err
	}
	for _, c := range checks {
		if name := names[madeBy(c)]; name != "" {
			out.Entries = append(out.Entries, logOf(name, []calibrations.Result{c})...)
			fmt.Fprint(key, "check ", c.ID, ";")
		}
	}
	var needed []int64
	called := ""
	for _, water := range all {
		if err := b.earlierInto(ctx, water, names, &out, key); err != nil {
			return out, err
		}
		needed = append(needed, water.Spec.Needs...)
		called += water.Spec.Name + ";"
	}
	needs, err := b.Needs(ctx)
	if err != nil {
		return out, err
	}
	out.only(of)
	scale := out.Scale
	for _, n := range needs {
		f, err := unit.Factor(n.Scale, scale, unit.StandardSea)
		if err != nil || !slices.Contains(needed, n.ID) {
			continue // of another analyte, or of another water
		}
		need := n.Need
		if f != 1 {
			need = need.Times(f)
		}
		out.Needs = append(out.Needs, need)
		if c := need.Change; c > 0 && (out.Methods.Matters == 0 || c < out.Methods.Matters) {
			out.Methods.Matters = c
		}
		if !need.NotHeld {
			out.Methods.Hold = append(out.Methods.Hold, history.Range{Need: need.Name, Low: need.Low, High: need.High, Sure: need.Sure})
		}
	}
	out.key = fmt.Sprint(called, scale, out.Methods.Matters, out.Methods.Hold, out.Methods.Uses, key.Sum(nil))
	return out, nil
}

// resultsInto adds the results of a water, read by the records in use and by their versions of curves.
func (b *Bench) resultsInto(ctx context.Context, water knownwater.Water, names map[int64]string, out *WaterLog, key io.Writer) error {
	list, err := b.ResultsOfWater(ctx, water.ID, water.Spec.Name, mostHistory)
	if err != nil {
		return err
	}
	for _, r := range list {
		name, known := names[madeBy(r)]
		switch {
		case known:
		case r.Record == 0:
			if name, err = b.curveInto(ctx, r, list, out.Methods.Records); err != nil {
				return err
			}
			fmt.Fprint(key, "curve ", r.VersionID, ";")
			names[madeBy(r)] = name
		default:
			var version int64
			if name, version, err = b.sourceInto(ctx, r.Record, out); err != nil {
				return err
			}
			fmt.Fprint(key, "record ", version, ";")
			names[r.Record] = name
		}
		if r.Record == 0 && (name == "" || len(r.Sample.Own) > 0) {
			out.Left++
			continue
		}
		if name == "" || r.Standing == knownwater.ResultLeftOut {
			continue
		}
		for _, e := range logOf(name, []calibrations.Result{r}) {
			e.Check, e.Known, e.UKnown, e.Water = false, math.NaN(), 0, water.Spec.Name
			out.Entries = append(out.Entries, e)
		}
		out.By[int(r.ID)] = r
		fmt.Fprint(key, r.ID, ";")
	}
	return nil
}

// MethodsInUse are the methods of the bench that have a record, as it is in use now, on the scale that most of them have.
func (b *Bench) MethodsInUse(ctx context.Context) (out []*assess.Performance, err error) {
	list, err := b.Records(ctx)
	if err != nil {
		return nil, err
	}
	counts := map[unit.Scale]int{}
	for _, r := range list {
		if r.InUse {
			counts[r.Spec.Scale]++
		}
	}
	for _, r := range list {
		if !r.InUse || slices.ContainsFunc(list, func(o calibrations.Record) bool { return counts[o.Spec.Scale] > counts[r.Spec.Scale] }) {
			continue
		}
		if len(out) > 0 && out[0].Scale != r.Spec.Scale {
			continue
		}
		if p, err := b.Performance(ctx, r); err == nil { // else its own page says why
			out = append(out, p)
		}
	}
	return out, ctx.Err()
}

// only keeps of a log what is of one analyte in one unit.
func (w *WaterLog) only(of unit.Scale) {
	parts := history.Split(w.Entries, w.Methods)
	chosen := parts[0]
	for _, p := range parts {
		w.Scales = append(w.Scales, p.Scale)
		if p.Scale == of {
			chosen = p
		}
	}
	w.Entries, w.Methods, w.Scale = chosen.Entries, chosen.Methods, chosen.Scale
	w.Earlier = 0
	by := map[int]calibrations.Result{}
	for _, e := range w.Entries {
		if r, there := w.By[e.Row]; there {
			by[e.Row] = r
		} else if !e.Check {
			w.Earlier++
		}
	}
	w.By = by
}

// sourceInto adds a record as it is in use now, under a name of its own; empty: it can no
// longer be worked out, as its own page says.
func (b *Bench) sourceInto(ctx context.Context, record int64, out *WaterLog) (name string, version int64, err error) {
	by, err := b.recordNow(ctx, record)
	if err != nil || by == nil {
		return "", 0, err
	}
	p, err := b.Performance(ctx, *by)
	if err != nil {
		return "", 0, nil
	}
	name = by.Spec.Method
	into := out.Methods.Records
	for into[name] != nil { // another record of a method of that name
		name += " (another record)"
	}
	into[name], out.From[name] = []history.Source{p}, *by
	if out.Methods.Uses[name], err = b.UsesOf(ctx, record); err != nil {
		return "", 0, err
	}
	return name, by.VersionID, nil
}
