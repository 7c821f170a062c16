package control

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"knownwater/science/interval"
	"knownwater/science/num"
)

// known are draws of a record that is known well, or whose mean is off by doubt standard
// deviations of a check.
func known(doubt float64) (out []Normal) {
	for i := range 40 {
		out = append(out, Normal{10 + 0.5*doubt*num.PhiInv((float64(i)+0.5)/40), 0.5})
	}
	return out
}

// aThird are every third of them, as evenly spread: rows that are made from them have them for their record, and are looked through in a third of the time.
func aThird(draws []Normal) (out []Normal) {
	for i := 1; i < len(draws); i += 3 {
		out = append(out, draws[i])
	}
	return out
}

// card has steps of a given width on the scale of known, in standard deviations.
func card(width float64) (out []interval.Interval) {
	at := 10 - 0.5*width*4.3
	out = append(out, interval.Below(at))
	for range 9 {
		out = append(out, interval.Interval{Low: at, High: at + 0.5*width})
		at += 0.5 * width
	}
	return append(out, interval.Above(at))
}

// read is what is seen of a value.
func read(y float64, tiles []interval.Interval) interval.Interval {
	if tiles == nil {
		return interval.Interval{Low: y - 0.005, High: y + 0.005}
	}
	i := slices.IndexFunc(tiles, func(t interval.Interval) bool { return y <= t.High })
	return tiles[i]
}

// until is on which check after a shift a row of checks rings that had rung at none of those before it, its record
// drawn anew.
func until(draws []Normal, tiles []interval.Interval, shift float64, still, most int, rng *rand.Rand) int {
	d := draws[rng.IntN(len(draws))]
	seed := rng.Uint64()
	for n := min(8, most); ; n = min(4*n, most) {
		r := Row{Tiles: tiles}
		same := rand.New(rand.NewPCG(seed, 1))
		for i := range still + n {
			at := 0.0
			if i >= still {
				at = shift
			}
			r.Checks = append(r.Checks, Check{read(d.Mean+d.SD*(at+same.NormFloat64()), tiles), draws})
		}
		switch c := chartWith(r); {
		case c.Signal >= still:
			return c.Signal - still + 1
		case c.Signal >= 0: // a false alarm
			return until(draws, tiles, shift, still, most, rng)
		}
		if n == most {
			return most + 1
		}
	}
}

// chartWith runs a row against limits that are worked out once.
var remembered = map[string]Chart{}

func chartWith(r Row) Chart {
	key := fmt.Sprint(r.Checks[0].Draws[0], len(r.Tiles), r.Tiles)
	c, there := remembered[key]
	if !there {
		c = Of(r, nil)
		remembered[key] = c
	}
	c.Points, c.Signal, c.Rule = nil, -1, ""
	c.run(r)
	return c
}

// False alarms are as rare as the chart states, and a shift rings in half of all cases and in four of five within as many checks as it states.
func TestFalseAlarmsAndDelay(t *testing.T) {
	for _, c := range []struct {
		name  string
		draws []Normal
		tiles []interval.Interval
	}{
		{"numbers", known(0), nil}, {"numbers, record in doubt", known(0.8), nil},
		{"steps of 1 sd", known(0), card(1)}, {"steps of 2 sd", known(0.3), card(2)},
	} {
		rng := num.Source(13, uint64(len(c.name)))
		const rows, length = 400, 50
		l := chartWith(Row{Tiles: c.tiles, Checks: []Check{{read(10, c.tiles), c.draws}}}).Limits
		alarms, half, most := 0, [2]int{}, [2]int{} // of the delays: within what is stated, and within one check less
		for range rows {
			if until(c.draws, c.tiles, 0, 0, length, rng) <= length {
				alarms++
			}
			side := float64(1 - 2*rng.IntN(2))
			took := float64(until(c.draws, c.tiles, side*l.Shift, before, 200, rng))
			for less := range 2 {
				if took <= l.Delay-float64(less) {
					half[less]++
				}
				if took <= l.DelayMost-float64(less) {
					most[less]++
				}
			}
		}
		share := float64(alarms) / rows
		t.Logf("%s: false alarms within %d checks %.3f, run length %.0f (%.0f to %.0f); within %g checks %.3f, within %g %.3f", c.name, length, share, l.RunLength, l.Least, l.Most, l.Delay, float64(half[0])/rows, l.DelayMost, float64(most[0])/rows)
		wrong := falseAlarms(c.tiles, c.draws, l, length)
		if slack := 3 * math.Sqrt(wrong/rows); share > wrong+slack || share < 0.5*wrong-slack || l.RunLength < DefaultBetween*0.98 {
			t.Errorf("%s: %.3f of rows ring wrongly, at most %.3f were stated", c.name, share, wrong)
		}
		for share, of := range map[float64][2]int{0.5: half, enough: most} {
			slack := 3 * math.Sqrt(share*(1-share)/rows)
			if float64(of[0])/rows < share-slack || float64(of[1])/rows > share+slack { // a number of checks is whole
				t.Errorf("%s: %d of %d rings within what is stated for %g, %d a check earlier", c.name, of[0], rows, share, of[1])
			}
		}
	}
}

// falseAlarms is what the limits say of them, each chart's added up.
func falseAlarms(tiles []interval.Interval, draws []Normal, l Limits, n int) (p float64) {
	ms := Row{Tiles: tiles, Checks: []Check{{read(10, tiles), draws}}}.models()
	alone := 0.0
	for _, d := range ms[0].draws {
		if tiles == nil {
			alone += 1/Individuals(l.Individual, d) + 1/l.Average.RunLength(d)
		} else {
			alone += l.rare(d, ms[0])
		}
	}
	if ms[0].tiles == nil {
		ms[0].tiles = fineTiles
	}
	for _, d := range ms[0].draws {
		for _, side := range []float64{-1, 1} {
			p += Scores{H: l.Sum, Start: l.Sum / 2}.Within(ms[0].steps(d, side*l.Shift), n)[n-1]
		}
	}
	return (p + float64(n)*alone) / float64(len(ms[0].draws))
}

// The place of a change lies in what is said in 95 of 100 rows; also without a place among
// the checks, where all of them are moved.
func TestOnset(t *testing.T) {
	rng := num.Source(14)
	for _, tiles := range [][]interval.Interval{nil, card(1.5)} {
		held, rows, shiftHeld := 0, 200, 0
		for range rows {
			at, size := rng.IntN(8), []float64{-3, -2, 2, 3}[rng.IntN(4)]
			draws := aThird(known(0.3))
			d := draws[rng.IntN(len(draws))]
			r := Row{Tiles: tiles}
			for i := range 14 {
				moved := 0.0
				if i >= at {
					moved = size
				}
				r.Checks = append(r.Checks, Check{read(d.Mean+d.SD*(moved+rng.NormFloat64()), tiles), draws})
			}
			o := OnsetOf(r, DefaultShift)
			if o.From <= at && at <= o.To {
				held++
			}
			if o.ShiftLow <= size && size <= o.ShiftHigh {
				shiftHeld++
			}
		}
		t.Logf("steps %v: place held in %d, shift in %d of %d", tiles != nil, held, shiftHeld, rows)
		if held < rows*93/100 || shiftHeld < rows*90/100 {
			t.Errorf("the place was held in %d, the shift in %d of %d", held, shiftHeld, rows)
		}
	}
}

// backAfterTen is off by three scatters for ten checks.
func backAfterTen(k int) float64 {
	if k > 10 {
		return 0
	}
	return 3
}

// halfBackAfterTen is off by three scatters for ten checks, and by half of that from then on.
func halfBackAfterTen(k int) float64 {
	if k > 10 {
		return 1.5
	}
	return 3
}

// A method that drifts reads at its last check what is said in 95 of 100 rows, began when it is said to have begun, and is
// called one that drifts where it has come far; one that moved at once is seldom. One that is back is mostly said to be surely so, one that is half
// back hardly ever.
func TestDrifts(t *testing.T) {
	rng := num.Source(15)
	draws := aThird(known(0.45))
	for _, x := range []struct {
		name                   string
		tiles                  []interval.Interval
		by                     func(k int) float64 // of the k-th check since, from 1
		leastDrifts, mostDrift float64
	}{
		{"numbers, by a fifth of the scatter a check", nil, func(k int) float64 { return 0.2 * float64(k) }, 0.8, 1},
		{"numbers, at once", nil, func(int) float64 { return 3 }, 0, 0.1},
		{"steps of 1.5, by a fifth", card(1.5), func(k int) float64 { return 0.2 * float64(k) }, 0.8, 1},
		{"steps of 1.5, at once", card(1.5), func(int) float64 { return 3 }, 0, 0.1},
		{"numbers, by two fifths, stopped after ten", nil, func(k int) float64 { return 0.4 * float64(min(k, 10)) }, 0, 0.1},
		{"steps of 1.5, by two fifths, stopped after ten", card(1.5), func(k int) float64 { return 0.4 * float64(min(k, 10)) }, 0, 0.1},
		{"numbers, at once, back after ten", nil, backAfterTen, 0, 0.1},
		{"steps of 1.5, at once, back after ten", card(1.5), backAfterTen, 0, 0.1},
		{"numbers, at once, half of it back after ten", nil, halfBackAfterTen, 0, 0.1},
		{"steps of 1.5, beyond the last of them", card(1.5), func(k int) float64 { return 0.5 * float64(k) }, 0.8, 1},
	} {
		const rows, still, n = 40, 8, 30
		held, began, drifts, back, sure := 0, 0, 0, 0, 0
		for range rows {
			d, side := draws[rng.IntN(len(draws))], float64(1-2*rng.IntN(2))
			r, moved := Row{Tiles: x.tiles}, 0.0
			for i := range n {
				if i >= still {
					moved = side * x.by(i-still+1)
				}
				r.Checks = append(r.Checks, Check{read(d.Mean+d.SD*(moved+rng.NormFloat64()), x.tiles), draws})
			}
			o := OnsetOf(r, DefaultShift)
			if o.ShiftLow <= moved && moved <= o.ShiftHigh {
				held++
			}
			if o.From <= still && still <= o.To {
				began++
			}
			if o.Drifts {
				drifts++
			}
			if o.Back {
				back++
			}
			if o.By > 0 {
				sure++
			}
		}
		t.Logf("%s: likely back in %d, surely in %d of %d", x.name, back, sure, rows)
		// two in three are meant and 5 in 100 at most: of 40 no fewer than 18, and no more than 6, at 4 in 1,000 (binomial)
		if is := x.by(20) == 0; is && sure < 18 || !is && sure > 6 {
			t.Errorf("%s: surely back in %d of %d", x.name, sure, rows)
		}
		if is := x.by(20) == 0; is && back < 33 || !is && x.by(20) != 1.5 && back > 4 {
			t.Errorf("%s: read as they should again %d of %d", x.name, back, rows)
		}
		t.Logf("%s: the last reading held in %d, the beginning in %d of %d; drifts in %d", x.name, held, began, rows, drifts)
		// 95 of 100 meant; of 40 no fewer than 33 at 1 in 1,000 (binomial)
		if share := float64(drifts) / rows; held < 33 || began < 33 || share < x.leastDrifts || share > x.mostDrift {
			t.Errorf("%s: the last reading held in %d, the beginning in %d of %d; drifts in %d", x.name, held, began, rows, drifts)
		}
	}
}

func TestStates(t *testing.T) {
	row := func(n int, y, doubt float64) Row {
		r := Row{}
		for i := range n {
			r.Checks = append(r.Checks, Check{read(y+0.2*float64(i%3-1), nil), known(doubt)})
		}
		return r
	}
	for _, c := range []struct {
		n     int
		y     float64
		doubt float64
		want  State
	}{{1, 10, 0.1, Undecided}, {2, 10, 0.1, Undecided}, {14, 10, 0.1, Holds}, {6, 9, 0.1, Moved}, {2, 7.5, 0.1, Moved},
		// a record in doubt may be off by as much, or the method have moved from the first check on: neither holds
		{18, 10.2, 0.8, Holds}, {18, 10.8, 0.8, Undecided}, {18, 9.2, 0.8, Undecided}} {
		got := Of(row(c.n, c.y, c.doubt), nil)
		t.Logf("%d checks at %g: %s, power %.2f, odds %.3f, off with %.3f", c.n, c.y, got.State, got.Power, got.Onset.Odds, got.Now.beyond(got.Limits.Shift))
		if got.State != c.want {
			t.Errorf("%d checks at %g: %s, want %s (power %.2f)", c.n, c.y, got.State, c.want, got.Power)
		}
	}
	if c := Of(Row{}, nil); !c.NoLimits || c.State != Undecided {
		t.Errorf("no checks: %+v", c)
	}
	// a card so coarse that everything is one step tells nothing
	wide := Row{Tiles: []interval.Interval{interval.Below(1000), interval.Above(1000)}}
	wide.Checks = []Check{{interval.Below(1000), known(0)}}
	if c := Of(wide, nil); !c.NoLimits {
		t.Errorf("one step: %+v", c)
	}
}

// Limits from few checks: false alarms on the next check and the spread of run lengths of
// charts of three standard deviations, against quadrature and simulation.
func TestFromChecks(t *testing.T) {
	for _, r := range rows(t, "shewhart_estimated_limits.csv") {
		m := int(number(t, r, "m"))
		if number(t, r, "shift_sigma") != 0 || m > 100 {
			continue
		}
		values := make([]float64, m) // of mean 0 and standard deviation 1
		for i := range values {
			values[i] = num.PhiInv((float64(i) + 0.5) / float64(m))
		}
		mean, sd := num.MeanSD(values)
		for i := range values {
			values[i] = (values[i] - mean) / sd
		}
		draws := FromChecks(values)
		var lengths []float64
		p := 0.0
		for _, d := range draws {
			l := Individuals(3, d)
			lengths = append(lengths, l)
			p += 1 / l / float64(len(draws))
		}
		slices.Sort(lengths)
		within(t, fmt.Sprint("next, of ", m), p, number(t, r, "prob_signal_first_exact_t"), 0.06) // 121 draws
		within(t, fmt.Sprint("middle, of ", m), num.Quantile(lengths, 0.5), number(t, r, "arl_conditional_median"), 0.1)
		within(t, fmt.Sprint("least, of ", m), num.Quantile(lengths, 0.1), number(t, r, "arl_conditional_p10"), 0.15)
		within(t, fmt.Sprint("most, of ", m), num.Quantile(lengths, 0.9), number(t, r, "arl_conditional_p90"), 0.25)
	}
	if FromChecks(make([]float64, FewestSet-1)) != nil || FromChecks(make([]float64, 20)) != nil {
		t.Error("limits from too few checks, or from checks without scatter")
	}
}

// A sum that takes long to come to its limit, and one that hardly ever does: run lengths rise
// with the limit, over more orders than a share of survivors has digits, and never fall to
// nothing.
func TestLongRunLengths(t *testing.T) {
	ms := Row{Tiles: card(2), Checks: []Check{{read(10, card(2)), known(0.5)}}}.models()
	l := Limits{Shift: 1.6}
	for _, d := range ms[0].draws {
		before := 0.0
		for h := 1.0; h <= 24; h++ {
			x := l.sums(h, d, ms[0])
			if !(x > before*0.99) {
				t.Errorf("draw %v: run length %g at %g, %g at one less", d, x, h, before)
			}
			before = x
		}
		if !(before > 200) || math.IsInf(before, 1) {
			t.Errorf("draw %v: run length %g at the end", d, before)
		}
	}
	never := Scores{H: 3}
	if r := never.RunLength([]Step{{0.5, -1}, {0.5, -0.1}}); !math.IsInf(r, 1) {
		t.Errorf("a sum that cannot rise signals after %g", r)
	}
	if w := never.Within([]Step{{0.5, -1}, {0.5, -0.1}}, 3); w[2] != 0 {
		t.Errorf("or with chances %v", w)
	}
}

// Checks that did not move make draws near to them likelier, and move nothing beyond the
// record.
func TestLikelier(t *testing.T) {
	draws := known(1)
	var checks []Check
	for i := range 12 {
		checks = append(checks, Check{read(9.6+0.1*float64(i%3), nil), draws})
	}
	places := Likelier(checks)
	if len(places) != len(draws) || !slices.IsSorted(places) {
		t.Fatal(places)
	}
	var means []float64
	for _, d := range places {
		means = append(means, draws[d].Mean)
	}
	mean, sd := num.MeanSD(means)
	// a normal of mean 10 and sd 0.5 with twelve values of mean 9.7 and sd 0.5: 9.723, sd 0.139
	if math.Abs(mean-9.723) > 0.03 || math.Abs(sd-0.139) > 0.03 {
		t.Errorf("mean %.3f, sd %.3f", mean, sd)
	}
	far := Likelier([]Check{{read(90, nil), draws}})
	if draws[far[0]].Mean < 10.9 || draws[far[0]] != draws[far[len(far)-1]] {
		t.Errorf("a check beyond all draws: %v", far)
	}
}

// A new lot is likelier to read otherwise from its first check on, and a shift far beyond the
// scatter keeps its size.
func TestNewLotAndFarShift(t *testing.T) {
	row := func(n int, y float64) (r Row) {
		for i := range n {
			r.Checks = append(r.Checks, Check{read(y+0.2*float64(i%3-1), nil), known(0.1)})
		}
		return r
	}
	old, lot := row(4, 9.3), row(4, 9.3)
	lot.New = true
	a, b := OnsetOf(old, DefaultShift), OnsetOf(lot, DefaultShift)
	if !(b.Odds > 4*a.Odds) || b.From != 0 || b.Best != 0 {
		t.Errorf("odds %g of a lot that was tried, %g of a new one: %+v", a.Odds, b.Odds, b)
	}
	for _, y := range []float64{2, 30} { // 16 below and 40 above
		r := row(5, y)
		o := OnsetOf(r, DefaultShift)
		mid, low, high := Now(r).Interval()
		want := (y - 10) / 0.5
		if o.Best != 0 || math.Abs(o.Shift-want) > 0.5 || !(o.ShiftLow < want+0.2 && o.ShiftHigh > want-0.2) || math.Abs(mid-want) > 0.3 || !(low < want && want < high) {
			t.Errorf("%g: %+v, now %g (%g to %g), want %g", y, o, mid, low, high, want)
		}
		if c := Of(r, nil); c.State != Moved || c.Signal != 0 {
			t.Errorf("%g: %s on check %d", y, c.State, c.Signal)
		}
	}
}

// However far readings moved, the interval of the shift is as wide as the checks and the record's doubt
// leave it: of 8 checks before and 16 after, and a record that knows the mean as five readings do,
// 2·1.96·√(1/16 + 1/(8+5)) standard deviations (normal theory, σ known). Scatter is put at
// normal quantiles.
func TestAShiftIsInDoubtHoweverFar(t *testing.T) {
	scatter := func(n int) (out []float64) {
		for i := range n {
			out = append(out, num.PhiInv((float64(i*5%n)+0.5)/float64(n)))
		}
		return out
	}
	var draws []Normal
	for i := range 120 {
		draws = append(draws, Normal{50 + num.PhiInv((float64(i)+0.5)/120)/math.Sqrt(5), 1})
	}
	for _, shift := range []float64{2, 4, 6, 8, 20} {
		var r Row
		add := func(z float64) {
			r.Checks = append(r.Checks, Check{Seen: interval.Interval{Low: 50 + z, High: 50 + z}, Draws: draws})
		}
		for _, z := range scatter(8) {
			add(z)
		}
		for _, z := range scatter(16) {
			add(shift + z)
		}
		o := OnsetOf(r, DefaultShift)
		if want := 2 * 1.959964 * math.Sqrt(1.0/16+1.0/13); !(math.Abs(o.ShiftHigh-o.ShiftLow-want) <= 0.12*want) {
			t.Errorf("moved by %g: %.3f to %.3f, %.3f wide, want about %.3f", shift, o.ShiftLow, o.ShiftHigh, o.ShiftHigh-o.ShiftLow, want)
		}
	}
}
