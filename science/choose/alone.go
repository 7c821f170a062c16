package choose

import (
	"knownwater"
	"knownwater/science/assess"
	"knownwater/science/curve"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Alone are what single results of a way show: the least that shows at all, and the smallest rise that one result
// each shows from the need's lower end, or from the known below it.
type Alone struct {
	Shows, Step Spanned
	Why         []note.Note // what of them is missing, and why
}

// Spanned is a number with its 95 % limits; none: beyond what was tried.
type Spanned struct{ Is, Low, High num.Number }

// Times is it multiplied by k.
func (s Spanned) Times(k float64) Spanned {
	n := num.Number(k)
	return Spanned{s.Is * n, s.Low * n, s.High * n}
}

var notKnown = Alone{Shows: Spanned{num.None, num.None, num.None}, Step: Spanned{num.None, num.None, num.None}}

// alone is that of a way by a trial; averages and what was not tried have none.
func alone(n knownwater.Need, w Way, t Trial) Alone {
	out := notKnown
	if w.Tests > 1 || w.Verdict == assess.NotTried {
		return out
	}
	if t.Curve != nil {
		return t.Curve.alone(n, w.Dilution)
	}
	for _, m := range t.Findings.Methods {
		if m.Method != w.Method || m.Matrix != w.Matrix || w.Dilution == 0 && m.Dilution != 1 || w.Dilution != 0 && m.Dilution != w.Dilution {
			continue
		}
		out.Shows = Spanned{m.Limits.Detection, m.Limits.DetectionLow, m.Limits.DetectionHigh}
		for i, s := range m.Steps {
			if s.At <= n.Low*(1+1e-9) || i == 0 {
				out.Step = Spanned{s.SmallestStep, s.Low, s.High}
			}
		}
	}
	return out
}

// alone is that of a curve, through the curve turned round: see curve.DetectionAround and curve.Rise, with limits that hold by all shapes that its points
// do not tell apart. The rise is from the
// need's lower end, or from where the curve begins above it.
func (c Curved) alone(n knownwater.Need, dilution float64) Alone {
	out := notKnown
	alike := c.doc.AlikeOf(dilution)
	by := alike[0]
	spanned := func(a curve.Around) Spanned {
		return Spanned{num.Number(a.Value), num.Number(a.Low), num.Number(a.High)}.Times(dilution)
	}
	if d := curve.Among(alike, curve.Curve.DetectionAround); spanned(d).Is.OK() {
		out.Shows = spanned(d)
	} else if by.Range.LevelLow > 0 {
		out.Why = append(out.Why, note.New("curve-shows-unknown-above").Name("curve", c.Name).Number("from", by.Range.LevelLow*dilution))
	} else {
		out.Why = append(out.Why, note.New("curve-shows-unknown").Name("curve", c.Name))
	}
	from := max(n.Low/dilution, by.Range.LevelLow)
	if r := curve.Among(alike, func(c curve.Curve) curve.Around { return c.Rise(from) }); spanned(r).Is.OK() {
		out.Step = spanned(r)
	} else {
		out.Why = append(out.Why, note.New("curve-rise-unknown").Name("curve", c.Name).Number("from", from*dilution).Number("to", by.Range.LevelHigh*dilution))
	}
	return out
}
