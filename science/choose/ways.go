package choose

import (
	"math"
	"slices"

	"knownwater"
	"knownwater/science/assess"
)

// waysOf are the ways of using a trial's methods for a need:
//
//   - one test, by each dilution that was tried and as the sheet says where that dilutes
//     above a reading; as read and corrected by the record. These were tried.
//   - averages of two and three tests, and of two by two readers where there are two, used as
//     the sheet says. They follow from what was tried: from the scatter within a test and
//     from what tests of one reader, sitting or lot have in common (assess.Average).
//   - by a curve, each test and averages (curveWays)
func waysOf(n knownwater.Need, t Trial) (out []Way) {
	if t.Curve != nil {
		out = curveWays(n, t)
	} else {
		out = trialWays(n, t)
	}
	for i := range out {
		out[i].Alone = alone(n, out[i], t)
	}
	return out
}

func trialWays(n knownwater.Need, t Trial) (out []Way) {
	for _, p := range t.Findings.Procedures {
		f, ok := findingFor(p.Needs, n.Name)
		if !ok {
			continue
		}
		u := Use{Report: t.Name, Method: p.Method, Matrix: p.Matrix, Tests: 1, Readers: 1, method: methodNamed(t.Trial, p.Method)}
		u.Waters = watersOf(t.Findings, p.Method)
		if len(p.Branches) > 1 {
			u.Switches, u.Over, u.Factor = true, p.Branches[1].From, p.Branches[1].Dilution
		} else if len(p.Branches) == 1 {
			u.Dilution = p.Branches[0].Dilution
			u.Switches = slices.ContainsFunc(t.Findings.Methods, func(m assess.MethodFinding) bool {
				_, left := m.NeverDiluted()
				return left && m.Method == p.Method && m.Matrix == p.Matrix
			})
		}
		seen := biasesOf(t.Findings, p, u.method)
		if u.Switches && u.Dilution == 0 {
			u.more = moreOf(n, seen.over)
		}
		from := len(out)
		out = append(out, singles(u, f)...)
		out = append(out, averages(u, f, n.Readers)...)
		for i := range out[from:] {
			out[from+i].biases = seen
		}
		for _, m := range t.Findings.Methods {
			if m.Method != p.Method || m.Matrix != p.Matrix || u.Dilution == m.Dilution {
				continue
			}
			if b, ok := findingFor(m.Needs, n.Name); ok {
				alone := u
				alone.Dilution, alone.Switches, alone.more = m.Dilution, u.Switches, more{}
				for _, w := range singles(alone, b) {
					w.biases = biasesOnly(m, u.method)
					out = append(out, w)
				}
			}
		}
	}
	return out
}

// watersOf is how many waters a method was tried in: a procedure each.
func watersOf(f assess.Findings, method string) (n int) {
	for _, p := range f.Procedures {
		if p.Method == method {
			n++
		}
	}
	return n
}

func findingFor(list []assess.NeedFinding, need string) (assess.NeedFinding, bool) {
	for _, f := range list {
		if f.Need == need {
			return f, true
		}
	}
	return assess.NeedFinding{}, false
}

func methodNamed(t knownwater.Trial, name string) knownwater.Method {
	for _, m := range t.Methods {
		if m.Name == name {
			return m
		}
	}
	return knownwater.Method{Name: name}
}

// singles are one test as read and corrected.
func singles(u Use, f assess.NeedFinding) []Way {
	raw, corr := u, u
	corr.Corrected = true
	return []Way{
		{Use: raw, Tried: true, Verdict: verdictOf(f, f.Raw, assess.Fit), Error: errorOf(f.Raw), Along: f.Along},
		{Use: corr, Tried: true, Verdict: verdictOf(f, f.Corrected, assess.FitWhenCorrected), Error: errorOf(f.Corrected), Along: f.Along},
	}
}

// verdictOf is the verdict on results as read or as corrected. A finding's own verdict may
// say less than both: a question holds it back, or a lot does; then neither says more.
func verdictOf(f assess.NeedFinding, e assess.ErrorWithin, fit string) string {
	switch {
	case f.Verdict == assess.HeldBack, f.Verdict == assess.NotTried:
		return f.Verdict
	case e.Verdict != assess.Fit:
		return e.Verdict
	case f.Verdict == assess.Fit || f.Verdict == assess.FitWhenCorrected && fit == f.Verdict:
		return fit
	case f.Verdict == assess.FitWhenCorrected: // as read it is fit but for a lot
		return assess.Undecided
	}
	return f.Verdict
}

// averages are those of several tests.
func averages(u Use, f assess.NeedFinding, readers int) (out []Way) {
	for _, a := range f.Averages {
		if a.Readers > max(readers, 1) {
			continue
		}
		w := Way{Use: u, Verdict: averageVerdict(f, a), Along: f.Along}
		w.Tests, w.Readers, w.Corrected = a.N, a.Readers, correctedAverage(f, a)
		w.Error = Error{a.WorstAt, a.Error95, a.Low, a.High, a.Permitted}
		out = append(out, w)
	}
	return out
}

// averageVerdict says no more of an average than of what holds back a single result.
func averageVerdict(f assess.NeedFinding, a assess.Average) string {
	together := f.Raw.Verdict == assess.Fit || f.Corrected.Verdict == assess.Fit
	switch lots := together && f.Verdict != assess.Fit && f.Verdict != assess.FitWhenCorrected; {
	case f.Verdict == assess.HeldBack, f.Verdict == assess.NotTried:
		return f.Verdict
	case lots && (a.Verdict == assess.Fit || a.Verdict == assess.FitWhenCorrected):
		return assess.Undecided
	}
	return a.Verdict
}

// correctedAverage says which of the two an average's error speaks of (assess.Average gives
// the corrected one where only that is fit, or where the other is known to fail).
func correctedAverage(f assess.NeedFinding, a assess.Average) bool {
	switch a.Verdict {
	case assess.Fit:
		return false
	case assess.FitWhenCorrected, assess.NotFit:
		return true
	}
	near := func(e assess.ErrorWithin) float64 {
		if !e.Error95.OK() || !a.Error95.OK() {
			return math.Inf(1)
		}
		return math.Abs(float64(e.Error95 - a.Error95))
	}
	return f.Raw.Verdict == assess.NotFit && near(f.Corrected) <= near(f.Raw)
}

func errorOf(e assess.ErrorWithin) Error {
	return Error{e.WorstAt, e.Error95, e.Low, e.High, e.Permitted}
}
