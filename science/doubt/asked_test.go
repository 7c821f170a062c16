package doubt_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"knownwater"
	"knownwater/internal/madeup"
	"knownwater/science/doubt"
	"knownwater/science/interval"
)

// cleanDesigns are trials in which nothing went wrong.
func cleanDesigns() []madeup.Design {
	falling := func(c float64) float64 { return 1.2 / (1 + c/5) }
	humped := func(c float64) float64 { return 0.1 + 1.5*math.Exp(-math.Pow(math.Log((c+1)/8), 2)) }
	var ds []madeup.Design
	for _, n := range []int{2, 3, 5, 9} {
		for _, s := range []struct {
			name string
			sd   func(float64) float64
		}{{"constant", madeup.Constant(0.3)}, {"proportional", madeup.Growing(0.05, 0.08)}, {"wide", madeup.Growing(0.1, 0.2)}, {"falling", falling}, {"humped", humped}} {
			ds = append(ds, madeup.Of(fmt.Sprintf("display, %s, %d", s.name, n), madeup.Meter, madeup.Levels, n, nil, s.sd, madeup.OnMeter))
		}
		ds = append(ds,
			madeup.Of(fmt.Sprintf("card, %d", n), madeup.Card, madeup.Levels, n, nil, madeup.Growing(0.2, 0.12), madeup.OnTiles(madeup.Card)),
			madeup.Of(fmt.Sprintf("drops, %d", n), madeup.Drops, []float64{2, 5, 7, 9, 12}, n, nil, madeup.Constant(0.25), madeup.OnDrops))
	}
	return append(ds,
		madeup.Of("display, single readings", madeup.Meter, madeup.Levels, 1, nil, madeup.Growing(0.1, 0.08), madeup.OnMeter),
		madeup.Of("card, single readings", madeup.Card, madeup.Levels, 1, nil, madeup.Growing(0.2, 0.12), madeup.OnTiles(madeup.Card)),
		madeup.Of("two levels", madeup.Meter, []float64{2, 20}, 3, nil, madeup.Growing(0.1, 0.1), madeup.OnMeter))
}

func asked(t knownwater.Trial) (qs []doubt.Question) {
	for _, s := range doubt.Sights(t.Scale, readings(t)) {
		qs = append(qs, s.Ask(func(doubt.Question) bool { return false })...)
	}
	return qs
}

// readings are those of each method at each dilution in each water, in the order in which they stand.
func readings(t knownwater.Trial) (all []doubt.Readings) {
	type key struct {
		method, matrix string
		dilution       float64
	}
	at := map[key]int{}
	for _, o := range t.Observations {
		k := key{o.Method, o.Matrix, o.Dilution}
		i, known := at[k]
		if !known {
			i = len(all)
			at[k] = i
			m := slices.IndexFunc(t.Methods, func(m knownwater.Method) bool { return m.Name == o.Method })
			all = append(all, doubt.Readings{Method: t.Methods[m], Matrix: o.Matrix})
		}
		all[i].Obs = append(all[i].Obs, o)
	}
	return all
}

// TestCleanTrialsAreNotAsked: of trials in which nothing went wrong at most 2 %
// are asked anything (so at most 2 % are held back).
func TestCleanTrialsAreNotAsked(t *testing.T) {
	trials := trialsOf(200)
	for _, d := range cleanDesigns() {
		rng := rand.New(rand.NewPCG(9, uint64(len(d.Name))))
		kinds, k := map[string]int{}, 0
		for range trials {
			qs := asked(d.Trial(rng, "nitrate", nil))
			if len(qs) > 0 {
				k++
			}
			for _, q := range qs {
				kinds[q.Kind]++
			}
		}
		t.Logf("%-28s %3d of %d %v", d.Name, k, trials, kinds)
		if !madeup.AtMost(k, trials, 0.02) {
			t.Errorf("%s: %d of %d clean trials are asked about: %v", d.Name, k, trials, kinds)
		}
	}
}

// TestHonestSlopesAreNotAsked: methods that read low or high by themselves,
// with a blank of their own, bent or dead near zero, are not pestered (≤ 5 %).
func TestHonestSlopesAreNotAsked(t *testing.T) {
	trials := trialsOf(300)
	responses := []struct {
		name string
		of   func(slope, c float64) float64
	}{
		{"straight", func(b, c float64) float64 { return b * c }},
		{"with a blank", func(b, c float64) float64 { return 0.7 + b*c }},
		{"saturating", func(b, c float64) float64 { return b * c / (1 + c/120) * 1.15 }},
		{"dead zone", func(b, c float64) float64 { return 2.4 + b*0.25*math.Log1p(math.Exp((c-1.8)/0.25)) }},
	}
	for _, analyte := range []string{"nitrate", "alkalinity", "phosphate"} {
		for _, r := range responses {
			for _, n := range []int{1, 3} {
				rng := rand.New(rand.NewPCG(10, uint64(n)))
				kinds, k := map[string]int{}, 0
				for range trials {
					b := 0.5 + rng.Float64()
					d := madeup.Of("", madeup.Meter, madeup.Levels, n, func(c float64) float64 { return r.of(b, c) }, madeup.Growing(0.1, 0.06), madeup.OnMeter)
					qs := asked(d.Trial(rng, analyte, nil))
					if len(qs) > 0 {
						k++
						kinds[qs[0].Kind]++
					}
				}
				t.Logf("%-10s %-14s %d readings: %3d of %d %v", analyte, r.name, n, k, trials, kinds)
				if !madeup.AtMost(k, trials, 0.05) {
					t.Errorf("%s, %s, %d: %d of %d honest methods are asked about: %v", analyte, r.name, n, k, trials, kinds)
				}
			}
		}
	}
}

// The factors, from molar masses by hand (IUPAC abridged atomic weights 2021):
// NO3 62.004, N 14.007, PO4 94.970, P 30.974, CaCO3 100.086; 1 meq/L is 2.8 dKH.
const (
	umolNO3  = 1000 / 62.004   // µmol/L in 1 mg/L NO3
	nInNO3   = 14.007 / 62.004 // mg/L N in 1 mg/L NO3
	pInPO4   = 30.974 / 94.970 // mg/L P in 1 mg/L PO4
	umolPO4  = 1000 / 94.970   // µmol/L in 1 mg/L PO4
	meqInDKH = 1 / 2.8041      // meq/L in 1 dKH: 20 mg/L CaO of 56.077 g/mol
	caInDKH  = 17.848          // mg/L CaCO3 in 1 dKH
)

// TestUnitSlipsAreFound: readings on another scale are asked about as such in
// at least 95 % of trials, whatever the method itself reads (0.8 to 1.2).
func TestUnitSlipsAreFound(t *testing.T) {
	trials := trialsOf(200)
	for _, c := range []struct {
		analyte, kind string
		factor        float64
	}{
		{"nitrate", doubt.OfUnit, umolNO3}, {"nitrate", doubt.OfBasis, nInNO3}, {"nitrate", doubt.OfUnit, 1000},
		{"phosphate", doubt.OfBasis, pInPO4}, {"phosphate", doubt.OfUnit, umolPO4}, {"phosphate", doubt.OfUnit, 1000},
		{"alkalinity", doubt.OfUnit, meqInDKH}, {"alkalinity", doubt.OfUnit, caInDKH},
		{"nitrate", doubt.OfUnit, 1 / umolNO3}, {"nitrate", doubt.OfBasis, 1 / nInNO3}, {"alkalinity", doubt.OfUnit, 1 / meqInDKH},
		{"nitrate", doubt.OfDilution, 1.0 / 8}, {"nitrate", doubt.OfDilution, 8},
	} {
		for _, few := range []struct {
			name   string
			levels []float64
			n      int
			sd     func(float64) float64
			missed float64
		}{
			{"3 readings at 7 levels", madeup.Levels, 3, madeup.Growing(0.1, 0.08), 0.05},
			{"single readings at 4 levels", []float64{0, 5, 10, 20}, 1, madeup.Growing(0.1, 0.06), 0.05},
			{"2 readings at 3 levels", []float64{4, 8, 12}, 2, madeup.Growing(0.1, 0.06), 0.05},
			{"2 readings at 2 levels", []float64{4, 12}, 2, madeup.Growing(0.1, 0.06), 0.05},
			{"one level", []float64{8}, 3, madeup.Growing(0.1, 0.06), 0.20},
		} {
			rng := rand.New(rand.NewPCG(11, uint64(len(few.levels))))
			kinds, k := map[string]int{}, 0
			for range trials {
				own := 0.8 + 0.4*rng.Float64()
				d := madeup.Of("", madeup.Meter, few.levels, few.n, nil, few.sd, func(y float64) string { return fmt.Sprintf("%.4g", y) })
				qs := asked(d.Trial(rng, c.analyte, func(_ int, _, y float64) float64 { return own * y * c.factor }))
				for _, q := range qs {
					kinds[q.Kind]++
				}
				if len(qs) == 1 && qs[0].Kind == c.kind && len(qs[0].At) == few.n*len(few.levels)-few.n*b0(few.levels[0] == 0) {
					k++
				}
			}
			t.Logf("%-10s ×%-8.4g %-28s %3d of %d %v", c.analyte, c.factor, few.name, k, trials, kinds)
			if !madeup.AtMost(trials-k, trials, few.missed) {
				t.Errorf("%s ×%.4g, %s: asked in %d of %d: %v", c.analyte, c.factor, few.name, k, trials, kinds)
			}
		}
	}
}

func b0(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// TestForgottenDilutionsAreFound: rows whose dilution was left out of the
// table, and rows that were multiplied before they were written down, are
// named, and no others.
func TestForgottenDilutionsAreFound(t *testing.T) {
	trials := trialsOf(200)
	for _, c := range []struct {
		name    string
		n       int
		sd      func(float64) float64
		diluted bool // levels from 10 up are diluted by 8
		wrong   []int
		factor  float64
	}{
		{"two of 21, nothing else diluted", 3, madeup.Growing(0.1, 0.08), false, []int{18, 21}, 1.0 / 8},
		{"two of 21, the high levels diluted", 3, madeup.Growing(0.1, 0.08), true, []int{15, 20}, 1.0 / 8},
		{"two of three at one level", 3, madeup.Growing(0.1, 0.08), true, []int{17, 18}, 1.0 / 8},
		{"a whole level", 3, madeup.Growing(0.1, 0.08), true, []int{17, 18, 19}, 1.0 / 8},
		{"one of two a level", 2, madeup.Growing(0.1, 0.08), true, []int{13}, 1.0 / 8},
		{"single readings", 1, madeup.Growing(0.1, 0.06), true, []int{7}, 1.0 / 8},
		{"multiplied already", 3, madeup.Growing(0.1, 0.08), true, []int{16, 20}, 8},
	} {
		rng := rand.New(rand.NewPCG(12, uint64(c.n)))
		k := 0
		var sample []doubt.Question
		for range trials {
			d := madeup.Of("", madeup.Meter, madeup.Levels, c.n, nil, c.sd, madeup.OnMeter)
			trial := d.Trial(rng, "nitrate", func(row int, level, y float64) float64 {
				if c.diluted && level >= 10 {
					y /= 8
				}
				if slices.Contains(c.wrong, row) && (c.factor > 1 || !c.diluted) {
					y *= c.factor
				}
				return y
			})
			for i := range trial.Observations {
				o := &trial.Observations[i]
				if c.diluted && o.Level >= 10 && !(c.factor < 1 && slices.Contains(c.wrong, o.Row)) {
					o.Dilution = 8
				}
			}
			qs := asked(trial)
			if len(qs) == 1 && qs[0].Kind == doubt.OfDilution && slices.Equal(rowsOf(qs[0].At), c.wrong) {
				k++
			} else if sample == nil {
				sample = qs
			}
		}
		t.Logf("%-36s %3d of %d", c.name, k, trials)
		if !madeup.AtMost(trials-k, trials, 0.05) {
			t.Errorf("%s: asked in %d of %d; else such as %+v", c.name, k, trials, sample)
		}
	}
}

func rowsOf(at []doubt.Place) (rows []int) {
	for _, p := range at {
		rows = append(rows, p.Row)
	}
	return rows
}

// TestSwappedVialsAreFound: two readings that stand at each other's level.
func TestSwappedVialsAreFound(t *testing.T) {
	trials := trialsOf(200)
	for _, c := range []struct {
		name  string
		n     int
		sd    func(float64) float64
		swap  [2]int
		named bool
		m     knownwater.Method
		show  func(float64) string
	}{
		{"display, 3 a level", 3, madeup.Growing(0.1, 0.06), [2]int{9, 16}, false, madeup.Meter, madeup.OnMeter},
		{"display, 3 a level, vials named", 3, madeup.Growing(0.1, 0.06), [2]int{13, 20}, true, madeup.Meter, madeup.OnMeter},
		{"display, 2 a level", 2, madeup.Growing(0.1, 0.06), [2]int{6, 12}, false, madeup.Meter, madeup.OnMeter},
		{"card, 3 a level", 3, madeup.Growing(0.15, 0.08), [2]int{9, 20}, false, madeup.Card, madeup.OnTiles(madeup.Card)},
	} {
		rng := rand.New(rand.NewPCG(13, uint64(c.n)))
		k := 0
		var sample []doubt.Question
		for range trials {
			d := madeup.Of("", c.m, madeup.Levels, c.n, nil, c.sd, c.show)
			trial := d.Trial(rng, "nitrate", nil)
			a, b := &trial.Observations[c.swap[0]-2], &trial.Observations[c.swap[1]-2]
			a.Text, b.Text, a.Seen, b.Seen = b.Text, a.Text, b.Seen, a.Seen
			if c.named {
				for i := range trial.Observations {
					trial.Observations[i].Vial = fmt.Sprint("v", i)
				}
			}
			qs := asked(trial)
			if len(qs) == 1 && qs[0].Kind == doubt.OfSwap && slices.Equal(rowsOf(qs[0].At), c.swap[:]) {
				k++
			} else if sample == nil {
				sample = qs
			}
		}
		t.Logf("%-36s %3d of %d", c.name, k, trials)
		if !madeup.AtMost(trials-k, trials, 0.05) {
			t.Errorf("%s: asked in %d of %d; else such as %+v", c.name, k, trials, sample)
		}
	}
}

// TestGrossSlipsAreNamed: one reading of 21 that is 40 % off (glare) where the
// others scatter by 4 % is named, and no other.
func TestGrossSlipsAreNamed(t *testing.T) {
	trials := trialsOf(200)
	for _, n := range []int{3, 5} {
		rng := rand.New(rand.NewPCG(14, uint64(n)))
		k := 0
		for range trials {
			d := madeup.Of("", madeup.Meter, madeup.Levels, n, nil, madeup.Growing(0.02, 0.03), madeup.OnMeter)
			wrong := 2 + 4*n + 1 // at 10
			qs := asked(d.Trial(rng, "nitrate", func(row int, _, y float64) float64 {
				if row == wrong {
					return 0.4 * y
				}
				return y
			}))
			if len(qs) == 1 && qs[0].Kind == doubt.OfSlip && slices.Equal(rowsOf(qs[0].At), []int{wrong}) {
				k++
			}
		}
		t.Logf("%d a level: %d of %d", n, k, trials)
		if !madeup.AtMost(trials-k, trials, 0.10) {
			t.Errorf("%d a level: named in %d of %d", n, k, trials)
		}
	}
}

// TestMended: the trial as a doubt would have it differs in what the doubt is
// about and nowhere else, also where rows carry no numbers.
func TestMended(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 1))
	d := madeup.Of("", madeup.Meter, madeup.Levels, 3, nil, madeup.Growing(0.1, 0.05), madeup.OnMeter)
	forgot := d.Trial(rng, "nitrate", func(row int, _, y float64) float64 {
		if row == 18 || row == 21 {
			return y / 8
		}
		return y
	})
	swapped := d.Trial(rng, "nitrate", nil)
	a, b := &swapped.Observations[7], &swapped.Observations[16]
	a.Text, b.Text, a.Seen, b.Seen = b.Text, a.Text, b.Seen, a.Seen
	slip := d.Trial(rng, "nitrate", nil)
	slip.Observations[14].Text, slip.Observations[14].Seen = "29.00", interval.Interval{Low: 28.995, High: 29.005}
	inMicromol := d.Trial(rng, "nitrate", func(_ int, _, y float64) float64 { return umolNO3 * y })
	for _, c := range []struct {
		name    string
		trial   knownwater.Trial
		changed map[int]string // index → what it becomes
		all     bool
		gone    int
	}{
		{"forgotten", forgot, map[int]string{16: "×8", 19: "×8"}, false, 0},
		{"swapped", swapped, map[int]string{7: "20", 16: "2.5"}, false, 0},
		{"slip", slip, nil, false, 1},
		{"all", inMicromol, nil, true, 0},
	} {
		for i := range c.trial.Observations {
			c.trial.Observations[i].Row = 0
			c.trial.Observations[i].Vial = fmt.Sprint("v", i)
		}
		other := c.trial.Observations[3]
		other.Method, other.Text, other.Seen = "Other", "1.00", interval.Interval{Low: 0.995, High: 1.005}
		c.trial.Observations = append(c.trial.Observations, other)
		c.trial.Methods = append(c.trial.Methods, knownwater.Method{Name: "Other", Kind: knownwater.Display, Resolution: 0.01})
		qs := asked(c.trial)
		if len(qs) != 1 {
			t.Fatalf("%s: %d questions: %+v", c.name, len(qs), qs)
		}
		got := qs[0].Mends[0](c.trial)
		if len(got.Observations) != len(c.trial.Observations)-c.gone {
			t.Errorf("%s: %d observations of %d", c.name, len(got.Observations), len(c.trial.Observations))
			continue
		}
		for i, o := range got.Observations {
			if c.gone > 0 {
				break
			}
			was := c.trial.Observations[i]
			how := ""
			switch {
			case o.Level != was.Level:
				how = fmt.Sprint(o.Level)
			case o.On() != was.On():
				how = fmt.Sprintf("×%.4g", o.On().High/was.On().High)
			}
			want := c.changed[i]
			if c.all && o.Method == "Meter" {
				want = fmt.Sprintf("×%.4g", 1/umolNO3)
			}
			if how != want {
				t.Errorf("%s: reading %d (%s %s at %g) became %q, want %q", c.name, i, was.Method, was.Text, was.Level, how, want)
			}
		}
	}
}

// trialsOf is how many trials to simulate: fewer in a short run.
func trialsOf(n int) int {
	if testing.Short() {
		return n / 4
	}
	return n
}
