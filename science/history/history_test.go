package history_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"sync"
	"testing"
	"time"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/num"
	"knownwater/science/reading"
	"knownwater/science/result"
	"knownwater/science/unit"
)

var meter = knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.01}

// remembering turns every reading round once for all tests: most of their time went there.
type remembering struct {
	*assess.Performance
	mu    sync.Mutex
	known map[string]result.Outcome
}

func (r *remembering) Read(q result.Question) (result.Outcome, error) {
	key := fmt.Sprintf("%#v", q)
	r.mu.Lock()
	o, there := r.known[key]
	r.mu.Unlock()
	if there {
		return o, nil
	}
	o, err := r.Performance.Read(q)
	if err == nil {
		r.mu.Lock()
		r.known[key] = o
		r.mu.Unlock()
	}
	return o, err
}

var shared *remembering

// recordOf is that of a meter that reads what there is, with a scatter of 0.2: all tests share it.
func recordOf(t *testing.T) history.Source {
	t.Helper()
	if shared == nil {
		shared = &remembering{Performance: recordAs(t, meter), known: map[string]result.Outcome{}}
	}
	return shared
}

func recordAs(t testing.TB, meter knownwater.Method, readers ...string) *assess.Performance {
	t.Helper()
	if readers == nil {
		readers = []string{"Ines"}
	}
	scale, err := unit.Parse("nitrate", "mg/L", "NO3")
	if err != nil {
		t.Fatal(err)
	}
	tr := knownwater.Trial{Scale: scale, Methods: []knownwater.Method{meter}}
	rng := num.Source(5)
	for _, level := range []float64{0, 2, 5, 10, 15} {
		for k := range 6 {
			text := reading.Show(level+0.2*rng.NormFloat64(), meter)
			seen, err := reading.Understand(text, meter)
			if err != nil {
				t.Fatal(err)
			}
			tr.Observations = append(tr.Observations, knownwater.Observation{Method: meter.Name, Level: level, ULevel: 0.02, Text: text, Seen: seen, Dilution: 1, Lot: "L1", Reader: readers[k%len(readers)], Vial: fmt.Sprint(level, k), Count: 1})
		}
	}
	p, err := assess.PerformanceOf(tr, meter.Name, "", assess.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// log of twenty weeks, a check of 10 each week; from week 11 on a lot that reads share of
// what it should.
func log(share float64) (out []history.Entry) {
	rng := num.Source(8)
	for week := range 20 {
		at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week)
		lot, by := "L1", 1.0
		if week >= 10 {
			lot, by = "L2", share
		}
		text := func(c float64) string { return fmt.Sprintf("%.2f", by*c+0.2*rng.NormFloat64()) }
		out = append(out,
			history.Entry{Row: 2*week + 2, At: at, Water: "north tank", Method: "Meter", Lot: lot, Reader: "Ines", Reading: text(4), Dilution: 1},
			history.Entry{Row: 2*week + 3, At: at, Water: "check", Method: "Meter", Lot: lot, Reader: "Ines", Reading: text(10), Dilution: 1, Check: true, Known: 10, UKnown: 0.02})
	}
	return out
}

func judged(t *testing.T, l []history.Entry, sources ...history.Source) history.History {
	t.Helper()
	m := history.Methods{Records: map[string][]history.Source{"Meter": sources}, Kinds: map[string]knownwater.Method{"Meter": meter}}
	if len(sources) == 0 {
		delete(m.Records, "Meter")
	}
	h, err := history.Of(l, m)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestALotThatReadsOtherwise(t *testing.T) {
	p := recordOf(t)
	h := judged(t, log(0.9), p)
	if len(h.Results) != 20 || len(h.Checks) != 2 {
		t.Fatalf("%d results, %d rows of checks", len(h.Results), len(h.Checks))
	}
	first, second := h.Checks[0], h.Checks[1]
	if first.Lot != "L1" || first.Chart.State != control.Holds || first.Onset != nil {
		t.Errorf("L1: %s, %+v", first.Chart.State, first.Onset)
	}
	opened := time.Date(2026, 5, 10, 0, 0, 0, 0, time.UTC)
	if second.Chart.State != control.Moved || second.Onset == nil || !second.Onset.Best.Equal(opened) || !(second.Onset.Low < 0.9 && 0.9 < second.Onset.High) {
		t.Errorf("L2: %s, %+v", second.Chart.State, second.Onset)
	}
	for _, r := range h.Results {
		want := history.Stands
		if r.Lot == "L2" {
			want = history.Waits
		}
		if r.Standing != want || r.Outcome == nil || (r.Again != nil) != (r.Lot == "L2") {
			t.Errorf("row %d of %s %s", r.Row, r.Lot, r.Standing)
		}
		if o := r.Outcome.Result; r.Lot == "L1" && !(o.Low < 4.3 && o.High > 3.7) {
			t.Errorf("row %d: %+v", r.Row, o)
		}
	}

	// in any order the same
	mixed := log(0.9)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
	if again := judged(t, mixed, p); !reflect.DeepEqual(h.Checks, again.Checks) || len(again.Results) != len(h.Results) || !reflect.DeepEqual(h.Results[7].Entry, again.Results[7].Entry) {
		t.Error("the order of entry changed something")
	}

	// a second record speaks beside the first and changes nothing of it
	if both := judged(t, log(0.9), p, p); both.Results[3].Again == nil || !reflect.DeepEqual(both.Results[3].Outcome.Result, h.Results[3].Outcome.Result) || both.Results[3].Again.Result.Estimate != h.Results[3].Outcome.Result.Estimate {
		t.Error("a newer record rewrote a result")
	}
}

// A known that is tested half as often with as many vials shows a shift after twice the time and
// rings falsely half as often; a smaller shift never shows sooner, and without limits nothing is planned.
func TestPlans(t *testing.T) {
	c := judged(t, log(1), recordOf(t)).Checks[0]
	plans := c.Plans(c.Delays())
	at := map[[2]int]history.Plan{}
	for _, p := range plans {
		at[[2]int{p.Weeks, p.Vials}] = p
		if !(p.Shows[0] <= p.Shows[1] && p.Shows[1] <= p.Shows[2]) || p.Shows[0] < float64(p.Weeks) {
			t.Errorf("every %d weeks: %v", p.Weeks, p.Shows)
		}
	}
	every, second, fourth := at[[2]int{1, 1}], at[[2]int{2, 1}], at[[2]int{4, 1}]
	for i, weeks := range every.Shows {
		if second.Shows[i] != 2*weeks || fourth.Shows[i] != 4*weeks || weeks != math.Ceil(c.Delay(history.PlannedRatios[i])) {
			t.Errorf("%v, %v, %v", every.Shows, second.Shows, fourth.Shows)
		}
	}
	if math.Abs(fourth.Years-4*every.Years) > 1e-9 || every.AYear != 52 || at[[2]int{4, 3}].AYear != 39 || !second.Usual {
		t.Errorf("%+v", plans)
	}
	c.Chart.NoLimits = true
	if plans := c.Plans(c.Delays()); plans != nil {
		t.Errorf("without limits %+v", plans)
	}
}

// A method whose readings fall by half a per cent a week is told as one that drifts: what it reads is that of its last
// check, and it began about when it did.
func TestAMethodThatDrifts(t *testing.T) {
	const began, weeks = 8, 30
	rng := num.Source(21)
	var l []history.Entry
	for week := range weeks {
		by := 1 - 0.005*math.Max(0, float64(week-began+1))
		l = append(l, history.Entry{Row: week + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "check", Method: "Meter", Lot: "L1", Reader: "Ines",
			Reading: fmt.Sprintf("%.2f", 10*by+0.2*rng.NormFloat64()), Dilution: 1, Check: true, Known: 10, UKnown: 0.02})
	}
	c := judged(t, l, recordOf(t)).Checks[0]
	first := time.Date(2026, 3, 1+7*began, 0, 0, 0, 0, time.UTC)
	if o := c.Onset; c.Chart.State != control.Moved || o == nil || !o.Drifts || !(o.Low <= 0.89 && 0.89 <= o.High) || o.From.After(first) || o.To.Before(first) {
		t.Errorf("%s, %+v", c.Chart.State, o)
	}
}

// Of a method that read nine tenths for six weeks results wait from then until checks surely show that it reads as it
// should; what is read later stands, until it moves again.
func TestAMethodThatIsBack(t *testing.T) {
	const away, back, again, weeks = 8, 14, 28, 34
	rng := num.Source(22)
	var l []history.Entry
	for week := range weeks {
		by := 1.0
		if week >= away && week < back || week >= again {
			by = 0.9
		}
		at := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week)
		text := func(c float64) string { return fmt.Sprintf("%.2f", by*c+0.2*rng.NormFloat64()) }
		l = append(l,
			history.Entry{Row: 2*week + 2, At: at, Water: "north tank", Method: "Meter", Lot: "L1", Reader: "Ines", Reading: text(4), Dilution: 1},
			history.Entry{Row: 2*week + 3, At: at, Water: "check", Method: "Meter", Lot: "L1", Reader: "Ines", Reading: text(10), Dilution: 1, Check: true, Known: 10, UKnown: 0.02})
	}
	waits := func(until int) (s string) {
		h := judged(t, l[:2*until], recordOf(t))
		for _, r := range h.Results {
			s += map[history.Standing]string{history.Stands: "-", history.Waits: "w"}[r.Standing]
		}
		return s
	}
	for until, want := range map[int]string{
		back:     "--------wwwwww",
		back + 3: "--------wwwwwwwww", // too few checks say that it is back
		again:    "--------wwwwww--------------",
		weeks:    "--------wwwwww--------------wwwwww",
	} {
		if got := waits(until); got != want {
			t.Errorf("after %d weeks %s, want %s", until, got, want)
		}
	}
	c := judged(t, l[:2*again], recordOf(t)).Checks[0]
	if c.Chart.State != control.Moved || c.Onset == nil || !c.Onset.Back || c.Since == nil || c.Now().Chart.State != control.Holds {
		t.Errorf("%s, %+v, since then %+v", c.Chart.State, c.Onset, c.Since)
	}
}

// A lot that was not tried reads as it should until it reads a fifth less, from week 11 on; checks of 2, which do not show that yet, are
// no more evidence of what it read before than those of 10. What was read since waits, and nobody knows what it means.
func TestALotThatMovesInItsMidst(t *testing.T) {
	var l []history.Entry
	rng := num.Source(9)
	for week := range 18 {
		by := 1.0
		if week >= 10 {
			by = 0.8
		}
		for k, c := range []float64{4, 10, 2} {
			e := history.Entry{Row: len(l) + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "north tank", Method: "Meter", Lot: "L2", Reader: "Ines", Dilution: 1}
			e.Reading, e.Check = fmt.Sprintf("%.2f", by*c+0.2*rng.NormFloat64()), k > 0
			if e.Check {
				e.Known, e.UKnown = c, 0.02
			}
			l = append(l, e)
		}
	}
	h := judged(t, l, recordOf(t))
	for _, r := range h.Results {
		if late := r.Row > 3*10; (r.Standing == history.Waits) != late || (r.Again == nil) != late {
			t.Errorf("row %d %s, again %v", r.Row, r.Standing, r.Again)
		}
	}
	n := len(h.Levels)
	if n != 10 || h.Levels[n-1].Low > 4 || h.Levels[n-1].High < 4 {
		t.Fatalf("%d levels, the last %+v", n, h.Levels[n-1])
	}
	if a := h.Results[0].Again; a == nil || a.Result.Low > 4 || a.Result.High < 4 || math.Abs(float64(h.Results[0].Doubt.Numbers["yield"][0])-1) > 0.04 {
		t.Errorf("%+v", h.Results[0].Doubt)
	}
}

func TestALotThatReadsAlike(t *testing.T) {
	h := judged(t, log(1), recordOf(t))
	for _, c := range h.Checks {
		if c.Chart.State != control.Holds {
			t.Errorf("%s: %s", c.Lot, c.Chart.State)
		}
	}
	// ten checks of 10 leave 0.2/(10·√10) of what it reads open, and the record of six readings there and others beside about as much
	for _, r := range h.Results {
		if r.Doubt == nil {
			if r.Lot == "L2" {
				t.Errorf("row %d: not told again", r.Row)
			}
			continue
		}
		// most of that a result has already by its record
		if was, is := r.Outcome.Result.U, r.Again.Result.U; !(is > was && is < 1.03*was) {
			t.Errorf("row %d: u %.4f, then %.4f", r.Row, was, is)
		}
		if y := r.Doubt.Numbers["yield"]; r.Lot != "L2" || len(y) != 3 || !(y[1] < 1 && 1 < y[2]) || !(y[2]-y[1] > 2*num.Z95*0.006 && y[2]-y[1] < 2*num.Z95*0.011) {
			t.Errorf("row %d: %v", r.Row, r.Doubt)
		}
	}
}

func TestWithoutARecord(t *testing.T) {
	h := judged(t, log(0.9))
	if r := h.Results[0]; r.Outcome != nil || r.Standing != history.Stands {
		t.Errorf("%+v", r)
	}
	// the first 8 checks of each lot set its limits: L2 has moved before them, which they cannot know
	for _, c := range h.Checks {
		if c.From != control.FewestSet || c.Why != nil || c.Chart.State == control.Moved || !(c.Chart.Most > 3*c.Chart.Least) {
			t.Errorf("%s: from %d, %s, run length %g to %g", c.Lot, c.From, c.Chart.State, c.Chart.Least, c.Chart.Most)
		}
	}
	short := judged(t, log(0.9)[:10])
	if c := short.Checks[0]; c.Why == nil || c.Why.Code != "limits-not-set-yet" || c.Chart.State != control.Undecided {
		t.Errorf("five checks: %+v", c)
	}
}

func TestFaultsNameRows(t *testing.T) {
	l := log(1)
	l[3].Reading, l[6].Reading = "much", "6d"
	_, err := history.Of(l, history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}})
	fs, ok := err.(knownwater.Faults)
	if !ok || len(fs) == 0 || fs[0].Row != l[3].Row || fs[0].Column != "reading" {
		t.Fatal(err)
	}
	l = log(1)
	for i := range l {
		if l[i].Check {
			l[i].Known = 90
		}
	}
	if h := judged(t, l, recordOf(t)); h.Checks[0].Why == nil || h.Checks[0].Why.Code != "known-beyond-record" {
		t.Errorf("a known beyond all: %+v", h.Checks[0].Why)
	}
}

// Of a lot that nobody knows any more nothing is taken from the trial's: each result is wider,
// by the assumed 10 % of what it reads, and nothing is said across to a lot that is known.
func TestALotNobodyKnows(t *testing.T) {
	p := recordOf(t)
	known := log(1)
	unknown := log(1)
	for i := range unknown {
		if unknown[i].Check {
			unknown[i].Lot = "L2" // no check of the lot that nobody knows
		} else if unknown[i].Lot == "L1" {
			unknown[i].Lot = history.UnknownLot
		}
	}
	a, b := judged(t, known, p), judged(t, unknown, p)
	for i := range a.Results[:10] {
		was, is := a.Results[i].Outcome.Result, b.Results[i].Outcome.Result
		want := math.Hypot(was.High-was.Low, 2*1.96*0.10*was.Estimate)
		if got := is.High - is.Low; math.Abs(got/want-1) > 0.1 {
			t.Errorf("result %d is %.3g wide, want %.3g", i, got, want)
		}
	}
	if !reflect.DeepEqual(a.Results[12].Outcome, b.Results[12].Outcome) {
		t.Error("a result of a lot that was named is another")
	}
	said := false
	for _, n := range b.Notes {
		said = said || n.Code == "lots-not-stated"
	}
	if !said {
		t.Error("nobody says that the lots are not known")
	}
	across := 0
	for _, c := range b.Changes {
		if c.Came {
			across++
			if c.Verdict != history.CannotBeTold {
				t.Errorf("from %v to %v: %v, want “cannot be told”", c.From, c.To, c.Verdict)
			}
		}
	}
	if across == 0 {
		t.Error("no change across the lots")
	}
	if was, is := a.Levels[3], b.Levels[3]; !(is.High-is.Low > 1.9*2*0.10*is.Level) || is.High-is.Low < was.High-was.Low {
		t.Errorf("the level is %.3g wide, and %.3g where the lot was tried", is.High-is.Low, was.High-was.Low)
	}
}

// Nitrite that is measured is taken off before anything is said of the water: what looks like a rise is
// none, and the factor's doubt, shared by all, is in the difference.
func TestNitriteIsNoRise(t *testing.T) {
	p := recordAs(t, meter)
	p.Nitrite = &assess.NitriteFinding{Method: "Meter", Factor: 7, Low: 6, High: 8, U: 0.5, N: 6}
	rng := num.Source(31)
	var l []history.Entry
	for week := range 16 {
		nitrite := 0.0
		if week >= 8 {
			nitrite = 0.3
		}
		l = append(l, history.Entry{Row: week + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "north tank", Method: "Meter", Lot: "L1", Reader: "Ines",
			Reading: fmt.Sprintf("%.2f", 4+7*nitrite+0.2*rng.NormFloat64()), Dilution: 1, Known: math.NaN(), NitriteKnown: true, Nitrite: nitrite, UNitrite: 0.02})
	}
	whole := judged(t, l, p).ChangesOf("north tank").Whole
	if whole == nil || whole.Verdict == history.Rose || !(whole.Low < 0 && whole.High > 0) {
		t.Fatalf("with nitrite taken off: %+v", whole)
	}
	if least := 1.96 * 0.3 * 0.5; !((whole.High-whole.Low)/2 > least) {
		t.Errorf("the difference is ± %.2f, the factor's doubt alone ± %.2f", (whole.High-whole.Low)/2, least)
	}
	for i := range l {
		l[i].NitriteKnown = false
	}
	h := judged(t, l, p)
	if c := h.ChangesOf("north tank").Whole; c == nil || c.Verdict != history.Rose || math.Abs(c.Difference-2.1) > 0.4 {
		t.Errorf("with nitrite unknown: %+v", c)
	}
	said := false
	for _, n := range h.Notes {
		said = said || n.Code == "nitrite-not-stated-of"
	}
	if !said {
		t.Error("nobody warns of nitrite")
	}
}

// Readings that say no more than “below 2” leave the water anywhere from nothing up to that, however many there are: twenty of them say no
// more of how near to nothing it is than one does, and hardly let it be above.
func TestReadingsThatAreAllBelow(t *testing.T) {
	l := log(1)
	for i := range l {
		if !l[i].Check {
			l[i].Reading = "<2.00"
		}
	}
	for _, x := range ofLog(t, l, history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}}).Levels {
		if x.Low > 0 || !(x.High > 1.2 && x.High < 2.5) {
			t.Fatalf("on %v the water was at %.2f to %.2f", x.Entry.At, x.Low, x.High)
		}
	}
}

// Nitrite that is there all the time, and is measured from half way on: the water falls by nothing on the day from which it is taken off.
func TestNitriteMeasuredFromSomeDayOn(t *testing.T) {
	p := recordAs(t, meter)
	p.Nitrite = &assess.NitriteFinding{Method: "Meter", Factor: 7, Low: 6, High: 8, U: 0.5, N: 6}
	rng := num.Source(32)
	var l []history.Entry
	for week := range 16 {
		e := history.Entry{Row: week + 2, At: time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, 7*week), Water: "north tank", Method: "Meter", Lot: "L1", Reader: "Ines",
			Reading: fmt.Sprintf("%.2f", 4+7*0.3+0.2*rng.NormFloat64()), Dilution: 1, Known: math.NaN()}
		if week >= 8 {
			e.NitriteKnown, e.Nitrite, e.UNitrite = true, 0.3, 0.02
		}
		l = append(l, e)
	}
	if whole := judged(t, l, p).ChangesOf("north tank").Whole; whole == nil || whole.Verdict == history.Fell || !(whole.Low < 0 && whole.High > 0) {
		t.Errorf("%+v", whole)
	}
	for i := range l[8:] { // measured as none: what was there before may have been nitrate, and the water fell
		l[8+i].Reading, l[8+i].Nitrite = fmt.Sprintf("%.2f", 4+0.2*rng.NormFloat64()), 0
	}
	if whole := judged(t, l, p).ChangesOf("north tank").Whole; whole == nil || whole.Verdict != history.Fell {
		t.Errorf("none of it: %+v", whole)
	}
}

// Between results that lie a week apart the level is told three times, and there is more doubt of it than on their days; the
// level of a trend is where that of the walk is, and its slope on the last day is the one that is told of it.
func TestLevelsBetween(t *testing.T) {
	l := log(1)
	rng := num.Source(12)
	at := 4.0
	for i := range l {
		if !l[i].Check {
			at += 0.3 * rng.NormFloat64()
			l[i].Reading = fmt.Sprintf("%.2f", at)
		}
	}
	h := ofLog(t, l, history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}})
	if len(h.Between) != 3*(len(h.Levels)-1) || len(h.Trends) != len(h.Levels) {
		t.Fatalf("%d levels, %d between, %d trends", len(h.Levels), len(h.Between), len(h.Trends))
	}
	for i, b := range h.Between {
		before, after := h.Levels[i/3], h.Levels[i/3+1]
		if !b.At.After(before.Entry.At) || !b.At.Before(after.Entry.At) || b.Water != before.Water {
			t.Errorf("%v does not lie between %v and %v", b.At, before.Entry.At, after.Entry.At)
		}
		if i%3 == 1 && !(b.High-b.Low > math.Max(before.High-before.Low, after.High-after.Low)) {
			t.Errorf("%v: %.3f wide between %.3f and %.3f", b.At, b.High-b.Low, before.High-before.Low, after.High-after.Low)
		}
		share := float64(i%3+1) / 4
		if want := before.Level + share*(after.Level-before.Level); math.Abs(b.Level-want) > 0.02 { // a walk goes straight where nothing is seen
			t.Errorf("%v: level %.3f, on the way lies %.3f", b.At, b.Level, want)
		}
	}
	last := h.Trends[len(h.Trends)-1]
	if s := h.Slopes[0]; math.Abs(last.PerWeek-s.Now) > 1e-3 || !(last.Least < s.Now && s.Now < last.Most) {
		t.Errorf("slope on the last day %v, of the trend %v", s.Now, last.PerWeek)
	}
	for i, x := range h.Trends {
		if v := h.Levels[i]; math.Abs(x.Level-v.Level) > v.High-v.Low || !(x.Low < x.Level && x.Level < x.High) {
			t.Errorf("%v: %.2f by the trend, %.2f by the walk", x.Entry.At, x.Level, v.Level)
		}
	}
}
