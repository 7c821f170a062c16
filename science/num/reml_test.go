package num

import (
	"errors"
	"math"
	"testing"
)

// groupsOf numbers the distinct labels of some columns of a table.
func groupsOf(text [][]string, columns ...int) []int {
	seen := map[string]int{}
	var g []int
	for _, r := range text {
		label := ""
		for _, c := range columns {
			label += r[c] + "|"
		}
		if _, ok := seen[label]; !ok {
			seen[label] = len(seen)
		}
		g = append(g, seen[label])
	}
	return g
}

func column(v [][]float64, j int) []float64 {
	var c []float64
	for _, r := range v {
		c = append(c, r[j])
	}
	return c
}

// remlReference holds what the reference files give.
type remlReference struct {
	Recomputed struct {
		Intercept float64
		SE        float64 `json:"se_intercept"`
		Criterion float64 `json:"reml_criterion"`
	}
	ClosedForm map[string]any `json:"closed_form"`
}

func (r remlReference) closed(name string) float64 {
	v, ok := r.ClosedForm[name].(float64)
	if !ok {
		panic("no " + name)
	}
	return v
}

func remlAccuracy(t *testing.T) *accuracyTable {
	a := newAccuracyTable("Variance parts by restricted maximum likelihood (`REML`)", "standard deviations", "mean", "SE of the mean", "criterion")
	const sds = "standard deviations"
	for _, c := range []struct {
		name  string
		y     int
		parts [][]int // columns that label each grouping
		sd    []string
		note  string
	}{
		{"dyestuff", 1, [][]int{{0}}, []string{"sd_between", "sd_within"}, "analysis of variance in closed form"},
		{"rail", 1, [][]int{{0}}, []string{"sd_between", "sd_within"}, "closed form"},
		{"penicillin", 0, [][]int{{1}, {2}}, []string{"sd_plate", "sd_sample", "sd_residual"}, "crossed; closed form"},
		{"pastes", 0, [][]int{{1}, {1, 2}}, []string{"sd_batch", "sd_cask_in_batch", "sd_residual"}, "nested; closed form"},
	} {
		var ref remlReference
		readJSON(t, "precision/"+c.name+".json", &ref)
		v, text := rows(t, "precision/"+c.name+".csv")
		var groups [][]int
		for _, p := range c.parts {
			groups = append(groups, groupsOf(text, p...))
		}
		f, err := REML(column(v, c.y), ones(len(v)), groups...)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		a.set(c.name, 14, c.note+"; criterion by lme4")
		for k, name := range c.sd {
			got := f.Residual
			if k < len(f.SD) {
				got = f.SD[k]
			}
			a.add(sds, got, ref.closed(name))
		}
		a.add("mean", f.Coef[0], ref.Recomputed.Intercept)
		a.add("criterion", f.Criterion, ref.Recomputed.Criterion)
		switch c.name { // Var(mean) = MS ÷ n where there is one stratum above the residual
		case "dyestuff":
			a.add("SE of the mean", f.SE(0), math.Sqrt(ref.closed("MS_between")/30))
		case "rail":
			a.add("SE of the mean", f.SE(0), math.Sqrt(ref.closed("MS_between")/18))
		case "pastes":
			a.add("SE of the mean", f.SE(0), math.Sqrt(ref.closed("MS_batch")/60))
		case "penicillin":
			a.add("SE of the mean", f.SE(0), math.Sqrt((ref.closed("MS_plate")+ref.closed("MS_sample")-ref.closed("MS_residual"))/144))
		}
	}
	v, text := rows(t, "precision/dyestuff2.csv")
	y := column(v, 1)
	f, err := REML(y, ones(len(y)), groupsOf(text, 0))
	if err != nil {
		t.Fatal(err)
	}
	if f.SD[0] != 0 {
		t.Errorf("dyestuff2: between-batch SD %g, want exactly 0", f.SD[0])
	}
	var ref remlReference
	readJSON(t, "precision/dyestuff2.json", &ref)
	mean, sd := MeanSD(y)
	a.set("dyestuff2", 14, "variance at 0: the plain mean and SD; criterion by lme4")
	a.add(sds, f.Residual, sd)
	a.add("mean", f.Coef[0], mean)
	a.add("SE of the mean", f.SE(0), sd/math.Sqrt(float64(len(y))))
	a.add("criterion", f.Criterion, ref.Recomputed.Criterion)
	coopAccuracy(t, a)
	unbalancedAccuracy(t, a)
	return a
}

// coopAccuracy: balanced nested sets, closed form where no variance is negative.
func coopAccuracy(t *testing.T, a *accuracyTable) {
	var coop struct {
		Nested map[string]struct {
			Mean, Lab, Batch float64
			MSLab            float64 `json:"MS_lab"`
			VarDup           float64 `json:"var_duplicates"`
			VarBatch         float64 `json:"var_batch_in_lab"`
			VarLab           float64 `json:"var_lab"`
			MSBatch          float64 `json:"MS_batch_in_lab"`
			MSDup            float64 `json:"MS_duplicates"`
		} `json:"nested_anova"`
	}
	readJSON(t, "precision/coop.json", &coop)
	_, text := rows(t, "precision/coop.csv")
	a.set("co-operative trial", 13, "laboratory, batch, duplicates; seven specimens; closed form, pooled where a variance is 0")
	for _, s := range []string{"S1", "S2", "S3", "S4", "S5", "S6", "S7"} {
		var one [][]string
		var y []float64
		for _, r := range text {
			if r[1] == s {
				one, y = append(one, r), append(y, parse(r[3]))
			}
		}
		f, err := REML(y, ones(len(y)), groupsOf(one, 0), groupsOf(one, 0, 2))
		if err != nil {
			t.Errorf("%s: %v", s, err)
			continue
		}
		n := coop.Nested[s]
		lab, batch, ms := n.VarLab, n.VarBatch, n.MSLab
		if lab < 0 { // laboratories no more apart than their batches: pooled
			ms = (5*n.MSLab + 12*n.MSBatch) / 17
			lab, batch = 0, (ms-n.MSDup)/2
		}
		a.add("standard deviations", f.SD[0], math.Sqrt(lab))
		a.add("standard deviations", f.SD[1], math.Sqrt(batch))
		a.add("standard deviations", f.Residual, math.Sqrt(n.VarDup))
		a.add("mean", f.Coef[0], n.Mean)
		a.add("SE of the mean", f.SE(0), math.Sqrt(ms/36))
	}
}

func unbalancedAccuracy(t *testing.T, a *accuracyTable) {
	v, text := rows(t, "precision/unbalanced.csv")
	for i, r := range v {
		name := text[i][0]
		var y []float64
		var g []int
		switch name {
		case "coal sulfur level 1", "coal sulfur level 3":
			d, _ := rows(t, "precision/iso5725_coal_sulfur.csv")
			for _, x := range d {
				if x[0] == parse(name[len(name)-1:]) {
					g, y = append(g, int(x[1])), append(y, x[2])
				}
			}
		case "rail less four":
			y, g = without(t, "precision/rail.csv", 2, 3, 7, 11)
		case "dyestuff less six":
			y, g = without(t, "precision/dyestuff.csv", 1, 6, 7, 8, 20, 30)
		}
		f, err := REML(y, ones(len(y)), g)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		a.set(name, 14, "unequal groups; R, root of the likelihood's derivative; criterion by lme4")
		a.add("standard deviations", f.SD[0], r[1])
		a.add("standard deviations", f.Residual, r[2])
		a.add("mean", f.Coef[0], r[3])
		a.add("SE of the mean", f.SE(0), r[4])
		a.add("criterion", f.Criterion, r[7])
		if math.Abs(f.SD[0]/r[5]-1) > 1e-5 || math.Abs(f.Residual/r[6]-1) > 1e-5 {
			t.Errorf("%s: lme4 has %g, %g; got %g, %g", name, r[5], r[6], f.SD[0], f.Residual)
		}
	}
}

// without reads group and value, leaving out rows (counted from 1).
func without(t *testing.T, name string, out ...int) (y []float64, g []int) {
	v, text := rows(t, name)
	all := groupsOf(text, 0)
next:
	for i := range v {
		for _, o := range out {
			if i+1 == o {
				continue next
			}
		}
		y, g = append(y, v[i][1]), append(g, all[i])
	}
	return y, g
}

// In a balanced one-way design the variances' information is known in closed
// form: Var(s²_within) = 2σ⁴/ν_within, Var(MS_between) = 2·MS²/ν_between.
func TestREMLVarianceOfVariances(t *testing.T) {
	v, text := rows(t, "precision/dyestuff.csv")
	f, err := REML(column(v, 1), ones(30), groupsOf(text, 0))
	if err != nil {
		t.Fatal(err)
	}
	const between, within = 11271.5, 2451.25 // mean squares on 5 and 24 degrees of freedom
	vw, vb := 2*within*within/24, 2*between*between/5
	needDigits(t, "Var of the residual variance", f.VarCov[1][1], vw, 10)
	needDigits(t, "Var of the batch variance", f.VarCov[0][0], (vb+vw)/25, 10)
	needDigits(t, "covariance", f.VarCov[0][1], -vw/5, 10)
	// a batch's effect is its mean's deviation, shrunk
	o := [6]Sum{}
	for i, r := range v {
		o[groupsOf(text, 0)[i]].Add((r[1] - 1527.5) / 5)
	}
	shrink := 1 - within/between
	for k := range o {
		needDigits(t, "effect", f.Effect[0][k], shrink*o[k].Value(), 10)
	}
}

func TestREMLMovesWithUnits(t *testing.T) {
	v, text := rows(t, "precision/pastes.csv")
	y := column(v, 0)
	a, err := REML(y, ones(60), groupsOf(text, 1), groupsOf(text, 1, 2))
	if err != nil {
		t.Fatal(err)
	}
	for i := range y {
		y[i] = 1e6 + 1e-3*y[i]
	}
	b, err := REML(y, ones(60), groupsOf(text, 1), groupsOf(text, 1, 2))
	if err != nil {
		t.Fatal(err)
	}
	for k := range a.SD {
		needDigits(t, "SD", b.SD[k]*1e3, a.SD[k], 6) // y keeps 6 digits of its spread so far from 0
	}
	// a slope that the data do not have changes little, one that they do is found
	X := ones(60)
	for i := range X {
		X[i] = []float64{1, float64(i % 10)}
		y[i] = (y[i]-1e6)*1e3 + 2*float64(i%10)
	}
	c, err := REML(y, X, groupsOf(text, 1), groupsOf(text, 1, 2))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.Coef[1]-2) > 4*c.SE(1) || !(c.SE(1) > 0) {
		t.Errorf("slope %g ± %g, want about 2", c.Coef[1], c.SE(1))
	}
}

func TestREMLRefuses(t *testing.T) {
	y := []float64{1, 2, 4, 3, 7, 5}
	pair := []int{0, 0, 1, 1, 2, 2}
	for _, c := range []struct {
		name   string
		groups [][]int
		known  error
	}{
		{"one observation a group", [][]int{{0, 1, 2, 3, 4, 5}}, ErrConfounded},
		{"one group", [][]int{{0, 0, 0, 0, 0, 0}}, ErrConfounded},
		{"the same grouping twice", [][]int{pair, pair}, ErrConfounded},
		{"too short", [][]int{{0, 1}}, nil},
		{"a negative group", [][]int{{0, 0, -1, 1, 2, 2}}, nil},
	} {
		f, err := REML(y, ones(6), c.groups...)
		if err == nil || c.known != nil && !errors.Is(err, c.known) {
			t.Errorf("%s: %+v %v", c.name, f, err)
		}
	}
	if _, err := REML([]float64{2, 2, 2, 2, 2, 2}, ones(6), pair); err == nil {
		t.Error("no spread at all")
	}
	if f, err := REML([]float64{1, 1, 4, 4, 7, 7}, ones(6), pair); err == nil {
		t.Errorf("no spread within groups: %+v", f)
	}
	f, err := REML(y, ones(6))
	_, sd := MeanSD(y)
	if err != nil {
		t.Fatal(err)
	}
	needDigits(t, "no grouping: SD", f.Residual, sd, 14)
}
