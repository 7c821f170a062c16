package choose

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/num"
)

// madeUp is a trial whose findings are written down: a verdict, an upper error and a method.
type madeUp struct {
	method         knownwater.Method
	raw, corrected string // verdicts
	verdict        string // of the finding
	high           float64
	averages       []assess.Average
}

var need = knownwater.Need{Name: "hold", Low: 2, High: 6, Permitted: []knownwater.Permit{{At: 2, Error: 1}, {At: 6, Error: 1}}, TestsAMonth: 12}

func trialOf(all ...madeUp) Trial {
	var t Trial
	for _, m := range all {
		e := func(verdict string) assess.ErrorWithin {
			return assess.ErrorWithin{Verdict: verdict, WorstAt: 2, Error95: num.Number(0.8 * m.high), Low: num.Number(0.6 * m.high), High: num.Number(m.high), Permitted: 1}
		}
		f := assess.NeedFinding{Need: need.Name, Verdict: m.verdict, Raw: e(m.raw), Corrected: e(m.corrected), Averages: m.averages}
		for _, at := range []float64{2, 4, 6} {
			f.Along = append(f.Along, assess.AlongNeed{At: at, Permitted: 1,
				Raw: num.Number(0.8 * m.high), RawHigh: num.Number(m.high), Corrected: num.Number(0.8 * m.high), CorrHigh: num.Number(m.high)})
		}
		t.Trial.Methods = append(t.Trial.Methods, m.method)
		t.Findings.Methods = append(t.Findings.Methods, assess.MethodFinding{Method: m.method.Name, Dilution: 1, Needs: []assess.NeedFinding{f}})
		t.Findings.Procedures = append(t.Findings.Procedures, assess.Procedure{Method: m.method.Name, Branches: []assess.Branch{{Dilution: 1, To: num.None}}, Needs: []assess.NeedFinding{f}})
	}
	return t
}

func chosen(t *testing.T, n knownwater.Need, trial Trial) NeedChoice {
	t.Helper()
	c := Of([]knownwater.Need{n}, []Trial{trial}, Options{})
	if len(c.Needs) != 1 {
		t.Fatalf("%+v", c)
	}
	return c.Needs[0]
}

func near(t *testing.T, what string, got num.Number, want float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) <= 1e-9*math.Max(1, math.Abs(want))) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// Money by hand. 12 answers a month by packs of 50 for 25: 12·12·0.5 = 72 a year, an average of
// two 144. At 2 a month a pack of 50 that lasts 10 months spoils: 12/10 packs a year = 30.
// Refills of 40 for 15 are cheaper at 12 (54) and at 2 (18).
func TestCost(t *testing.T) {
	m := knownwater.Method{Name: "Meter", PackPrice: 25, PackTests: 50, Minutes: 6, HandsOnMinutes: 2, WasteML: 10}
	cost := func(tests int, supply string, answers float64) Cost {
		for _, w := range bought([]Way{{Use: Use{Tests: tests, method: m}}}) {
			if w.Supply == supply {
				return costOf(w.Use, answers)
			}
		}
		t.Fatalf("no way by %q", supply)
		return Cost{}
	}
	c := cost(1, "", 12)
	near(t, "pack", c.Money, 72)
	near(t, "minutes", c.Minutes, 6)
	near(t, "waste", c.WasteML, 1440)
	near(t, "average of 2", cost(2, "", 12).Money, 144)
	near(t, "minutes of 2", cost(2, "", 12).Minutes, 12)
	m.ShelfMonths = 10
	if c = cost(1, "", 2); !c.Spoils {
		t.Error("a pack that lasts 10 months spoils at 2 tests a month")
	}
	near(t, "spoiled", c.Money, 30)
	if c = cost(1, "", 5.0001); c.Spoils {
		t.Error("at 5 a month a pack of 50 is just used up in 10 months")
	}
	m.RefillPrice, m.RefillTests = 15, 40
	if c = cost(1, Refill, 12); !c.Refill {
		t.Error("a refill is one")
	}
	near(t, "refill", c.Money, 54)
	near(t, "pack beside a refill", cost(1, Pack, 12).Money, 72)
	near(t, "refill spoiled", cost(1, Refill, 2).Money, 18)
	m.RefillMonths = 4 // 12/4 refills a year are 45; below 10 a month they spoil
	near(t, "refill that lasts 4 months", cost(1, Refill, 2).Money, 45)
	if !cost(1, Refill, 9.99).Spoils || cost(1, Refill, 10.01).Spoils || cost(1, Pack, 5.01).Spoils {
		t.Error("40 tests in 4 months are 10 a month; a pack keeps its own time")
	}
	m.RefillMonths, m.DevicePrice, m.DeviceYears = 0, 200, 8
	near(t, "with its device", cost(1, Refill, 12).Money, 54+25)
	m = knownwater.Method{}
	if c = cost(1, "", 12); c.Money.OK() || c.Minutes.OK() {
		t.Errorf("nothing is stated: %+v", c)
	}
}

// Break-evens by hand.
//
// A meter of 240 over 8 years with tests at 0.2 against a card with tests at 0.5:
// 30 + 2.4·m = 6·m at m = 30 ÷ 3.6 = 8.333… answers a month.
//
// A pack of 100 for 40 that lasts 12 months against one of 25 for 15 that lasts as long:
// 40 a year up to 100/12 = 8.33 a month; 15 a year up to 25/12, then 0.6·12·m = 7.2·m, which
// reaches 40 at 5.555…
//
// One method by packs of 25 for 15 that last 12 months or refills of 100 for 40 that last 8:
// a pack 15 a year up to 25/12, then 7.2·m; a refill 60 up to 100/8 = 12.5. 7.2·m = 60 at 8.333…
func TestChanges(t *testing.T) {
	fit := func(m knownwater.Method) madeUp {
		return madeUp{method: m, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5}
	}
	for _, c := range []struct {
		name  string
		a, b  knownwater.Method
		limit float64
		want  string
	}{
		{"a device", knownwater.Method{Name: "Card", PackPrice: 25, PackTests: 50}, knownwater.Method{Name: "Meter", PackPrice: 10, PackTests: 50, DevicePrice: 240, DeviceYears: 8}, 0, "8.3333 Card Meter 50"},
		{"spoiling", knownwater.Method{Name: "Small", PackPrice: 15, PackTests: 25, ShelfMonths: 12}, knownwater.Method{Name: "Large", PackPrice: 40, PackTests: 100, ShelfMonths: 12}, 0, "5.5556 Small Large 40"},
		{"pack or refill", knownwater.Method{Name: "Card", PackPrice: 15, PackTests: 25, ShelfMonths: 12, RefillPrice: 40, RefillTests: 100, RefillMonths: 8}, knownwater.Method{Name: "Dear", PackPrice: 500, PackTests: 50, ShelfMonths: 12}, 0, "8.3333 Card pack Card refill 60"},
		{"never", knownwater.Method{Name: "Card", PackPrice: 25, PackTests: 50}, knownwater.Method{Name: "Dear", PackPrice: 50, PackTests: 50}, 0, ""},
		{"money ends", knownwater.Method{Name: "Card", PackPrice: 25, PackTests: 50}, knownwater.Method{Name: "Dear", PackPrice: 50, PackTests: 50}, 60, "10.0000 Card - 60"},
	} {
		n := need
		n.MoneyAYear = c.limit
		got := ""
		out := chosen(t, n, trialOf(fit(c.a), fit(c.b)))
		name := func(i int) string {
			if i < 0 {
				return "-"
			}
			return strings.TrimSpace(out.Ways[i].Method + " " + out.Ways[i].Supply)
		}
		for _, x := range out.Changes {
			got += fmt.Sprintf("%.4f %s %s %.4g", x.AnswersAMonth, name(x.From), name(x.To), x.Money)
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// What wrong calls cost changes places, too: asked just below and just above each change, its two ways are the ones to use.
func TestChangesWithWrongCalls(t *testing.T) {
	n := need
	n.WrongBelow, n.WrongAbove, n.FalseAlarm = 10, 20, 4
	way := func(name string, price, error95 float64) madeUp {
		return madeUp{method: knownwater.Method{Name: name, PackPrice: price, PackTests: 50, ShelfMonths: 12}, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: error95}
	}
	ways := trialOf(way("Rough", 2, 0.9), way("Middle", 10, 0.5), way("Fine", 24, 0.1))
	out := chosen(t, n, ways)
	if len(out.Changes) != 2 {
		t.Fatalf("%+v, want two", out.Changes)
	}
	for _, x := range out.Changes {
		for k, at := range []int{x.From, x.To} {
			n.TestsAMonth = x.AnswersAMonth * (0.99 + 0.02*float64(k))
			if used, ok := chosen(t, n, ways).Used(); !ok || used.Method != out.Ways[at].Method || used.Corrected != out.Ways[at].Corrected {
				t.Errorf("at %.3g answers a month %s is used, said is %s", n.TestsAMonth, used.Method, out.Ways[at].Method)
			}
		}
	}
}

// By hand, of the upper limits 0.5 (72 a year), 0.1 (144) and 3 (36) of 1 permitted: below 0.5
// times that the second would be taken, from 3 times on the third, and of an average, too.
func TestLoosened(t *testing.T) {
	m := func(name string, price, high float64, verdict string) madeUp {
		return madeUp{method: knownwater.Method{Name: name, PackPrice: price, PackTests: 50}, raw: verdict, corrected: verdict, verdict: verdict, high: high}
	}
	held := m("Held", 1, 0.2, assess.HeldBack)
	rough := m("Rough", 12.5, 3, assess.NotFit)
	n := chosen(t, need, trialOf(m("Card", 25, 0.5, assess.Fit), m("Meter", 50, 0.1, assess.Fit), rough, held))
	got := ""
	for _, x := range n.Loosen {
		got += fmt.Sprintf("%g %s %s; ", x.Times, n.Ways[x.From].Method, n.Ways[x.To].Method)
	}
	if got != "0.5 Meter Card; 3 Card Rough; " {
		t.Errorf("%s", got)
	}
	rough.averages = []assess.Average{{N: 2, Readers: 1, Verdict: assess.NotFit, Error95: 1.5, Low: 1.2, High: 2, WorstAt: 2, Permitted: 1}}
	rough.method.PackPrice = 10
	n = chosen(t, need, trialOf(m("Card", 25, 0.5, assess.Fit), rough)) // two at 10 are cheaper than one at 25
	if x := n.Loosen[len(n.Loosen)-1]; x.Times != 2 || n.Ways[x.To].Tests != 2 {
		t.Errorf("%+v", x)
	}
	for _, verdict := range []string{assess.HeldBack, assess.NotTried} {
		if n = chosen(t, need, trialOf(m("Held", 1, 2, verdict))); len(n.Loosen) != 0 {
			t.Errorf("%s is not settled by permitting more: %+v", verdict, n.Loosen)
		}
	}
}

// use is only among ways that are fit and inside the limits, the least money first.
func TestUse(t *testing.T) {
	card := knownwater.Method{Name: "Card", PackPrice: 25, PackTests: 50, Minutes: 6, Kind: knownwater.Chart}
	meter := knownwater.Method{Name: "Meter", PackPrice: 50, PackTests: 50, Minutes: 3, Kind: knownwater.Display, Hazards: []string{"acid"}}
	bad := madeUp{method: card, raw: assess.NotFit, corrected: assess.NotFit, verdict: assess.NotFit, high: 3}
	good := madeUp{method: card, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5}
	dear := madeUp{method: meter, raw: assess.NotFit, corrected: assess.Fit, verdict: assess.FitWhenCorrected, high: 0.7}
	bad2 := bad
	bad2.averages = []assess.Average{{N: 2, Readers: 1, Verdict: assess.Fit, Error95: 0.5, Low: 0.4, High: 0.6}, {N: 2, Readers: 2, Verdict: assess.Fit, Error95: 0.4, Low: 0.3, High: 0.5}}
	lot := good
	lot.verdict = assess.Undecided
	held := good
	held.verdict = assess.HeldBack
	for _, c := range []struct {
		name  string
		trial Trial
		need  func(*knownwater.Need)
		use   string
		why   string
	}{
		{"cheapest", trialOf(dear, good), nil, "Card 1 false", "choose-least-money"},
		{"only corrected", trialOf(dear, bad), nil, "Meter 1 true", "choose-only-one"},
		{"an average", trialOf(bad2), nil, "Card 2 false", "choose-only-one"},
		{"too slow", trialOf(good), func(n *knownwater.Need) { n.MinutesAtMost = 5 }, "", "choose-beyond-limits"},
		{"just in time", trialOf(good), func(n *knownwater.Need) { n.MinutesAtMost = 6 }, "Card 1 false", "choose-least-money"},
		{"too dear", trialOf(good), func(n *knownwater.Need) { n.MoneyAYear = 71.9 }, "", "choose-beyond-limits"},
		{"just money", trialOf(good), func(n *knownwater.Need) { n.MoneyAYear = 72 }, "Card 1 false", "choose-least-money"},
		{"no colours", trialOf(dear, good), func(n *knownwater.Need) { n.NoColours = true }, "Meter 1 true", "choose-only-one"},
		{"minutes not said", trialOf(madeUp{method: knownwater.Method{Name: "Meter"}, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5}), func(n *knownwater.Need) { n.MinutesAtMost = 5 }, "", "choose-beyond-limits"},
		{"no acid", trialOf(dear), func(n *knownwater.Need) { n.OnlyHazards = true; n.Hazards = []string{"toxic"} }, "", "choose-beyond-limits"},
		{"a lot holds back", trialOf(lot), nil, "", "choose-undecided"},
		{"a question holds back", trialOf(held), nil, "", "question-first"},
		{"none fit", trialOf(bad), nil, "", "choose-nothing-fit"},
		{"none at all", Trial{}, nil, "", "choose-nothing-tried"},
	} {
		n := need
		if c.need != nil {
			c.need(&n)
		}
		out := chosen(t, n, c.trial)
		got := ""
		if w, ok := out.Used(); ok {
			got = fmt.Sprintf("%s %d %v", w.Method, w.Tests, w.Corrected)
			if !w.Can() || !w.Inside() {
				t.Errorf("%s: uses %+v", c.name, w)
			}
		}
		if got != c.use || out.Because.Code != c.why {
			t.Errorf("%s: %q because %s, want %q because %s", c.name, got, out.Because.Code, c.use, c.why)
		}
	}
}

// A way has the bias and the limits of its own method, water and dilution, and there is none of what was not tried.
func TestEachWayItsOwn(t *testing.T) {
	fit := func(name string) madeUp {
		return madeUp{method: knownwater.Method{Name: name}, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5}
	}
	trial := trialOf(fit("Card"), fit("Card"), fit("Card"), fit("Meter"))
	f := &trial.Findings
	f.Procedures = []assess.Procedure{f.Procedures[0], f.Procedures[1], f.Procedures[3]}
	for i, water := range []string{"fresh", "salt", "salt", "salt"} {
		m := &f.Methods[i]
		m.Matrix, m.Limits.Detection, m.Steps = water, num.Number(i+1), []assess.Step{{At: 1, SmallestStep: num.Number(i + 1)}, {At: 2, SmallestStep: num.Number(10 * (i + 1))}, {At: 3}}
		m.Levels = []assess.LevelFinding{{Level: 1, Bias: num.Number(i + 1)}, {Level: 9, Bias: num.Number(i + 1)}}
	}
	f.Methods[2].Dilution = 4
	for i, water := range []string{"fresh", "salt", "salt"} {
		f.Procedures[i].Matrix = water
	}
	want := map[string]num.Number{"Card fresh ×1": 1, "Card salt ×1": 2, "Card salt ×4": 3, "Meter salt ×1": 4}
	ways := chosen(t, need, trial).Ways
	if len(ways) != 2*len(want) {
		t.Errorf("%d ways, want each as read and corrected: %+v", len(ways), ways)
	}
	for _, w := range ways {
		name := fmt.Sprintf("%s %s ×%g", w.Method, w.Matrix, w.Dilution)
		near(t, name+": bias", num.Number(w.biases.at(4)), float64(want[name]))
		near(t, name+": what shows", w.Shows.Is, float64(want[name]))
		near(t, name+": the smallest step from 2", w.Step.Is, 10*float64(want[name]))
		if waters := map[string]int{"Card": 2, "Meter": 1}[w.Method]; w.Waters != waters {
			t.Errorf("%s: of %d waters", name, w.Waters)
		}
	}
}

// Why the first stands first is said of what is known: by its price, by the price of those that have one, by what wrong calls cost
// beside it, by minutes where nothing has a price, and by tests where nobody says how long they take.
func TestWhyTheFirst(t *testing.T) {
	way := func(name string, price, minutes, error95 float64) madeUp {
		m := knownwater.Method{Name: name, PackPrice: price, Minutes: minutes}
		if price > 0 {
			m.PackTests = 50
		}
		return madeUp{method: m, raw: assess.Fit, corrected: assess.NotFit, verdict: assess.Fit, high: error95}
	}
	calls := need
	calls.WrongAbove = 40
	for _, c := range []struct {
		need      knownwater.Need
		a, b      madeUp
		use, says string
	}{
		{need, way("Card", 25, 6, 0.9), way("Meter", 50, 3, 0.1), "Card", "choose-least-money"},
		{calls, way("Card", 25, 6, 0.9), way("Meter", 50, 3, 0.1), "Meter", "choose-least-with-calls"},
		{calls, way("Card", 25, 6, 0.1), way("Meter", 50, 3, 0.1), "Card", "choose-least-money"},
		{need, way("Card", 25, 6, 0.9), way("Meter", 0, 3, 0.1), "Card", "choose-least-known"},
		{need, way("Card", 0, 6, 0.9), way("Meter", 0, 3, 0.1), "Meter", "choose-least-effort"},
		{need, way("Card", 0, 0, 0.9), way("Meter", 0, 0, 0.1), "Meter", "choose-fewest-tests"},
	} {
		out := chosen(t, c.need, trialOf(c.a, c.b))
		if w, _ := out.Used(); w.Method != c.use || out.Because.Code != c.says {
			t.Errorf("%s because %s, want %s because %s", w.Method, out.Because.Code, c.use, c.says)
		}
	}
}

// Two readers stand in the list only where there are two.
func TestReaders(t *testing.T) {
	m := madeUp{method: knownwater.Method{Name: "Card"}, raw: assess.Undecided, corrected: assess.Undecided, verdict: assess.Undecided, high: 2,
		averages: []assess.Average{{N: 2, Readers: 1, Verdict: assess.Undecided}, {N: 2, Readers: 2, Verdict: assess.Fit}}}
	for readers, want := range map[int]int{0: 3, 1: 3, 2: 4} {
		c := Of([]knownwater.Need{need}, []Trial{trialOf(m)}, Options{Readers: readers})
		if got := len(c.Needs[0].Ways); got != want {
			t.Errorf("%d readers: %d ways, want %d", readers, got, want)
		}
		slow := need
		slow.MinutesAtMost = 1
		for _, x := range Of([]knownwater.Need{slow}, []Trial{trialOf(m)}, Options{Readers: readers}).Notes {
			if x.Code == "choose-second-reader" {
				t.Errorf("%d readers: a second reader does not make it quicker", readers)
			}
		}
		if told := len(c.Notes) > 1 && c.Notes[len(c.Notes)-1].Code == "choose-second-reader"; told != (readers < 2) {
			t.Errorf("%d readers: %v", readers, c.Notes)
		}
	}
}

// A pair by hand: a card at 0.5 errs by 0.5 in 95 of 100, upper limit 0.625, so that results from
// 2.625 to 5.375 stand. Of waters from 2 to 6 alike about 1.25 in 4 are confirmed by a meter at 10:
// 72 + 0.31·1440 against 1440.
func TestPair(t *testing.T) {
	card := madeUp{method: knownwater.Method{Name: "Card", PackPrice: 25, PackTests: 50}, raw: assess.Undecided, corrected: assess.NotFit, verdict: assess.Undecided, high: 0.625}
	meter := madeUp{method: knownwater.Method{Name: "Meter", PackPrice: 500, PackTests: 50}, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.2}
	n := chosen(t, need, trialOf(card, meter))
	p := n.Pair
	if p == nil || n.Ways[p.Everyday].Method != "Card" || n.Ways[p.Confirm].Method != "Meter" {
		t.Fatalf("%+v", n)
	}
	near(t, "from", num.Number(p.From), 2.625)
	near(t, "to", num.Number(p.To), 5.375)
	near(t, "money", num.Number(p.Money), 72+p.Share*1440)
	near(t, "alone", num.Number(p.Alone), 1440)
	if math.Abs(p.Share-1.25/4) > 0.001 { // each end loses and wins alike but for the corners
		t.Errorf("share %v", p.Share)
	}
	usually := need
	usually.Usual = [2]float64{4, 8} // a half above 6, and of those below those above 5.375
	if q := chosen(t, usually, trialOf(card, meter)).Pair; q != nil {
		t.Errorf("more than half of such waters are confirmed: %+v", q)
	}
	usually.Usual = [2]float64{3.5, 4.5}
	if q := chosen(t, usually, trialOf(card, meter)).Pair; q == nil || q.Share > 0.001 {
		t.Errorf("hardly any of such waters are confirmed: %+v", q)
	}
	for _, verdict := range []string{assess.HeldBack, assess.NotTried} {
		waits := card
		waits.raw, waits.corrected, waits.verdict = verdict, verdict, verdict
		if n = chosen(t, need, trialOf(waits, meter)); n.Pair != nil {
			t.Errorf("%s, and left alone by: %+v", verdict, n.Pair)
		}
	}
	dear := card
	dear.method.PackPrice = 400
	if n = chosen(t, need, trialOf(dear, meter)); n.Pair != nil {
		t.Errorf("960 + 0.31·1440 is more than 1440: %+v", n.Pair)
	}
}

// What a wrong call costs goes before what a test costs: a cheap card that errs more loses
// against a dear meter when each miss is dear.
func TestLoss(t *testing.T) {
	card := madeUp{method: knownwater.Method{Name: "Card", PackPrice: 25, PackTests: 50}, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.9}
	meter := madeUp{method: knownwater.Method{Name: "Meter", PackPrice: 50, PackTests: 50}, raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.1}
	n := need
	for cost, want := range map[float64]string{0: "Card", 1: "Card", 40: "Meter"} {
		n.WrongAbove = cost
		out := chosen(t, n, trialOf(card, meter))
		if w, _ := out.Used(); w.Method != want {
			t.Errorf("at %v: %s, want %s", cost, w.Method, want)
		}
	}
	// waters evenly from 0 to 8 (half the width beyond each end), σ = 0.72 ÷ 1.96 = 0.367: of those
	// above 6 the share taken for right is σ/√(2π)/8 (the integral of a normal tail).
	out := chosen(t, n, trialOf(card))
	sigma := 0.8 * 0.9 / 1.959963984540054
	if got, want := float64(out.Ways[0].Loss.Above), sigma/math.Sqrt(2*math.Pi)/8; math.Abs(got-want) > 1e-7 {
		t.Errorf("%v, want %v", got, want)
	}
	// As many of those below 2 are, and of the right ones both ends lose as many: false alarms 2·σ/√(2π)/8.
	if got, want := float64(out.Ways[0].Loss.Below), sigma/math.Sqrt(2*math.Pi)/8; math.Abs(got-want) > 1e-7 {
		t.Errorf("below: %v, want %v", got, want)
	}
	if got, want := float64(out.Ways[0].Loss.FalseAlarm), 2*sigma/math.Sqrt(2*math.Pi)/8; math.Abs(got-want) > 1e-7 {
		t.Errorf("false alarms: %v, want %v", got, want)
	}
	if got, want := float64(out.Ways[0].Loss.Money), 144*n.WrongAbove*sigma/math.Sqrt(2*math.Pi)/8; math.Abs(got-want) > 1e-4 {
		t.Errorf("money %v, want %v", got, want)
	}
}

// 12 methods × 6 needs, every way of each: the goal is 300 ms.
func BenchmarkChoose(b *testing.B) {
	var all []madeUp
	for i := range 12 {
		all = append(all, madeUp{method: knownwater.Method{Name: fmt.Sprint("M", i), PackPrice: float64(10 + i), PackTests: 50 - i, ShelfMonths: 12, DevicePrice: float64(20 * i), DeviceYears: 5, RefillPrice: 8, RefillTests: 40},
			raw: assess.Fit, corrected: assess.Fit, verdict: assess.Fit, high: 0.5 + 0.02*float64(i),
			averages: []assess.Average{{N: 2, Readers: 1, Verdict: assess.Fit, Error95: 0.3}, {N: 3, Readers: 1, Verdict: assess.Fit, Error95: 0.2}, {N: 2, Readers: 2, Verdict: assess.Fit, Error95: 0.2}}})
	}
	t := trialOf(all...)
	var needs []knownwater.Need
	for range 6 {
		n := need
		n.WrongBelow, n.WrongAbove, n.Readers = 5, 5, 2
		needs = append(needs, n)
	}
	for b.Loop() {
		Of(needs, []Trial{t}, Options{})
	}
}
