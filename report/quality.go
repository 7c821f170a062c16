package report

import (
	"knownwater"
	"knownwater/science/control"
	"knownwater/science/unit"
	"knownwater/wording"
)

// QualitySays is what a duplicate, spike or blank says of the test: first and second are what
// both tests read, added is the spike, scale the unit with its basis.
func QualitySays(l *wording.Language, role knownwater.SampleRole, first, second, added float64, p control.Pair, scale unit.Scale) string {
	amount := func(v float64) string { return brief(v) }
	what := clean(scale.Brief())
	switch role {
	case knownwater.Duplicate:
		s := l.Say("Two tests of one sample: {1} and {2} {3}. Two differ by up to {4} in 95 of 100", amount(first), amount(second), what, amount(p.Most))
		if p.Fine {
			return s + ", " + l.Say("so they agree.")
		}
		return s + ", " + l.Say("so one of them went wrong, or the sample changed: test once more.")
	case knownwater.Spiked:
		s := l.Say("{1} of the {2} {3} that were added were found ({4} to {5})", ofHundred(p.Value), amount(added), what, ofHundred(p.Low), ofHundred(p.High))
		switch {
		case !p.Fine:
			return s + ": " + l.Say("something in this water changes the answer. Its numbers are off by about as much.")
		case p.High-p.Low > 1:
			return s + ": " + l.Say("too wide to show that nothing in this water changes the answer. Add more, or test both twice.")
		}
		return s + ": " + l.Say("nothing in this water shows that changes the answer.")
	}
	if p.Fine {
		return l.Say("The blank reads nothing that could not be nothing.")
	}
	return l.Say("The blank reads {1} {2} ({3} to {4}) where there should be nothing: look for it in the blank water, the cell and the reagent before you take it off.", amount(p.Value), what, amount(p.Low), amount(p.High))
}
