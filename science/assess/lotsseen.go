package assess

import (
	"math"
	"slices"

	"knownwater/science/num"
	"knownwater/science/posterior"
)

// lotSeen is what one lot read in the trial's groups: its mean reading there less what readers and
// sessions add, and 1 ÷ variance, 0 where it was not read or not told.
type lotSeen struct{ mean, weight []float64 }

// lotsSeen is what each lot read in each group, as differences from the group's mean.
func (st *study) lotsSeen(lot int) (all []lotSeen) {
	vial, vials := st.factor["vial"]
	lots := make([][][]posterior.Cell, len(st.members["lot"]))
	for j := range lots {
		lots[j] = make([][]posterior.Cell, len(st.groups))
	}
	for _, c := range st.data.Cells {
		if j := c.Member[lot]; j != posterior.None {
			lots[j][c.Group] = append(lots[j][c.Group], c)
		}
	}
	adds := st.addedByOthers(lot)
	for _, groups := range lots {
		seen := lotSeen{make([]float64, len(st.groups)), make([]float64, len(st.groups))}
		told := false
		for g, cells := range groups {
			sd := math.Exp(quantile(st.post.Form.LogSD[g], 0.5))
			mean, variance, ok := st.meanOfCells(cells, sd, adds)
			if !ok {
				continue
			}
			if vials {
				form := st.post.Form
				tau := sd * quantile(form.Ratio[vial], 0.5)
				if form.FlatIn(vial) {
					tau = quantile(drawn(form.Len(), func(k int) float64 { return form.Ratio[vial][k] * form.Height(vial, g, k) }), 0.5)
				}
				variance += tau * tau * evenness(cells, vial)
			}
			seen.mean[g], seen.weight[g], told = mean-st.bestMean(g), 1/variance, true
		}
		if told {
			all = append(all, seen)
		}
	}
	return all
}

// addedByOthers is what a cell's reader and session add to it, in repeatabilities: their average effects.
func (st *study) addedByOthers(lot int) func(c posterior.Cell) float64 {
	form := st.post.Form
	mean := make([][][]float64, len(st.data.Factors)) // by factor, member and group
	for f, fac := range st.data.Factors {
		if f == lot || fac.Nested {
			continue
		}
		for j := range fac.Members {
			by := slices.Repeat([]float64{num.Mean(form.Effect[f][j])}, st.data.Groups)
			for g := range by {
				if form.FlatIn(f) {
					by[g] = num.Mean(drawn(form.Len(), func(k int) float64 { return form.Effect[f][j][k] * form.Height(f, g, k) })) / math.Exp(quantile(form.LogSD[g], 0.5))
				}
			}
			mean[f] = append(mean[f], by)
		}
	}
	return func(c posterior.Cell) (sum float64) {
		for f, m := range c.Member {
			if mean[f] != nil && m != posterior.None {
				sum += mean[f][m][c.Group]
			}
		}
		return sum
	}
}

// evenness is Σ n_v²/n² over the vials: the share of a vial's variance that is left in the mean of readings.
func evenness(cells []posterior.Cell, vial int) float64 {
	n, alone := 0.0, 0.0
	var by [][2]float64 // vial, readings
	for _, c := range cells {
		n += c.Count
		v := float64(c.Member[vial])
		switch k := slices.IndexFunc(by, func(b [2]float64) bool { return b[0] == v }); {
		case v == posterior.None:
			alone += c.Count
		case k < 0:
			by = append(by, [2]float64{v, c.Count})
		default:
			by[k][1] += c.Count
		}
	}
	for _, b := range by {
		alone += b[1] * b[1]
	}
	return alone / (n * n)
}

// A slip is one of strayShare readings and lies about as far off as strayWide repeatabilities; a mean is looked for
// in steps of meanStep of them, meanSteps at most.
const (
	strayShare = 0.05
	strayWide  = 10
	meanStep   = 0.2
	meanSteps  = 400
)

// meanOfCells is the mean reading of cells, and the variance of that, where single readings have the standard
// deviation sd and anything from the bounds of means up is as likely beforehand. Not ok where all are open at one
// end.
func (st *study) meanOfCells(cells []posterior.Cell, sd float64, adds func(posterior.Cell) float64) (mean, variance float64, ok bool) {
	type seen struct{ low, high, n float64 }
	var all []seen
	best := st.likeliestSharing()
	low, high, below, above := math.Inf(1), math.Inf(-1), true, true
	for _, c := range cells {
		by := sd * adds(c)
		s := seen{c.Seen[best][0] - by, c.Seen[best][1] - by, c.Count}
		all = append(all, s)
		below, above = below && math.IsInf(s.low, -1), above && math.IsInf(s.high, 1)
		for _, end := range [2]float64{s.low, s.high} {
			if !math.IsInf(end, 0) {
				low, high = math.Min(low, end), math.Max(high, end)
			}
		}
	}
	if below || above {
		return 0, 0, false
	}
	low, high = math.Max(low-4*sd, st.data.MeanFloor), math.Min(high+4*sd, st.data.MeanTop)
	step := math.Max(meanStep*sd, (high-low)/meanSteps)
	var at, log []float64
	top := math.Inf(-1)
	for m := low; m <= high; m += step {
		sum := 0.0
		for _, s := range all {
			sum += s.n * math.Log((1-strayShare)*chanceOf(s.low-m, s.high-m, sd)+strayShare*chanceOf(s.low-m, s.high-m, strayWide*sd))
		}
		at, log, top = append(at, m), append(log, sum), math.Max(top, sum)
	}
	var total num.Sum
	for i, l := range log {
		log[i] = math.Exp(l - top)
		total.Add(log[i])
		mean += log[i] * (at[i] - low)
	}
	mean /= total.Value()
	for i, w := range log {
		off := at[i] - low - mean
		variance += w * off * off / total.Value()
	}
	return low + mean, variance, variance > 0
}

// chanceOf is that of a value between low and high of a normal about 0; the density of an exact one.
func chanceOf(low, high, sd float64) float64 {
	if low == high {
		return num.NormalPDF(low/sd) / sd
	}
	return num.QuickPhi(high/sd) - num.QuickPhi(low/sd)
}

// likeliestSharing is the place of the sharing of a chart's gaps that the readings speak for most.
func (st *study) likeliestSharing() int {
	best := 0
	for i, w := range st.post.Share {
		if w > st.post.Share[best] {
			best = i
		}
	}
	return best
}
