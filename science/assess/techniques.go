package assess

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

// techniqueFindings compares each other technique with the reference one, level by
// level: equivalence by two one-sided tests at 5 % (the 90 % interval of the difference
// inside the permitted error, as in ASTM E2935) at every known of a need, never the
// absence of a significant difference. That every one of them holds is itself a test at
// 5 % (an intersection-union test: Berger, Technometrics 24 (1982) 295–300, from memory);
// an average over the levels would hide a technique that reads high at one and low at
// another. Different is said of the average or of a level, by Bonferroni's bound for all
// of them together.
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
	f := TechniqueFinding{From: st.techniques[0], To: st.techniques[t], Levels: []float64{}, Margin: num.None, ByLevel: []TechniqueAt{}}
	diff := make([]float64, p.Len())
	ratio := make([]float64, p.Len()) // log of the spreads' ratio, averaged over the levels
	at := make([]float64, p.Len())
	var each [][]float64
	blurred, least, most := true, 0.0, 0.0 // differences that readings in one interval each leave open
	for i, l := range st.levels {
		from, ok1 := st.at[[2]int{i, 0}]
		to, ok2 := st.at[[2]int{i, t}]
		if !ok1 || !ok2 {
			continue
		}
		for k := range diff {
			at[k] = p.Mean[to][k] - p.Mean[from][k]
			diff[k] += at[k]
			ratio[k] += p.LogSD[to][k] - p.LogSD[from][k]
		}
		a, b := st.groups[from], st.groups[to]
		hidden := a.oneInterval && b.oneInterval
		blurred = blurred && hidden
		least += b.interval[0] - a.interval[1]
		most += b.interval[1] - a.interval[0]
		own := TechniqueAt{Level: l.value, Apart: apart(at, hidden, b.interval[0]-a.interval[1], b.interval[1]-a.interval[0]), Permitted: num.None}
		if e, ok := permittedAt(st.needs, l.value); ok {
			own.Permitted = num.Number(e)
		}
		f.Levels, f.ByLevel, each = append(f.Levels, l.value), append(f.ByLevel, own), append(each, slices.Clone(at))
	}
	n := float64(len(f.Levels))
	if n == 0 {
		return f, false
	}
	for k := range diff {
		diff[k] /= n
		ratio[k] = math.Exp(ratio[k] / n)
	}
	f.Apart = apart(diff, blurred, least/n, most/n)
	f.SDRatio, f.SDRatioLow, f.SDRatioHi = num.Number(quantile(ratio, 0.5)), num.Number(quantile(ratio, 0.025)), num.Number(quantile(ratio, 0.975))
	if low, high, ok := st.ownRatio(t); ok {
		f.SDRatioLow, f.SDRatioHi = min(f.SDRatioLow, num.Number(math.Exp(low))), max(f.SDRatioHi, num.Number(math.Exp(high)))
	}
	f.Margin = f.margin()
	differs := false
	if each = append(each, diff); n == 1 {
		each = each[:1] // the average is the level's
	}
	for i, d := range each {
		tail := 0.025 / float64(len(each))
		readable := i < len(f.ByLevel) && f.ByLevel[i].Difference.OK() || i == len(f.ByLevel) && !blurred
		differs = differs || readable && (quantile(d, tail) > 0 || quantile(d, 1-tail) < 0)
	}
	f.Verdict = techniqueVerdict(f, differs)
	return f, true
}

// apart is what draws of a difference say; hidden where all readings of both fell in one
// interval each: steady hands could hide any difference between least and most.
func apart(draws []float64, hidden bool, least, most float64) Apart {
	q := func(p float64) num.Number { return num.Number(quantile(draws, p)) }
	a := Apart{q(0.5), q(0.025), q(0.975), q(0.05), q(0.95)}
	if hidden {
		a.Difference = num.None
		a.Low, a.Low90 = min(a.Low, num.Number(least)), min(a.Low90, num.Number(least))
		a.High, a.High90 = max(a.High, num.Number(most)), max(a.High90, num.Number(most))
	}
	return a
}

// margin is the permitted error, on average over the levels of a need.
func (f TechniqueFinding) margin() num.Number {
	sum, n := num.Number(0), num.Number(0)
	for _, l := range f.ByLevel {
		if l.Permitted.OK() {
			sum, n = sum+l.Permitted, n+1
		}
	}
	if n == 0 {
		return num.None
	}
	return sum / n
}

func techniqueVerdict(f TechniqueFinding, differs bool) string {
	same := f.Margin.OK()
	for _, l := range f.ByLevel {
		same = same && (!l.Permitted.OK() || -l.Permitted < l.Low90 && l.High90 < l.Permitted)
	}
	switch {
	case !f.Margin.OK():
		return NoNeedGiven
	case same:
		return SameForNeed
	case differs:
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
