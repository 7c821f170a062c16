package report

import (
	"fmt"

	"knownwater"
	"knownwater/science/control"
	"knownwater/science/unit"
)

// QualitySays is what a duplicate, spike or blank says of the test: first and second are what
// both tests read, added is the spike, scale the unit with its basis.
func QualitySays(role knownwater.SampleRole, first, second, added float64, p control.Pair, scale unit.Scale) string {
	amount := func(v float64) string { return brief(v) }
	what := clean(scale.Brief())
	switch role {
	case knownwater.Duplicate:
		s := fmt.Sprintf("Two tests of one sample: %s and %s %s. Two differ by up to %s in 95 of 100", amount(first), amount(second), what, amount(p.Most))
		if p.Fine {
			return s + ", so they agree."
		}
		return s + ", so one of them went wrong, or the sample changed: test once more."
	case knownwater.Spiked:
		s := fmt.Sprintf("%s of the %s %s that were added were found (%s to %s)", ofHundred(p.Value), amount(added), what, ofHundred(p.Low), ofHundred(p.High))
		switch {
		case !p.Fine:
			return s + ": something in this water changes the answer. Its numbers are off by about as much."
		case p.High-p.Low > 1:
			return s + ": too wide to show that nothing in this water changes the answer. Add more, or test both twice."
		}
		return s + ": nothing in this water shows that changes the answer."
	}
	if p.Fine {
		return "The blank reads nothing that could not be nothing."
	}
	return fmt.Sprintf("The blank reads %s %s (%s to %s) where there should be nothing: look for it in the blank water, the cell and the reagent before you take it off.", amount(p.Value), what, amount(p.Low), amount(p.High))
}
