package bench

import (
	"cmp"
	"context"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/unit"
)

// Agreed is how two trials of the bench compare, of which one or both came in as packs.
type Agreed struct {
	Titles [2]string
	Scale  unit.Scale
	All    []choose.Agreement
}

// Agree says whether two benches agree: the first trial's against the second's readings, by
// the needs of the first. It says how many parts of them are judged.
func (b *Bench) Agree(ctx context.Context, by knownwater.Who, ids [2]int64, version string, progress func(done, all int)) (out Agreed, err error) {
	var both [2]choose.Trial
	key := version
	for i, id := range ids {
		found, err := b.Findings(ctx, by, id, trials.FindingsOptions{Version: version})
		if err != nil {
			return out, err
		}
		p := found.Trial.Plan
		if i == 1 && p.Scale != out.Scale {
			return out, knownwater.Faults{knownwater.Fault{Column: "second", Found: "“%s” is in %s", Want: "a trial in %s, as the first"}.Of(p.Title, p.Scale.String(), out.Scale.String())}
		}
		out.Scale, out.Titles[i] = p.Scale, p.Title
		both[i] = choose.Trial{Trial: found.Data, Findings: found.Findings}
		key += markOf(found.Data)
	}
	out.All, err = b.choosing.agreed.OneAtATime(ctx, key, func() ([]choose.Agreement, bool) {
		done, all := 0, choose.AgreeParts(both[0], both[1])
		list := choose.Agree(both[0], both[1], both[0].Trial.Needs, func(t knownwater.Trial) assess.Findings {
			progress(done, all)
			done++
			return assess.Run(t, assess.Options{Brief: true, Version: version, Stop: func() bool { return ctx.Err() != nil }})
		})
		return list, ctx.Err() == nil
	})
	return out, cmp.Or(err, ctx.Err())
}
