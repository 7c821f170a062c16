package result

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/inverse"
	"knownwater/science/num"
	"knownwater/science/record"
)

// bench is a method whose record is given: repeatability own, readers differ by reader, which
// is shared by the readings of one; "Wren" is known to read high by offset.
type bench struct {
	rec                 *record.Record
	own, reader, offset float64
}

func (b bench) Of(by []Readings, _ bool) Response {
	n, shift, shared := 0.0, 0.0, 0.0
	for _, r := range by {
		n += float64(r.Count)
	}
	for _, r := range by {
		w := float64(r.Count) / n
		if r.Reader == "Wren" {
			shift += w * b.offset
		} else {
			shared += w * w * b.reader * b.reader
		}
	}
	sd := math.Sqrt(b.own*b.own/n + shared)
	return b.rec.Of(1, func(int, float64) float64 { return shift }, func(int, float64) float64 { return sd })
}

func (b bench) Next(c, y float64, had []Readings, more Readings) (mean, sd float64) {
	at := b.rec.Best(c)
	if more.Reader == "Wren" {
		return at + b.offset, b.own / math.Sqrt(float64(more.Count))
	}
	first := b.own * b.own / float64(had[0].Count)
	k := b.reader * b.reader / (b.reader*b.reader + first)
	return at + k*(y-at), math.Sqrt(b.own*b.own/float64(more.Count) + k*first)
}

func (b bench) Step(float64) float64 { return 0 }
func (b bench) Readers() []string    { return []string{"Wren"} }

// straight is a bench whose readings are the concentration, from 0 to 100.
func straight(own, reader float64) bench {
	levels := []float64{0, 25, 50, 75, 100}
	return bench{made(levels, func(c float64) float64 { return c }, 1e-7, num.Source(1)), own, reader, 1}
}

func made(levels []float64, response func(float64) float64, doubt float64, rng *rand.Rand) *record.Record {
	k := record.Knowledge{Level: levels, DF: 20}
	for _, c := range levels {
		k.Mean = append(k.Mean, response(c))
	}
	for range 60 {
		d := make([]float64, len(levels))
		for i := range d {
			d[i] = k.Mean[i] + doubt*rng.NormFloat64()
		}
		k.Draw, k.Known = append(k.Draw, d), append(k.Known, make([]float64, len(levels)))
	}
	r, err := record.Fit(k)
	if err != nil {
		panic(err)
	}
	one := func(int, float64) float64 { return 1 }
	return record.New(r, record.Spread{All: one, Same: one}, record.Shown{}, levels[0], levels[len(levels)-1], 1)
}

func need(low, high, sure float64) knownwater.Need {
	return knownwater.Need{Name: "need", Low: low, High: high, Sure: sure}
}

// Where readings are the concentration with a normal scatter, the chances are normal
// ones, cut at nothing: Φ((limit − y)/s) over 1 − Φ(−y/s).
func TestChancesOnALine(t *testing.T) {
	b := straight(2, 0)
	for _, c := range []struct{ y, low, high float64 }{{50, 48, 53}, {50, 40, 49}, {3, 2, 5}, {1, 0, 2}, {0.5, 1, 4}, {50, 60, 70}} {
		seen := []interval.Interval{interval.Exact(c.y)}
		r := Of(b, []Readings{{"Wren", 1}}, seen)
		b.offset = 0
		r = Of(b, []Readings{{"Wren", 1}}, seen)
		v := Judge(b, []Readings{{"Wren", 1}}, seen, r.Answer, need(c.low, c.high, 0))
		p := func(x float64) float64 {
			none := num.Phi(-c.y / 2)
			return (num.Phi((x-c.y)/2) - none) / (1 - none)
		}
		want := Chances{Below: p(c.low), Above: 1 - p(c.high)}.within(r.Answer, c.low, c.high)
		for _, x := range []struct{ got, want float64 }{{v.Below, want.Below}, {v.Inside, want.Inside}, {v.Above, want.Above}} {
			if !(math.Abs(x.got-x.want) <= 1e-3) {
				t.Errorf("%+v: %+v, want %+v", c, v.Chances, want)
				break
			}
		}
	}
}

// What one reader's readings share does not average out: nine of an unknown reader leave
// √(own²/9 + reader²), and u says so.
func TestWhatReadersShareStays(t *testing.T) {
	b := straight(3, 2)
	seen := slices.Repeat([]interval.Interval{interval.Exact(50)}, 9)
	for _, c := range []struct {
		reader       string
		middle, want float64
	}{{"", 50, math.Hypot(1, 2)}, {"Wren", 49, 1}} {
		r := Of(b, []Readings{{c.reader, 9}}, seen)
		if !(math.Abs(r.U-c.want) <= 1e-3) || !(math.Abs(r.Estimate-c.middle) <= 1e-3) || !(math.Abs(r.High-c.middle-1.959964*c.want) <= 2e-3) {
			t.Errorf("%q: %+v, want %g ± %g", c.reader, r, c.middle, c.want)
		}
	}
}

// Readings of one reader: the order changes nothing, a wider one never narrows the set.
func TestOrderAndWidth(t *testing.T) {
	rng := num.Source(5)
	benches := []bench{straight(2, 1), {made([]float64{0, 1, 2, 3, 6, 12, 24}, func(c float64) float64 { return 2.4 + 0.58*math.Max(0, c-2) }, 0.1, rng), 0.3, 0.2, 0.1}}
	rapid.Check(t, func(t *rapid.T) {
		b := benches[rapid.IntRange(0, 1).Draw(t, "bench")]
		top := b.rec.Mean[len(b.rec.Mean)-1]
		var seen, wider []interval.Interval
		for range rapid.IntRange(1, 4).Draw(t, "readings") {
			low := rapid.Float64Range(-1, 1.2*top).Draw(t, "low")
			width := rapid.Float64Range(0, top/5).Draw(t, "width")
			seen = append(seen, interval.Interval{Low: low, High: low + width})
			wider = append(wider, interval.Interval{Low: low - rapid.Float64Range(0, top/9).Draw(t, "down"), High: low + width + rapid.Float64Range(0, top/9).Draw(t, "up")})
		}
		by := []Readings{{"", len(seen)}}
		a := Of(b, by, seen)
		turned := slices.Clone(seen)
		slices.Reverse(turned)
		if again := Of(b, by, turned); !(math.Abs(again.Low-a.Low) <= 1e-9) || again.Open != a.Open {
			t.Fatalf("%v gives %+v, the other way round %+v", seen, a, again)
		}
		end := func(r Result) float64 {
			if r.Open == inverse.Above {
				return math.Inf(1)
			}
			return r.High
		}
		if w := Of(b, by, wider); math.IsNaN(a.Estimate) == false && (w.Low > a.Low+1e-9 || end(w) < end(a)-1e-9) {
			t.Fatalf("%v gives %g to %g, the wider %v %g to %g", seen, a.Low, end(a), wider, w.Low, end(w))
		}
	})
}

// Chances never contradict the set, whatever the record, the readings and the need.
func TestChancesDoNotContradictTheSet(t *testing.T) {
	rng := num.Source(6)
	shapes := []func(c float64) float64{
		func(c float64) float64 { return 0.4 + 1.1*c }, func(c float64) float64 { return 30 * c / (20 + c) },
		func(c float64) float64 { return 2.4 + 0.58*math.Max(0, c-2) }, func(c float64) float64 { return 10 + 9*math.Tanh((c-9)/3) + c/50 },
	}
	for range 400 {
		b := bench{made([]float64{0, 1, 2, 5, 10, 20, 40}, shapes[rng.IntN(4)], math.Exp(-4+3*rng.Float64()), rng), math.Exp(-3 + 3*rng.Float64()), rng.Float64(), 0.3}
		top := b.rec.Mean[len(b.rec.Mean)-1]
		y := top * (1.2*rng.Float64() - 0.1)
		seen := []interval.Interval{{Low: y, High: y + top*0.2*rng.Float64()*float64(rng.IntN(2))}}
		if rng.IntN(8) == 0 {
			seen[0] = interval.Above(y)
		}
		low := 30 * rng.Float64() * float64(rng.IntN(3)) / 2
		n := need(low, low+20*rng.Float64(), 0)
		r := Of(b, []Readings{{"", 1}}, seen)
		d := newDensity(b.Of([]Readings{{"", 1}}, false), seen[0], r.Answer, fine, n.Low, n.High)
		k := d.chances(seen[0], n.Low, n.High).within(r.Answer, n.Low, n.High)
		end := r.High
		if r.Open == inverse.Above {
			end = math.Inf(1)
		}
		inside := r.Low >= n.Low && end <= n.High
		const least = 0.025 - 1e-12
		if whole := 0.975 - 1e-12; r.Open != inverse.Closed && (inside && k.Inside < whole || end < n.Low && k.Below < whole || r.Low > n.High && k.Above < whole) {
			t.Errorf("97.5 %% set %g to %g, need %g to %g: %+v", r.Low, end, n.Low, n.High, k)
		}
		if math.Abs(k.Below+k.Inside+k.Above-1) > 1e-9 || k.Below < 0 || k.Inside < 0 || k.Above < 0 ||
			inside && k.Inside < 0.95-1e-12 || r.Low < n.Low && k.Below < least || end > n.High && k.Above < least {
			t.Errorf("set %g to %g, need %g to %g: %+v", r.Low, end, n.Low, n.High, k)
		}
	}
}

// One reading of 52 with s = 2 against a limit of 50: after m more the mean of all lies normally about
// 52 with s·√(m/(m + 1)), and settles the matter where it is 1.645·s/√(m + 1) off the limit.
func TestMoreReadings(t *testing.T) {
	b := straight(2, 0)
	b.offset = 0
	seen := []interval.Interval{interval.Exact(52)}
	by := []Readings{{"Wren", 1}}
	judged := func(n knownwater.Need) Verdict { return Judge(b, by, seen, Of(b, by, seen).Answer, n) }
	v := judged(need(50, 90, 0.95))
	least := 1
	for m := 1.0; ; m++ {
		far, sd := 1.645*2/math.Sqrt(m+1), 2*math.Sqrt(m/(m+1))
		if num.Phi((2-far)/sd)+num.Phi((-2-far)/sd) >= 0.8 {
			least = int(m)
			break
		}
	}
	if v.Advice != TestAgain || v.More < least-3 || v.More > least+3 || v.Settle[0] != (Settle{"Wren", v.More}) {
		t.Errorf("%+v, about %d more", v, least)
	}
	if v := judged(need(51.9, 52.1, 0.95)); v.Advice != CannotTell || v.More != -1 || len(v.Settle) != 0 {
		t.Errorf("a need narrower than the method tells: %+v", v)
	}
	if v := judged(need(40, 64, 0.95)); v.Advice != Inside || v.More != 0 || len(v.Settle) != 0 {
		t.Errorf("inside: %+v", v)
	}
	if v := judged(need(50, 90, 0.8)); v.Advice != Inside {
		t.Errorf("sure of 0.8 is enough: %+v", v)
	}
	// Readers who differ: more by the same one never settle it, by one who is known they do.
	b = straight(1, 3)
	v = Judge(b, []Readings{{"", 1}}, seen, Of(b, []Readings{{"", 1}}, seen).Answer, need(50, 90, 0.95))
	if v.Advice != TestAgain || len(v.Settle) != 1 || v.Settle[0].Reader != "Wren" {
		t.Errorf("readers differ: %+v", v)
	}
}

// What one reading leaves open a precise method settles with one, a coarser one with some,
// and one that scatters like the need is wide not at all; each number holds up when it is
// done.
func TestElsewhere(t *testing.T) {
	n := need(20, 40, 0.95)
	first := straight(4, 0)
	seen := []interval.Interval{{Low: 36, High: 36}}
	v := Judge(first, []Readings{{Count: 1}}, seen, Of(first, []Readings{{Count: 1}}, seen).Answer, n)
	if v.Advice != TestAgain || len(v.Cases) == 0 || !slices.IsSorted(v.Cases) {
		t.Fatalf("%+v", v)
	}
	precise, coarse, useless := straight(0.3, 0), straight(2, 0), straight(15, 0)
	one, some := Elsewhere(v.Cases, precise, "", n, 3), Elsewhere(v.Cases, coarse, "", n, 20)
	if one != 1 || some < 2 || Elsewhere(v.Cases, useless, "", n, 20) != 0 {
		t.Errorf("precise %d, coarse %d, useless %d", one, some, Elsewhere(v.Cases, useless, "", n, 20))
	}
	if settled := Judge(precise, []Readings{{Count: 1}}, []interval.Interval{{Low: 30, High: 30}}, Of(precise, []Readings{{Count: 1}}, []interval.Interval{{Low: 30, High: 30}}).Answer, n); settled.Cases != nil {
		t.Errorf("settled: %+v", settled)
	}
	// done: cases by their turn, means of so many readings
	rng := num.Source(41)
	for _, m := range []int{some - 1, some} {
		settled, tries := 0, 700
		for i := range tries {
			c := v.Cases[i%len(v.Cases)] + 2*rng.NormFloat64()/math.Sqrt(float64(m))
			at := []interval.Interval{{Low: c, High: c}}
			r := coarse.Of([]Readings{{Count: m}}, false)
			a := inverse.Turn(r, at[0])
			if newDensity(r, at[0], a, fine, n.Low, n.High).chances(at[0], n.Low, n.High).within(a, n.Low, n.High).decided(0.95) != "" {
				settled++
			}
		}
		share := float64(settled) / float64(tries)
		t.Logf("%d readings settle %.2f", m, share)
		if m == some && share < inCases-0.06 || m < some && share > inCases+0.06 {
			t.Errorf("%d readings settle %.2f of the cases", m, share)
		}
	}
}
