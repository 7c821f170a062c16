package report

import "knownwater/science/assess"

// howView is one step of the computation, with its source.
type howView struct{ What, How, Source string }

// how tells how the findings were computed. It describes; the details and the
// formulas stand in docs/statistics.md of the program.
func how(assess.Findings) []howView {
	return []howView{
		{"Reading", "Every reading is the interval that was seen: a chart’s swatches and the gaps between them, a display’s last digit, the drop in which the colour turned, or an open end. A dilution multiplies both ends. Midpoints are never used; their mean stands beside for comparison.", ""},
		{"Level means and spread", "Interval-censored likelihood with a free mean at each level and one spread function for the method, SD² = σ0² + (κ · mean)². Readers, sessions and vials are shared parts, so that three readings of one vial do not count as three vials. Weak priors keep small trials from pretending; the 95 % interval is the middle 95 % of what remains plausible.", "two-component error model, Technometrics 37 (1995) 176–184"},
		{"Bias", "Mean reading less known. The known’s uncertainty, and what the knowns share by coming from one stock, is inside the interval.", "JCGM 100"},
		{"Line and shape", "A straight line with errors in knowns and readings, its lack of fit, and the smallest rising shape that the levels do not contradict.", "York’s line with errors in both coordinates"},
		{"Limits", "Critical value, detection and quantification as true concentrations, computed on what the method can show.", "Currie 1995; ISO 11843"},
		{"Techniques", "Two techniques are the same for the need only when the 90 % interval of their difference lies inside the margin (two one-sided tests at 5 %). Not seeing a difference is not such a proof.", "two one-sided tests for equivalence; ASTM E2935"},
		{"Need", "The error within which 95 of 100 single results lie, over the whole range of the need. Fit: its 95 % interval stays inside the permitted error everywhere. Not fit: somewhere it lies wholly outside. Undecided: anything between. A correction is judged on levels that were left out when it was made.", "decision rules with guard bands, JCGM 106"},
		{"Read-back", "The method’s own record turned round: which true concentrations would give this reading, as a 95 % set. Where the response is flat the set is open or in pieces.", ""},
	}
}
