package assess

import (
	"math"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

// techniqueFindings compares each other technique with the reference one, at
// the levels that both were tried at: equivalence by two one-sided tests at
// 5 % (the 90 % interval of the difference inside the permitted error, as in
// ASTM E2935), never the absence of a significant difference. Each level's
// difference and permitted error count alike.
func (st *study) techniqueFindings() {
	if st.post == nil {
		if len(st.techniques) > 1 {
			st.note(note.New("techniques-not-repeated"))
		}
		return
	}
	for t := 1; t < len(st.techniques); t++ {
		if f, ok := st.compareTechnique(t); ok {
			st.finding.Techniques = append(st.finding.Techniques, f)
		} else {
			st.note(note.New("techniques-share-no-level").Name("technique", st.techniques[t]).Name("other", st.techniques[0]))
		}
	}
}

func (st *study) compareTechnique(t int) (TechniqueFinding, bool) {
	p := st.post.Wide
	f := TechniqueFinding{From: st.techniques[0], To: st.techniques[t], Levels: []float64{}, Margin: num.None, Difference: num.None}
	diff := make([]float64, p.Len())
	ratio := make([]float64, p.Len()) // log of the spreads' ratio, averaged over the levels
	margin, judged, blurred := 0.0, true, true
	least, most := 0.0, 0.0 // differences that readings in one interval each leave open
	for i, l := range st.levels {
		from, ok1 := st.at[[2]int{i, 0}]
		to, ok2 := st.at[[2]int{i, t}]
		if !ok1 || !ok2 {
			continue
		}
		f.Levels = append(f.Levels, l.value)
		for k := range diff {
			diff[k] += p.Mean[to][k] - p.Mean[from][k]
			ratio[k] += p.LogSD[to][k] - p.LogSD[from][k]
		}
		m, ok := permittedAt(st.needs, l.value)
		margin, judged = margin+m, judged && ok
		a, b := st.groups[from], st.groups[to]
		blurred = blurred && a.oneInterval && b.oneInterval
		least += b.interval[0] - a.interval[1]
		most += b.interval[1] - a.interval[0]
	}
	n := float64(len(f.Levels))
	if n == 0 {
		return f, false
	}
	for k := range diff {
		diff[k] /= n
		ratio[k] = math.Exp(ratio[k] / n)
	}
	f.Low, f.High = num.Number(quantile(diff, 0.025)), num.Number(quantile(diff, 0.975))
	f.Low90, f.High90 = num.Number(quantile(diff, 0.05)), num.Number(quantile(diff, 0.95))
	if !blurred {
		f.Difference = num.Number(quantile(diff, 0.5))
	} else { // steady hands could hide any difference within the steps
		f.Low, f.Low90 = min(f.Low, num.Number(least/n)), min(f.Low90, num.Number(least/n))
		f.High, f.High90 = max(f.High, num.Number(most/n)), max(f.High90, num.Number(most/n))
	}
	f.SDRatio, f.SDRatioLow, f.SDRatioHi = num.Number(quantile(ratio, 0.5)), num.Number(quantile(ratio, 0.025)), num.Number(quantile(ratio, 0.975))
	if judged {
		f.Margin = num.Number(margin / n)
	}
	f.Verdict = techniqueVerdict(f)
	return f, true
}

func techniqueVerdict(f TechniqueFinding) string {
	switch {
	case !f.Margin.OK():
		return NoNeedGiven
	case -f.Margin < f.Low90 && f.High90 < f.Margin:
		return SameForNeed
	case f.Low > 0 || f.High < 0:
		return Different
	}
	return Undecided
}

// permittedAt is the smallest error that any need permits at c.
func permittedAt(needs []knownwater.Need, c float64) (float64, bool) {
	e, ok := math.Inf(1), false
	for _, n := range needs {
		if c >= n.Low && c <= n.High {
			e, ok = math.Min(e, n.PermittedAt(c)), true
		}
	}
	return e, ok
}
