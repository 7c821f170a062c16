package report

import (
	"maps"
	"slices"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/history"
	"knownwater/science/interval"
	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/result"
	"knownwater/science/unit"
)

// Turns says how values on a scale are shown to somebody: unit.Choices.Turn is one. Files
// and lines of a terminal are never turned.
type Turns func(unit.Scale) unit.Turn

// asTheyAre turns nothing.
func asTheyAre(s unit.Scale) unit.Turn { return unit.Turn{To: s, K: 1} }

// TurnedOutcome is what readings say, as it is shown to somebody. The readings themselves
// stay as the method shows them.
func TurnedOutcome(o result.Outcome, turn Turns) result.Outcome {
	t := turn(o.Scale)
	if t.Same() {
		return o
	}
	o.Scale = t.To
	o.Needs = each(o.Needs, func(n knownwater.Need) knownwater.Need { return n.Times(t.K) })
	o.Verdicts = each(o.Verdicts, func(v result.Verdict) result.Verdict {
		v.Cases = timesAll(v.Cases, t.K)
		return v
	})
	o.Seen = timesPieces(o.Seen, t.K)
	r := &o.Result
	r.Estimate, r.Low, r.High, r.U = r.Estimate*t.K, r.Low*t.K, r.High*t.K, r.U*t.K
	r.Parts = timesPieces(r.Parts, t.K)
	o.Notes = TurnedNotes(o.Notes, t)
	return o
}

// TurnedHistory is a log, judged, as it is shown to somebody: every result by its own
// scale, what is said of a water by that of its results. What the later of two setups reads
// of what the earlier did is a ratio and has no unit.
func TurnedHistory(h history.History, turn Turns) history.History {
	of := map[string]unit.Turn{}
	for _, r := range h.Results {
		if _, there := of[r.Water]; !there && r.Outcome != nil {
			of[r.Water] = turn(r.Outcome.Scale)
		}
	}
	turned := false
	for _, t := range of {
		turned = turned || !t.Same()
	}
	if !turned {
		return h
	}
	outcome := func(o *result.Outcome) *result.Outcome {
		if o == nil {
			return nil
		}
		out := TurnedOutcome(*o, turn)
		return &out
	}
	k := func(water string) float64 {
		if t, there := of[water]; there {
			return t.K
		}
		return 1
	}
	h.Results = each(h.Results, func(r history.Result) history.Result {
		r.Outcome, r.Again = outcome(r.Outcome), outcome(r.Again)
		if r.Doubt != nil {
			n := turnedNote(*r.Doubt, unit.Turn{K: k(r.Water)})
			r.Doubt = &n
		}
		return r
	})
	h.Levels = each(h.Levels, func(l history.Level) history.Level {
		l.Level, l.Low, l.High = l.Level*k(l.Water), l.Low*k(l.Water), l.High*k(l.Water)
		return l
	})
	h.Between = each(h.Between, func(b history.Between) history.Between {
		b.Level, b.Low, b.High = b.Level*k(b.Water), b.Low*k(b.Water), b.High*k(b.Water)
		return b
	})
	h.Trends = each(h.Trends, func(x history.Trend) history.Trend {
		x.Level, x.Low, x.High = x.Level*k(x.Water), x.Low*k(x.Water), x.High*k(x.Water)
		x.PerWeek, x.Least, x.Most = x.PerWeek*k(x.Water), x.Least*k(x.Water), x.Most*k(x.Water)
		return x
	})
	h.Slopes = each(h.Slopes, func(s history.Slope) history.Slope {
		s.PerWeek, s.Low, s.High = s.PerWeek*k(s.Water), s.Low*k(s.Water), s.High*k(s.Water)
		s.Now, s.NowLow, s.NowHigh = s.Now*k(s.Water), s.NowLow*k(s.Water), s.NowHigh*k(s.Water)
		return s
	})
	h.Changes = each(h.Changes, func(c history.Change) history.Change { return TurnedChange(c, k(c.Water)) })
	h.Holds = each(h.Holds, func(x history.Hold) history.Hold {
		x.Range.Low, x.Range.High = x.Range.Low*k(x.Water), x.Range.High*k(x.Water)
		if x.Why != nil {
			n := turnedNote(*x.Why, unit.Turn{K: k(x.Water)})
			x.Why = &n
		}
		return x
	})
	return h
}

// TurnedChange is a change whose levels and differences are multiplied by k; its chances
// stay.
func TurnedChange(c history.Change, k float64) history.Change {
	c.Before, c.After, c.Difference, c.Low, c.High, c.U, c.Smallest = c.Before*k, c.After*k, c.Difference*k, c.Low*k, c.High*k, c.U*k, c.Smallest*k
	return c
}

// TurnedEffect is what an experiment on waters came to, as it is shown to somebody.
func TurnedEffect(e history.Effect, turn Turns) history.Effect {
	t := turn(e.Scale)
	if t.Same() {
		return e
	}
	k := t.K
	e.Scale, e.Value, e.Low, e.High, e.U, e.Smallest, e.Wander = t.To, e.Value*k, e.Low*k, e.High*k, e.U*k, e.Smallest*k, e.Wander*k
	e.Waters = each(e.Waters, func(s history.Stepped) history.Stepped {
		s.Level, s.Step, s.Low, s.High = s.Level*k, s.Step*k, s.Low*k, s.High*k
		return s
	})
	e.Notes = TurnedNotes(e.Notes, t)
	return e
}

// TurnedChoice is what to use for a need, as it is shown to somebody: k is what its
// concentrations are multiplied by. Knowns of what to test
// next stay as their bottles say, and the readings above which a way dilutes as its test
// shows them.
func TurnedChoice(n choose.NeedChoice, k float64) choose.NeedChoice {
	if k == 1 {
		return n
	}
	n.Need = n.Need.Times(k)
	times := num.Number(k)
	n.Ways = each(n.Ways, func(w choose.Way) choose.Way {
		e := &w.Error
		e.WorstAt, e.Error95, e.Low, e.High, e.Permitted = e.WorstAt*times, e.Error95*times, e.Low*times, e.High*times, e.Permitted*times
		w.Shows, w.Step, w.Why = w.Shows.Times(k), w.Step.Times(k), TurnedNotes(w.Why, unit.Turn{K: k})
		w.Along = timesAlong(w.Along, k)
		w.Beyond = TurnedNotes(w.Beyond, unit.Turn{K: k})
		return w
	})
	n.Because, n.Beside = turnedNote(n.Because, unit.Turn{K: k}), TurnedNotes(n.Beside, unit.Turn{K: k})
	if n.Pair != nil {
		p := *n.Pair
		p.From, p.To = p.From*k, p.To*k
		n.Pair = &p
	}
	return n
}

// chosenText writes a concentration that somebody chose on the scale from which it was turned.
func chosenText(v float64, t unit.Turn) string {
	if t.Same() {
		return typed(v, 0)
	}
	return three(v)
}

// turnedNeed is a verdict whose errors and places are shown on another scale; its reasons
// speak of knowns, which stay as their bottles say.
func turnedNeed(n assess.NeedFinding, t unit.Turn) assess.NeedFinding {
	if t.Same() {
		return n
	}
	k := num.Number(t.K)
	for _, e := range []*assess.ErrorWithin{&n.Raw, &n.Corrected} {
		e.WorstAt, e.Error95, e.Low, e.High, e.Permitted = e.WorstAt*k, e.Error95*k, e.Low*k, e.High*k, e.Permitted*k
	}
	n.Averages = each(n.Averages, func(a assess.Average) assess.Average {
		a.Error95, a.Low, a.High, a.WorstAt, a.Permitted = a.Error95*k, a.Low*k, a.High*k, a.WorstAt*k, a.Permitted*k
		return a
	})
	n.Along = timesAlong(n.Along, t.K)
	return n
}

// turnedBacks are readings turned round, whose levels are multiplied by k.
func turnedBacks(list []assess.ReadBack, k float64) []assess.ReadBack {
	n := num.Number(k)
	return each(list, func(r assess.ReadBack) assess.ReadBack {
		r.Level, r.Low, r.High = r.Level*n, r.Low*n, r.High*n
		r.Parts = each(r.Parts, func(p [2]num.Number) [2]num.Number { return [2]num.Number{p[0] * n, p[1] * n} })
		return r
	})
}

func timesAlong(list []assess.AlongNeed, k float64) []assess.AlongNeed {
	n := num.Number(k)
	return each(list, func(a assess.AlongNeed) assess.AlongNeed {
		return assess.AlongNeed{At: a.At * k, Permitted: a.Permitted * k, Raw: a.Raw * n, RawLow: a.RawLow * n, RawHigh: a.RawHigh * n,
			Corrected: a.Corrected * n, CorrLow: a.CorrLow * n, CorrHigh: a.CorrHigh * n}
	})
}

// TurnedNotes are notes whose concentrations are shown on another scale.
func TurnedNotes(notes []note.Note, t unit.Turn) []note.Note {
	if t.Same() {
		return notes
	}
	return each(notes, func(n note.Note) note.Note { return turnedNote(n, t) })
}

func turnedNote(n note.Note, t unit.Turn) note.Note {
	if t.Same() {
		return n
	}
	for i, name := range concentrations[n.Code] {
		if i == 0 {
			n.Numbers = maps.Clone(n.Numbers)
		}
		if list, there := n.Numbers[name]; there {
			n.Numbers[name] = each(list, func(v num.Number) num.Number { return v * num.Number(t.K) })
		}
	}
	n.Because = TurnedNotes(n.Because, t)
	return n
}

// concentrations are the numbers of notes that stand on a scale of concentrations, by code.
// Every other number is a count, a share, a time, a signal, a volume, or says its unit in
// its sentence; a test asks of each number of each code which it is.
var concentrations = map[string][]string{
	// readings of a trial
	"level-read-once": {"level"}, "never-below-zero": {"level"}, "level-by-other-technique": {"level"}, "single-shares": {"level"}, "not-apart": {"low", "high"}, "never-diluted": {"over"},
	"branches-read-once": {"level", "reads", "u"}, "branches-disagree": {"level", "reads", "u"}, "branches-may-agree": {"level", "reads", "u"},
	"not-tested-between": {"low", "high"}, "not-tested-below": {"level"}, "not-tested-above": {"level"}, "not-tested-undiluted": {"level", "over"}, "not-tested-diluted": {"level", "over"},
	"knowns-too-loose": {"at"}, "too-close": {"at"}, "too-few-readers": {"at"}, "too-few-lots": {"at"}, "readers-tell-little": {"at"}, "lots-tell-little": {"at"}, "only-untried-lot-open": {"at"}, "too-few-tests": {"at"},
	"reads": readsNumbers, "reads-singly": readsNumbers, "half-a-drop": {"half"}, "dead-zone": {"from", "to"},
	"singles-from": {"level"}, "singles-up-to": {"level"}, "singles-at": {"level"},
	"ask-swap": {"level", "read", "expected"}, "ask-slip": {"level", "read", "expected"}, "ask-share": {"level"}, "ask-known": {"level", "as"}, "ask-ends-above": {"level", "shown"}, "ask-ends-below": {"level"},
	// readings of a water
	"reads-above-all": {"top"}, "reads-below-all": {"bottom"}, "nitrite-taken-off": {"reads", "u"}, "nitrite-not-stated": {"reads"}, "nitrite-by-card": {"reads"}, "curve-shows-unknown-above": {"from"}, "curve-rise-unknown": {"from", "to"}, "hold-narrow": {"wide", "doubt"},
	// signals on a curve
	"range-ends": {"end"}, "range-ends-unfitted": {"end", "fitted"}, "curve-turns-back": {"level"}, "dead-zone-as-likely": {"from", "to"}, "curve-too-flat": {"level"},
	"signal-turns-back": {"from", "top"}, "signal-saturated": {"from", "top"}, "point-apart": {"level"}, "no-blank-among-knowns": {"level"},
	"signal-of-flat-knowns": {"from", "low"}, "signal-above-range": {"level"}, "additions-beyond-curve": {"level"}, "signal-below-range": {"level"},
	"levels-from-fit": {"level"}, "levels-up-to-fit": {"level"}, "levels-between-fit": {"low", "high"},
	"could-be-a-blank": {"level"}, "may-lie-above": {"level"}, "levels-get-one-signal": {"level"},
}

var readsNumbers = []string{"from", "to", "first", "last", "ends", "alone_low", "alone_high"}

// each is what becomes of every one of a list; the list itself stays as it is.
func each[T any](list []T, what func(T) T) []T {
	out := slices.Clone(list)
	for i, x := range out {
		out[i] = what(x)
	}
	return out
}

func timesAll(list []float64, k float64) []float64 {
	return each(list, func(v float64) float64 { return v * k })
}

func timesPieces(list []interval.Interval, k float64) []interval.Interval {
	return each(list, func(p interval.Interval) interval.Interval { return p.Scale(k) })
}
