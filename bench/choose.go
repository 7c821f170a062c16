package bench

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"knownwater"
	"knownwater/bench/calibrations"
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
	Today   string // 2026-12-31
}

// Chosen is what to use for a need, by trials of the bench.
type Chosen struct {
	choose.Choice
	Need   choose.NeedChoice // the one of Choice
	Scale  unit.Scale        // of the trials that were looked at
	From   []choose.Trial
	IDs    []int64  // of From
	Titles []string // of From
	Curves []choose.Trial
	Left   []string // titles of trials and curves that are in another unit
	Over   []string // curves whose last day is past
}

// mostChosen is how many trials judged for other needs than their own, and next
// experiments, are remembered.
const mostChosen = 60

// choosing is what choosing remembers: findings for needs that a trial did not have, next
// experiments and comparisons of benches, by what they were computed from.
type choosing struct {
	found *store.Memo[string, assess.Findings]
	next  *store.Memo[string, []choose.Experiment]

	agreed *store.Memo[string, []choose.Agreement]
}

func newChoosing() choosing {
	return choosing{store.NewMemo[string, assess.Findings](mostChosen, nil), store.NewMemo[string, []choose.Experiment](mostChosen, nil),
		store.NewMemo[string, []choose.Agreement](mostChosen, nil)}
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
	} else if err := b.addCurves(ctx, &out, c); err != nil {
		return out, err
	}
	out.Choice = choose.Of([]knownwater.Need{need}, slices.Concat(out.From, out.Curves), c.Options)
	out.Need = out.Choice.Needs[0]
	return out, nil
}

// judgedFor judges a trial for a need that it was not planned for.
func (b *Bench) judgedFor(ctx context.Context, t choose.Trial, n knownwater.Need, seed uint64, version string) (choose.Trial, error) {
	t.Trial.Needs = []knownwater.Need{n}
	key := fmt.Sprint(markOf(t.Trial), seed, version)
	var err error
	t.Findings, err = b.choosing.found.OneAtATime(ctx, key, func() (assess.Findings, bool) {
		f := assess.Run(t.Trial, assess.Options{Seed: seed, Version: version, Stop: func() bool { return ctx.Err() != nil }})
		return f, ctx.Err() == nil
	})
	return t, cmp.Or(err, ctx.Err())
}

// addCurves puts the curves in use beside the trials, each as a way of the method that it is
// said to be of, or that has its name.
func (b *Bench) addCurves(ctx context.Context, out *Chosen, c Choosing) error {
	curves, err := b.CurvesInUse(ctx)
	if err != nil {
		return err
	}
	like := out.From[0].Trial
	for _, v := range curves {
		s := v.Spec
		switch {
		case s.Scale.Analyte != like.Scale.Analyte:
			continue
		case s.Scale != like.Scale:
			out.Left = append(out.Left, s.Name)
			continue
		case s.ValidUntil != "" && s.ValidUntil < c.Today:
			out.Over = append(out.Over, s.Name)
			continue
		}
		d, err := s.Fit()
		if err != nil {
			continue // it was fitted by another program: its page says what is wrong
		}
		var stopped error
		t, err := choose.OfCurve(s.Name, d, methodOf(s, out.From), like, func(t knownwater.Trial) assess.Findings {
			got, err := b.judgedFor(ctx, choose.Trial{Trial: t}, t.Needs[0], 1, c.Version)
			stopped = cmp.Or(stopped, err)
			return got.Findings
		})
		if stopped != nil {
			return stopped
		}
		if err != nil {
			continue // no points of its own, after a slope update
		}
		out.Curves = append(out.Curves, t)
	}
	return nil
}

// methodOf is the method of a curve as the trials have it, else one of which only the name
// is known.
func methodOf(s calibrations.CurveSpec, trials []choose.Trial) knownwater.Method {
	name := cmp.Or(s.Method, s.Name)
	for _, t := range trials {
		for _, m := range t.Trial.Methods {
			if m.Name == name {
				return m
			}
		}
	}
	return knownwater.Method{Name: name}
}

// NextVials is the next best experiment for what a choice leaves open. It says at which of
// all open questions it is.
func (b *Bench) NextVials(ctx context.Context, c Chosen, progress func(done, all int)) ([]choose.Experiment, error) {
	key := fmt.Sprintf("%+v", c.Need.Need)
	for _, t := range c.From {
		key += t.Name + markOf(t.Trial)
	}
	next, err := b.choosing.next.OneAtATime(ctx, key, func() ([]choose.Experiment, bool) {
		next := choose.Next(c.Choice, c.From, choose.Ahead{Stop: func() bool { return ctx.Err() != nil }, Progress: progress})
		return next, ctx.Err() == nil
	})
	return next, cmp.Or(err, ctx.Err())
}

// markOf is a fingerprint of a trial: of all that numbers come from.
func markOf(t knownwater.Trial) string {
	text := fmt.Sprintf("%+v|%+v|%v|%+v|%+v|%+v|%+v", t.Scale, t.Water, t.WaterStated, t.Needs, t.Observations, t.Nitrite, t.Answers)
	for _, m := range t.Methods {
		if m.Range != nil {
			text += fmt.Sprintf("|%+v", *m.Range)
			m.Range = nil
		}
		text += fmt.Sprintf("|%+v", m)
	}
	return store.Digest(text)
}
