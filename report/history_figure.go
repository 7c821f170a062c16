package report

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"knownwater/chart"
	"knownwater/science/history"
	"knownwater/science/inverse"
	"knownwater/wording"
)

// HistoryFigure is every result of a water as it is expressed now, a grey dash beside it where
// it was said otherwise; uprights where a method, a lot or a reader comes that was not there in
// the five weeks before; and the axis torn where nothing links what lies on both sides. was is
// what a result said at the time (NaN: nothing), need the range that is wanted (nil: none). It is empty
// where no result is in concentrations.
func HistoryFigure(l *wording.Language, id string, h history.History, water string, need *chart.Stretch, was func(history.Result) float64) string {
	var results []history.Result
	for _, x := range h.Results {
		if x.Water == water {
			results = append(results, x)
		}
	}
	if len(results) == 0 {
		return ""
	}
	first, last := results[0].At, results[len(results)-1].At
	t := chart.Times{ID: id, Title: l.Say("{1}, results over time, as they are expressed now", clean(water)), Height: 260, First: dayOf(first), Last: dayOf(last), Known: math.NaN(), Days: chart.DaysBetween(first, last), Need: need}
	var levels []float64
	var said []string
	lately := map[string]time.Time{}
	for i, x := range results {
		if i > 0 {
			if e, changed := eventOf(speech{l}, results[i-1], x, lately); changed {
				t.Events = append(t.Events, e)
			}
		}
		method, lot, reader := partsOf(x)
		lately[method], lately[lot], lately[reader] = x.At, x.At, x.At
		o := x.Outcome
		if x.Again != nil {
			o = x.Again
		}
		if o == nil {
			continue
		}
		verdict := chart.Plain
		if x.Standing == history.Waits && x.Again == nil {
			verdict = chart.Undecided
		}
		b := chart.Bar{Low: o.Result.Low, High: o.Result.High, Notch: o.Result.Estimate, Verdict: verdict}
		if o.Result.Open == inverse.Above {
			b.High = math.Inf(1)
		}
		t.Bars = append(t.Bars, chart.TimeBar{At: dayOf(x.At), Bar: b})
		for _, v := range []float64{o.Result.Low, o.Result.High} {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				levels = append(levels, v)
			}
		}
		if w := was(x); x.Again != nil && !math.IsNaN(w) {
			t.Was = append(t.Was, chart.TimeMark{At: dayOf(x.At), Value: w})
		}
		if len(t.Bars) <= mostDescribed {
			said = append(said, speech{l}.onDay(x.At)+": "+ReadingBrief(l, *o))
		}
	}
	if len(levels) == 0 {
		return ""
	}
	if need != nil {
		levels = append(levels, need.Low, need.High)
	}
	scale := chart.ScaleFor(append(levels, 1.15*slices.Max(levels))...)
	t.Scale, t.Desc = &scale, strings.Join(said, "; ")
	torn(speech{l}, &t, h, water)
	t.Level = levelBand(h, water, t.Tears)
	return t.SVG()
}

// levelBand is where the water was, on the days of its results and between them; it breaks where the axis is torn.
func levelBand(h history.History, water string, tears []float64) (b chart.Band) {
	type at struct{ day, low, high float64 }
	var all []at
	for _, x := range h.Levels {
		if x.Water == water {
			all = append(all, at{dayOf(x.Entry.At), x.Low, x.High})
		}
	}
	for _, x := range h.Between {
		if x.Water == water {
			all = append(all, at{dayOf(x.At), x.Low, x.High})
		}
	}
	for _, day := range tears {
		all = append(all, at{day, math.NaN(), math.NaN()})
	}
	slices.SortStableFunc(all, func(a, b at) int { return cmp.Compare(a.day, b.day) })
	for _, x := range all {
		b.At, b.Low, b.High = append(b.At, x.day), append(b.Low, x.low), append(b.High, x.high)
	}
	return b
}

// mostDescribed are the results that a figure says in words, too.
const mostDescribed = 400

// lateDays are how long a method, lot or reader may have been away without being new again:
// the samples that are read with two methods are no changes.
const lateDays = 35

// torn tears the axis where nothing links what lies on both sides. What is now lies right of
// the last tear.
func torn(l speech, t *chart.Times, h history.History, water string) {
	for _, c := range h.ChangesOf(water).Broken {
		if c.Whole {
			continue
		}
		at := (dayOf(c.Until) + dayOf(c.Since)) / 2
		t.Tears = append(t.Tears, at)
		t.Off = []chart.Stretch{{Low: t.First, High: at}}
	}
	if len(t.Events) > 6 {
		for i := range t.Events {
			t.Events[i].Words = ""
		}
	}
}

func dayOf(t time.Time) float64 { return float64(t.Unix()) / 86400 }

// partsOf name what read a result.
func partsOf(x history.Result) (method, lot, reader string) {
	return "method\x00" + x.Method, "lot\x00" + x.Method + "\x00" + x.Lot, "reader\x00" + x.Reader
}

// eventOf is what changed from one result to the next; lately says when each part was last there.
func eventOf(l speech, a, b history.Result, lately map[string]time.Time) (e chart.Event, changed bool) {
	method, lot, reader := partsOf(b)
	isNew := func(part string) bool {
		last, there := lately[part]
		return !there || dayOf(b.At)-dayOf(last) > lateDays
	}
	at := (dayOf(a.At) + dayOf(b.At)) / 2
	switch {
	case a.Method != b.Method && isNew(method):
		return chart.Event{At: at, Words: clean(b.Method)}, true
	case b.Lot != "" && a.Lot != b.Lot && isNew(lot):
		return chart.Event{At: at, Words: l.Say("lot {1}", clean(b.Lot)), Dashed: true}, true
	case a.Reader != "" && b.Reader != "" && a.Reader != b.Reader && isNew(reader):
		return chart.Event{At: at, Words: clean(b.Reader), Dashed: true}, true
	}
	return e, false
}
