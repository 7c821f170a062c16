package doubt

import (
	"fmt"
	"slices"
	"testing"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/unit"
)

// keysOf are the questions about a method's readings, as an answer would name them.
func keysOf(m knownwater.Method, obs []knownwater.Observation) (keys []string) {
	scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
	for _, q := range Sights(scale, []Readings{{Method: m, Obs: obs}})[0].Ask(func(Question) bool { return false }) {
		keys = append(keys, q.Key)
	}
	return keys
}

// diluting is a display of a method whose samples get diluted.
func diluting(by float64) knownwater.Method {
	m := display()
	m.DilutionFactor = by
	return m
}

// five are readings of a known that scatter by about a share of it, and what else was read there.
func five(v, share float64, more ...float64) (all []float64) {
	for k := -1.0; k <= 1; k += 0.5 {
		all = append(all, v*(1+k*share))
	}
	return append(all, more...)
}

// What is asked about rows that are off, and what is not, by hand.
func TestAskedOfRows(t *testing.T) {
	type levels map[float64][]float64
	with := func(share float64, more ...float64) levels {
		return levels{5: five(5, share), 10: five(10, share), 20: five(20, share), 40: five(40, share, more...)}
	}
	one := func(y ...float64) levels { return levels{100: y} }
	single := levels{0: {0}, 5: {5}, 10: {10}, 20: {20}, 80: {80}}
	and := func(l levels, c, y float64) levels {
		out := levels{c: {y}}
		for k, v := range l {
			out[k] = append(out[k], v...)
		}
		return out
	}
	even := func(v, more float64) []float64 { return five(v, 0.55/v, more) }
	many := func(less int) levels { // 25 readings a known, 7 or 6 of them three times the others
		out := levels{}
		for _, c := range []float64{5, 10, 20, 40} {
			for k := range 18 + less {
				out[c] = append(out[c], c*(1+0.005*float64(k%9-4)))
			}
			for k := range 7 - less {
				out[c] = append(out[c], 3*c+0.3*float64(k))
			}
		}
		return out
	}
	for _, x := range []struct {
		name   string
		m      knownwater.Method
		levels levels
		want   []string
	}{
		{"nothing", diluting(8), with(0.05), nil},
		{"a dilution that was forgotten", diluting(8), with(0.05, 5.5), []string{"dilution: M: 5.5 at 40"}},
		{"too far off for one", diluting(8), with(0.05, 6.5), []string{"slip: M: 6.5 at 40"}},
		{"one too small to be told", diluting(1.5), with(0.02, 26.7), []string{"slip: M: 26.7 at 40"}},
		{"one just large enough", diluting(1.7), with(0.02, 23.5), []string{"dilution: M: 23.5 at 40"}},
		{"another basis", display(), with(0.1, 9), []string{"basis: M: 9 at 40"}},
		{"another basis, by less than six scatters", display(), with(0.15, 9), nil},
		{"a dilution, by as much", diluting(4), with(0.15, 10), []string{"dilution: M: 10 at 40"}},
		{"a dilution or another basis", diluting(5), with(0.07, 9), []string{"dilution: M: 9 at 40"}},
		{"another basis rather than a dilution", diluting(3.6), with(0.07, 9), []string{"basis: M: 9 at 40"}},
		{"single readings, a dilution that a bend would hide", diluting(2.4), and(single, 40, 16.7), nil},
		{"single readings, one that it would not", diluting(2.6), and(single, 40, 15.4), []string{"dilution: M: 15.4 at 40"}},
		{"a blank is as much diluted", diluting(8), levels{0: five(4, 0.03, 0.5), 5: five(9, 0.03), 10: five(14, 0.03), 20: five(24, 0.03)}, []string{"slip: M: 0.5 at 0"}},
		{"a wide reading, less than four scatters off", diluting(2), with(0.15, 22), nil},
		{"two other knowns bear no line", diluting(8), levels{10: {10}, 20: {20}, 40: {5}}, nil},
		{"more than a quarter disagree", display(), many(0), nil},
		{"a quarter does", display(), many(1), []string{"slip: M: 120 at 40, 120.3 at 40, 120.6 at 40, 120.9 at 40, 121.2 at 40, 121.5 at 40, 15 at 5, 15.3 at 5, 15.6 at 5, 15.9 at 5, 16.2 at 5, 16.5 at 5, 12 more"}},
		{"a slip among large readings", display(), levels{50: five(50, 0.05), 100: five(100, 0.05), 200: five(200, 0.05), 400: {380, 390, 410, 420, 1200}}, []string{"slip: M: 1200 at 400"}},
		// the one at 3 shows once the others are told: below 3.5, four scatters with them, nothing is held against a factor
		{"one that others hid", diluting(8), levels{3: even(3, 0.4), 8: even(8, 1), 10: even(10, 1.3), 20: five(20, 0.03), 40: five(40, 0.03), 80: five(80, 0.03)},
			[]string{"dilution: M: 0.4 at 3, 1 at 8, 1.3 at 10"}},
		{"two camps", display(), levels{5: five(5, 0.02), 10: {10, 10.1, 30, 30.1}, 20: five(20, 0.02), 40: five(40, 0.02)}, nil},
		// 16 scatters of 0.551 from the other three, with 9 pairs about: 11.2 let it be named, beyond 16.42
		{"a slip", display(), levels{1: {1, 1.2, 1.4}, 2: {2, 2.2, 2.4}, 5: {5, 5.2, 5.4}, 10: {10, 10.2, 10.4, 16.6}}, []string{"slip: M: 16.6 at 10"}},
		{"no slip", display(), levels{1: {1, 1.2, 1.4}, 2: {2, 2.2, 2.4}, 5: {5, 5.2, 5.4}, 10: {10, 10.2, 10.4, 16.3}}, nil},
		// one known: the slope's standard error is 0.101, and 0.5 and 1.5 are left behind by two of them at 0.4085 and 1.836
		{"half, or another dilution", diluting(2), one(40, 40.8, 41), []string{"dilution: M: 40 at 100, 40.8 at 100, 41 at 100"}},
		{"half may be honest", diluting(2), one(40, 41, 42), nil},
		{"half as much again may be honest", diluting(2), one(180, 183.4, 184), nil},
		{"nearly twice is not", diluting(2), one(180, 183.8, 184), []string{"dilution: M: 180 at 100, 183.8 at 100, 184 at 100"}},
		{"a third more than a quarter", diluting(4), one(33, 33.7, 34), []string{"dilution: M: 33 at 100, 33.7 at 100, 34 at 100"}},
		{"more than that", diluting(4), one(33, 33.9, 34), nil},
	} {
		obs := shows(x.levels)
		if got := keysOf(x.m, obs); !slices.Equal(got, x.want) {
			t.Errorf("%s: asked %q, want %q", x.name, got, x.want)
		}
		slices.Reverse(obs)
		if got := keysOf(x.m, obs); !slices.Equal(got, x.want) {
			t.Errorf("%s, the table from its end: asked %q, want %q", x.name, got, x.want)
		}
	}
}

// Two vials of one session that read like each other's known are asked about by their names and the means of their
// readings; those of two sessions, and those of knowns that lie near one another, are not; one vial is swapped once.
func TestAskedOfVials(t *testing.T) {
	type read struct {
		level         float64
		vial, session string
		count         int
		readings      []float64
	}
	rest := func(wide float64, levels ...float64) (all []read) {
		for _, c := range levels {
			share := 0.03
			if c == wide {
				share = 0.15
			}
			all = append(all, read{c, "", "", 1, five(c, share)})
		}
		return all
	}
	of := func(level float64, readings ...float64) read { return read{level, "", "", 1, readings} }
	for _, x := range []struct {
		name string
		rest []read
		a, b read
		want []string
		says string // vials, knowns, what they read and what was expected
	}{
		{"two vials, one read three times", rest(0, 5, 10, 20, 40, 80), read{10, "a", "", 1, []float64{19.5, 20, 20.2}}, read{20, "b", "", 1, []float64{10.1}},
			[]string{"swap: M: 10.1 at 20, 19.5 at 10, 20 at 10, 20.2 at 10"}, "[a b] [10 20] [19.9 10.1] [10 20]"},
		{"one read twice alike, and once", rest(0, 5, 10, 20, 40, 80), read{10, "a", "", 2, []float64{19.7}}, read{20, "b", "", 1, []float64{10.1}},
			[]string{"swap: M: 10.1 at 20, 19.7 at 10"}, "[a b] [10 20] [19.7 10.1] [10 20]"},
		{"two of one known, one of the other", rest(0, 5, 10, 20, 40, 80), of(10, 20.1, 19.9), of(20, 10),
			[]string{"slip: M: 19.9 at 10", "swap: M: 10 at 20, 20.1 at 10"}, "[ ] [10 20] [20.1 10] [10.1 20]"},
		{"one of one known, two of the other", rest(0, 5, 10, 20, 40, 80), of(10, 20.1), of(20, 10.1, 10),
			[]string{"slip: M: 10 at 20", "swap: M: 10.1 at 20, 20.1 at 10"}, "[ ] [10 20] [20.1 10.1] [10 19.9]"},
		{"in two sessions", rest(0, 5, 10, 20, 40, 80), read{10, "", "Monday", 1, []float64{20}}, read{20, "", "Friday", 1, []float64{10.1}},
			[]string{"slip: M: 10.1 at 20, 20 at 10"}, ""},
		{"a row that stands for two vials", rest(0, 5, 10, 20, 40, 80), read{10, "", "", 2, []float64{20}}, of(20, 10.1),
			[]string{"slip: M: 10.1 at 20"}, ""},
		{"not quite like the other's known", rest(0, 5, 10, 20, 40, 80), of(10, 20), of(20, 11.6),
			[]string{"slip: M: 11.6 at 20, 20 at 10"}, ""},
		{"knowns that lie near one another", rest(0, 5, 10, 11.3, 40, 80), of(10, 11.3), of(11.3, 10), nil, ""},
		{"knowns that lie less near", rest(0, 5, 10, 14, 40, 80), of(10, 14), of(14, 10),
			[]string{"swap: M: 10 at 14, 14 at 10"}, "[ ] [10 14] [14 10] [10 14]"},
		{"one known scatters so that its vial alone tells little", rest(20, 5, 10, 20, 40, 80), of(10, 20), of(20, 10.2),
			[]string{"swap: M: 10.2 at 20, 20 at 10"}, "[ ] [10 20] [20 10.2] [10 20]"},
	} {
		var obs []knownwater.Observation
		for _, r := range append(slices.Clone(x.rest), x.a, x.b) {
			for _, o := range shows(map[float64][]float64{r.level: r.readings}) {
				o.Vial, o.Session, o.Count = r.vial, r.session, r.count
				obs = append(obs, o)
			}
		}
		got := slices.Sorted(slices.Values(keysOf(display(), obs)))
		if !slices.Equal(got, x.want) {
			t.Errorf("%s: asked %q, want %q", x.name, got, x.want)
		}
		says := ""
		for _, q := range lookOf(display(), obs).askSwaps() {
			n := q.Says.Numbers
			says = fmt.Sprintf("%v %.3g %.3g %.3g", q.Says.Names["vial"], n["level"], n["read"], n["expected"])
		}
		if says != x.says {
			t.Errorf("%s: says %q, want %q", x.name, says, x.says)
		}
	}
}

// The ratio that is told of rows is that to the median of their like, or to the line where they have none.
func TestRatiosOfRows(t *testing.T) {
	for _, x := range []struct {
		levels map[float64][]float64
		ratio  float64
	}{
		{map[float64][]float64{5: five(5, 0.05), 10: five(10, 0.05), 20: five(20, 0.05), 40: five(40, 0.05, 5.5)}, 5.5 / 40},
		{map[float64][]float64{0: {0}, 5: {5}, 10: {10}, 20: {20}, 40: {5.2}, 80: {80}}, 5.2 / 40},
	} {
		qs := lookOf(diluting(8), shows(x.levels)).askRows()
		if len(qs) != 1 {
			t.Fatalf("asked %+v", qs)
		}
		about(t, "ratio", float64(qs[0].Says.Numbers["ratio"][0]), x.ratio, 1e-9)
	}
}

// A reading that is open below counts as half of its end among vials that may be swapped; among hundreds of odd vials
// no two are said to be.
func TestOddVials(t *testing.T) {
	levels := map[float64][]float64{5: five(5, 0.03, 20), 10: five(10, 0.03), 20: five(20, 0.03, 10.2), 40: five(40, 0.03)}
	obs := shows(levels)
	for i := range obs {
		if obs[i].Text == "10.2" && obs[i].Level == 20 {
			obs[i].Text, obs[i].Seen = "<10.2", interval.Below(10.2)
		}
	}
	if got := keysOf(display(), obs); !slices.Equal(got, []string{"swap: M: 20 at 5, <10.2 at 20"}) {
		t.Errorf("asked %q", got)
	}
	for k := range 300 {
		levels[10] = append(levels[10], 10+0.1*float64(k%5-2))
		levels[20] = append(levels[20], 20+0.1*float64(k%5-2))
		if k%3 == 0 {
			levels[10], levels[20] = append(levels[10], 20), append(levels[20], 10)
		}
	}
	for _, key := range keysOf(display(), shows(levels)) {
		if key[:4] == "swap" {
			t.Errorf("asked %q", key)
		}
	}
}
