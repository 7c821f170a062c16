package bench

import (
	"context"
	"fmt"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/bench/trials"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/unit"
)

// Choosing is what is asked of the trials of a bench: which way of testing for a need.
type Choosing struct {
	Need    knownwater.NeedEntry
	Trials  []int64
	Options choose.Options
	Version string // of the program
}

// Chosen is what to use for a need, by trials of the bench.
type Chosen struct {
	choose.Choice
	Need   choose.NeedChoice // the one of Choice
	Scale  unit.Scale        // of the trials that were looked at
	From   []choose.Trial
	IDs    []int64  // of From
	Titles []string // of From
	Left   []string // titles of trials whose findings are in another unit
}

// mostChosen is how many trials judged for other needs than their own, and next
// experiments, are remembered.
const mostChosen = 60

// choosing is what choosing remembers: findings for needs that a trial did not have, and next
// experiments, by what they were computed from.
type choosing struct {
	found *store.Memo[string, assess.Findings]
	next  *store.Memo[string, []choose.Experiment]
}

func newChoosing() choosing {
	return choosing{store.NewMemo[string, assess.Findings](mostChosen, nil), store.NewMemo[string, []choose.Experiment](mostChosen, nil)}
}

// Choose says which way of testing to use for a need: by what trials found, judged again
// where they were planned for other needs. It takes as long as that does.
func (b *Bench) Choose(ctx context.Context, by knownwater.Who, c Choosing) (out Chosen, err error) {
	var need knownwater.Need
	for i, id := range c.Trials {
		found, err := b.Findings(ctx, by, id, trials.FindingsOptions{Version: c.Version})
		if err != nil {
			return out, err
		}
		p := found.Trial.Plan
		if i == 0 {
			out.Scale = p.Scale
		}
		n, err := p.Need(c.Need)
		if err != nil || p.Scale != out.Scale {
			out.Left = append(out.Left, p.Title)
			continue
		}
		need = n
		t := choose.Trial{Trial: found.Data, Findings: found.Findings}
		if len(c.Trials) > 1 {
			t.Name = p.Title
		}
		if !choose.Judged(t.Trial.Needs, []knownwater.Need{n}) {
			if t, err = b.judgedFor(ctx, t, n, max(1, p.Seed), c.Version); err != nil {
				return out, err
			}
		}
		t.Trial.Needs = []knownwater.Need{n}
		out.From, out.IDs, out.Titles = append(out.From, t), append(out.IDs, id), append(out.Titles, p.Title)
	}
	if len(out.From) == 0 {
		need = c.Need.Need
	}
	out.Choice = choose.Of([]knownwater.Need{need}, out.From, c.Options)
	out.Need = out.Choice.Needs[0]
	return out, nil
}

// judgedFor judges a trial for a need that it was not planned for.
func (b *Bench) judgedFor(ctx context.Context, t choose.Trial, n knownwater.Need, seed uint64, version string) (choose.Trial, error) {
	t.Trial.Needs = []knownwater.Need{n}
	key := fmt.Sprint(markOf(t.Trial), seed, version)
	var err error
	t.Findings, err = b.choosing.found.OneAtATime(ctx, key, func() (assess.Findings, bool) {
		return assess.Run(t.Trial, assess.Options{Seed: seed, Version: version}), true
	})
	return t, err
}

// NextVials is the next best experiment for what a choice leaves open.
func (b *Bench) NextVials(ctx context.Context, c Chosen) ([]choose.Experiment, error) {
	key := fmt.Sprintf("%+v", c.Need.Need)
	for _, t := range c.From {
		key += t.Name + markOf(t.Trial)
	}
	return b.choosing.next.OneAtATime(ctx, key, func() ([]choose.Experiment, bool) {
		next := choose.Next(c.Choice, c.From, choose.Ahead{Stop: func() bool { return ctx.Err() != nil }})
		return next, ctx.Err() == nil
	})
}

// markOf is a fingerprint of a trial: of all that numbers come from.
func markOf(t knownwater.Trial) string {
	text := fmt.Sprintf("%+v|%+v|%v|%+v|%+v|%+v", t.Scale, t.Water, t.WaterStated, t.Needs, t.Observations, t.Answers)
	for _, m := range t.Methods {
		if m.Range != nil {
			text += fmt.Sprintf("|%+v", *m.Range)
			m.Range = nil
		}
		text += fmt.Sprintf("|%+v", m)
	}
	return store.Digest(text)
}
