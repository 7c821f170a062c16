package posterior

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"knownwater/science/num"
)

// laid is a layout of one group with the given readings.
func laid(t *testing.T, seen ...[2]float64) *layout {
	t.Helper()
	d := open(Data{Groups: 1})
	for _, s := range seen {
		d.Cells = append(d.Cells, Cell{Seen: [][2]float64{s}, Count: 1})
	}
	l, err := lay(d)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// byBruteForce is log ∫ Π P(reading | m, s) dm and the mean's quantile at the chance p, by six
// thousand even steps.
func byBruteForce(t *level, s, p float64) (logL, quantile float64) {
	a, b := math.Inf(1), math.Inf(-1)
	for _, c := range t.seen {
		for _, x := range []float64{c.low, c.high} {
			if !math.IsInf(x, 0) {
				a, b = math.Min(a, x), math.Max(b, x)
			}
		}
	}
	a, b = math.Max(a-12*s, t.l.group[t.g].low), math.Min(b+12*s, t.l.group[t.g].high)
	const n = 6000
	f, top := make([]float64, n), math.Inf(-1)
	for i := range f {
		m := a + (b-a)*(float64(i)+0.5)/n
		for _, c := range t.seen {
			if c.low == c.high {
				f[i] += c.count * (t.sc.density((c.low-m)/s) - math.Log(s))
			} else {
				f[i] += c.count * t.sc.inside((c.low-m)/s, (c.high-m)/s)
			}
		}
		top = math.Max(top, f[i])
	}
	sum := 0.0
	for i := range f {
		f[i] = math.Exp(f[i] - top)
		sum += f[i]
	}
	part := 0.0
	for i := range f {
		if part += f[i]; part >= p*sum {
			return top + math.Log(sum*(b-a)/n), a + (b-a)*(float64(i)+0.5)/n
		}
	}
	return math.NaN(), math.NaN()
}

// What is integrated over a group's mean on a few points is what brute force gives, for
// readings near and far apart, exact, closed and open, of every kind of scatter, at every spread that has
// some weight; and so are the quantiles of the mean, to a fiftieth of a spread. A single closed reading
// beside open ones, which might be a slip, is only followed as far as normal scatter goes.
func TestMeansAreIntegrated(t *testing.T) {
	inf := math.Inf(1)
	for name, seen := range map[string][][2]float64{
		"exact":            {{1, 1}, {1.4, 1.4}, {2.1, 2.1}},
		"far apart":        {{1, 1}, {1.2, 1.2}, {20, 20}, {21, 21}},
		"one slip":         {{1, 1}, {1.2, 1.2}, {1.1, 1.1}, {30, 30}},
		"closed":           {{0, 1}, {0, 1}, {1, 2.5}, {1, 2.5}},
		"one answer":       {{0, 1}, {0, 1}, {0, 1}},
		"open above":       {{3, 5}, {5, inf}, {5, inf}},
		"closed and exact": {{0, 1}, {0.9, 0.9}, {0.5, 2}},
	} {
		l := laid(t, seen...)
		for k := range kinds {
			if name == "open above" && k != Normal {
				continue
			}
			lv := &level{l: l, g: 0, sc: scatters()[k], mean: map[int]*meanGrid{}}
			full := newLevel(l, 0, k, 0)
			lv.seen = full.seen
			best := math.Inf(-1)
			var tried []float64
			for s := 0.1; s < 60; s *= 2.3 {
				if logL, _ := byBruteForce(lv, s, 0.5); logL > best-8 { // a spread of some weight
					tried, best = append(tried, s), math.Max(best, logL)
				}
			}
			for _, s := range tried {
				want, _ := byBruteForce(lv, s, 0.5)
				if want < best-8 {
					continue
				}
				_, _, got := lv.integrate(s)
				near(t, name+": log of the integral", got, want, 0.06)
				lv.u0, lv.gap, lv.mean = math.Log(s), step, map[int]*meanGrid{}
				tolerance := 0.02 * s
				if name == "open above" {
					tolerance *= 1.5
				}
				for _, chance := range []float64{0.025, 0.1, 0.5, 0.9, 0.975} {
					_, want := byBruteForce(lv, s, chance)
					near(t, fmt.Sprint(name, ", kind ", k, ", spread ", s, ": the mean at ", chance), lv.draw(math.Log(s), chance), want, tolerance)
				}
			}
		}
	}
}

// A level's likelihood smoothed by the freedom of its spread is the sum that it stands for.
func TestSmoothedIsTheSum(t *testing.T) {
	l := laid(t, [2]float64{1, 1}, [2]float64{1.4, 1.4}, [2]float64{2.1, 2.1})
	lv := newLevel(l, 0, Normal, 0)
	for _, omega := range freedoms[1:] {
		out := lv.smoothed(lv.relative(), omega, l)
		for _, i := range []int{l.points / 4, l.points / 2, 3 * l.points / 4} {
			v, sum := l.floor+float64(i)*step, 0.0
			for u := v - 6*omega; u <= v+6*omega; u += 0.002 {
				z := (u - v) / omega
				at := (u - lv.u0) / lv.gap
				j := int(math.Floor(at))
				if j < 0 || j+1 >= len(lv.logL) {
					continue
				}
				sum += 0.002 * math.Exp(lv.logL[j]+(at-float64(j))*(lv.logL[j+1]-lv.logL[j])-0.5*z*z) / (omega * math.Sqrt(2*math.Pi))
			}
			if want := math.Log(sum); want > lv.top-12 {
				near(t, "log of a smoothed likelihood", out[i], want, 0.03)
			}
		}
	}
}

// Far out in a tail a truncated normal keeps its shape, to the order of 1/a²: quantiles by closed form
// from the logarithm of the tail.
func TestTruncatedFarOut(t *testing.T) {
	for _, ends := range [][2]float64{{6, math.Inf(1)}, {6, 6.2}, {9, 9.5}, {-7, -6.5}, {math.Inf(-1), -8}, {2, 2.5}, {-1, 3}, {-0.2, math.Inf(1)}} {
		a, b := ends[0], ends[1]
		for _, u := range []float64{0.02, 0.3, 0.5, 0.9} {
			x := truncated(a, b, u)
			share := 0.0
			if a >= 0 { // by upper tails, which keep their digits
				share = -math.Expm1(num.LogPhi(-x)-num.LogPhi(-a)) / -math.Expm1(num.LogPhi(-b)-num.LogPhi(-a))
			} else {
				la := num.LogPhi(b)
				share = (math.Exp(num.LogPhi(x)-la) - math.Exp(num.LogPhi(a)-la)) / (1 - math.Exp(num.LogPhi(a)-la))
			}
			near(t, "share below what is drawn", share, u, 0.01)
		}
	}
}

// The point of exact readings, readers unevenly spread over levels, is the mixed model's: means
// and effects together by least squares, effects drawn towards nothing by their prior, at the spreads
// that the posterior has in the middle.
func TestPointIsTheMixedModels(t *testing.T) {
	rows := []struct {
		group, reader int
		y             float64
	}{{0, 0, 10.2}, {0, 0, 10.4}, {0, 1, 11.6}, {1, 1, 21.3}, {1, 1, 21.7}, {1, 2, 18.9}, {0, 2, 9.1}, {2, 0, 30.1}, {2, 2, 28.6}, {2, 2, 28.9}, {2, 0, 30.4}}
	d := open(Data{Groups: 3, Factors: []Factor{{Name: "reader", Members: 3, Scale: 1}}})
	for _, r := range rows {
		d.Cells = append(d.Cells, Cell{Group: r.group, Seen: [][2]float64{{r.y, r.y}}, Member: []int{r.reader}, Count: 1})
	}
	p := fitted(t, d)
	tau := middleOf(p.Wide.Ratio[0])
	const n = 6 // three means, three effects
	a, b := make([][]float64, n), make([]float64, n)
	for i := range a {
		a[i] = make([]float64, n)
		if i >= 3 {
			a[i][i] = 1 / (tau * tau)
		}
	}
	for _, r := range rows {
		s := math.Exp(middleOf(p.Wide.LogSD[r.group]))
		x := map[int]float64{r.group: 1 / s, 3 + r.reader: 1}
		for i, u := range x {
			b[i] += u * r.y / s
			for j, v := range x {
				a[i][j] += u * v
			}
		}
	}
	solver, err := num.NewPositive(a)
	if err != nil {
		t.Fatal(err)
	}
	got := solver.Solve(b)
	for g := range 3 {
		near(t, "a level's mean", p.Point[g], got[g], 1e-4)
	}
}

// The Monte Carlo error that stops the walk is the largest of all that is printed: means, spreads
// and shared parts.
func TestErrorShareIsTheLargest(t *testing.T) {
	d := chartData([]float64{3, 9, 20, 35}, 2, 3, 0.5, 0.5, 6, false)
	l, err := lay(d.in(d.unit()))
	if err != nil {
		t.Fatal(err)
	}
	w := newWalk(newChain(l, l.units(), 9, 0))
	w.burn(100)
	w.on(800)
	other := newWalk(newChain(l, l.units(), 9, 1))
	other.burn(100)
	other.on(800)
	walks := []*walk{w, other}
	largest := errorShare(walks)
	slow := func(v *account) { // what hardly moves is noisier than all the rest, whatever it is
		was := *v
		v.at = make([]float64, len(was.at))
		for i := range v.at {
			v.at[i] = was.at[0] + 10*slices.Max(was.sd)*float64(10*i/(9*len(v.at))) // far off in the last tenth
		}
		if got := errorShare(walks); !(got > 1.1*largest) {
			t.Errorf("a quantity that hardly moves: %.4f, without it %.4f", got, largest)
		}
		*v = was
	}
	for of := range w.marginals.told {
		for i := range w.marginals.told[of] {
			slow(&w.marginals.told[of][i])
		}
	}
	near(t, "as it was", errorShare(walks), largest, 0)
	// readings without memory: 0.68/√n of an interval, whether a look tells the reading itself or
	// next to nothing of it; and nothing where every look tells the same
	const n = 40000
	for _, sd := range []float64{0, 0.5, 2} {
		var free [2]*account
		var all [2]*marginal
		for i, values := range [][]float64{normals(n, 41), normals(n, 42)} {
			m := newMarginal(-20, 20, 0.02)
			free[i], all[i] = &account{}, &m
			for _, v := range values {
				free[i].gather(v, sd, &[priors]float64{1, 1})
				free[i].close()
				m.addNormal(v, sd, &[priors]float64{1, 1})
			}
		}
		whole := math.Sqrt(1 + sd*sd)
		chance := 0.0 // variance of the chance beyond the limit
		for j := -600; j <= 600; j++ {
			z := float64(j) / 100
			x := 0.0
			if sd > 0 {
				x = num.Phi((z - z975*whole) / sd)
			} else if z > z975 {
				x = 1
			}
			chance += (x - 0.025) * (x - 0.025) * num.NormalPDF(z) / 100
		}
		want := math.Sqrt(chance/(2*n)) / num.NormalPDF(z975) / (2 * z975)
		if sd == 0 {
			near(t, "of what is told as it is", want, 0.68/math.Sqrt(2*n), 0.02*want)
		}
		near(t, "of independent draws", share(free[:], all[:], Wide, false), want, 0.3*want)
	}
}

// What a walk says of its own error is what walks differ by, where limits have long tails, too: two readers
// leave the upper limits of a mean and of their part wide open.
func TestErrorShareIsWhatWalksDifferBy(t *testing.T) {
	l := blankOfTwo(t)
	const walks = 12
	var said float64
	var high [2][]float64
	width := [2]float64{}
	for name := range uint64(walks) {
		p := sampled(l, name)
		said += p.ErrorShare / walks
		for i, draws := range [][]float64{p.Wide.Mean[0], p.Wide.Ratio[0]} {
			low, up := tails(draws, 0.025)
			high[i] = append(high[i], up)
			width[i] += (up - low) / walks
		}
	}
	largest := 0.0
	for i := range high {
		_, sd := num.MeanSD(high[i])
		largest = max(largest, sd/width[i])
	}
	if !(said > 0.5*largest && said < 2.5*largest) { // twelve say it within a quarter; what is said is the largest of eight
		t.Errorf("walks say %.3f and differ by %.3f of an interval", said, largest)
	}
}

// The chance of an interval is that of its parts, each a normal's in closed form: far out too, where
// slips still lie that no table of ±12 holds.
func TestChancesOfIntervals(t *testing.T) {
	inf := math.Inf(1)
	for k, sc := range scatters() {
		for _, ends := range [][2]float64{{-1, 0.5}, {-25, -4}, {5, 20}, {-14, 40}, {13, 60}, {-80, -13}, {13, inf}, {-inf, 14}, {-40, inf}} {
			want := 0.0
			for j, w := range sc.weight {
				a, b := ends[0]/sc.component[j], ends[1]/sc.component[j]
				if a > 0 { // by the tail that keeps its digits
					a, b = -b, -a
				}
				want += w * (num.Phi(b) - num.Phi(a))
			}
			if want < 1e-9 {
				continue
			}
			near(t, fmt.Sprint("log chance of ", ends, ", kind ", k), sc.inside(ends[0], ends[1]), math.Log(want), 2e-3)
			p := product{0, 1}
			p.times(sc, ends[0], ends[1], 1)
			near(t, fmt.Sprint("in a product, ", ends, ", kind ", k), p.value(), math.Log(want), 2e-3)
		}
	}
}

// Where few draws are asked for a level is tabulated at every third point: what lies between
// is what would have been worked out there, wherever it weighs anything, and so are the
// chances of the spread.
func TestTabulatedAtEveryThird(t *testing.T) {
	inf := math.Inf(1)
	for name, seen := range map[string][][2]float64{
		"three far apart":  {{1, 1}, {1.4, 1.4}, {9, 9}},
		"fine":             {{1, 1.1}, {1.4, 1.5}, {2.1, 2.2}},
		"a chart":          {{3, 5}, {3, 5}, {5, 9}},
		"one answer":       {{0, 1}, {0, 1}, {0, 1}},
		"open above":       {{3, 5}, {5, inf}, {5, inf}},
		"nine, one a slip": {{1, 1}, {1.2, 1.2}, {1.3, 1.3}, {1.35, 1.35}, {1.4, 1.4}, {1.5, 1.5}, {1.6, 1.6}, {1.7, 1.7}, {14, 14}},
	} {
		for k := range kinds {
			l := laid(t, seen...)
			whole := newLevel(l, 0, k, 0)
			l.Few = true
			few := newLevel(l, 0, k, 0)
			if few.gap != whole.gap {
				t.Fatalf("%s: gap %g, else %g", name, few.gap, whole.gap)
			}
			shift := int(math.Round((whole.u0 - few.u0) / whole.gap))
			total, moved := 0.0, 0.0
			for j, want := range whole.logL {
				chance, got := math.Exp(want-whole.top), 0.0
				if at := j + shift; at >= 0 && at < len(few.logL) {
					got = math.Exp(few.logL[at] - whole.top)
				}
				total, moved = total+chance, moved+math.Abs(got-chance)
			}
			if !(moved <= 0.03*total) {
				t.Errorf("%s, kind %d: %.4f of the chances moved", name, k, moved/total)
			}
		}
	}
}
