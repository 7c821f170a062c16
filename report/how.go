package report

import "knownwater/science/assess"

// howView is one step of the computation, with its source.
type howView struct{ What, How, Source string }

// how tells how the findings were computed. It describes package assess and
// those under it; the formulas stand in docs/statistics.md.
func how(assess.Findings) []howView {
	return []howView{
		{"Reading", "Every reading is the interval that was seen: a chart’s swatches and the gaps between them, a display’s last digit, the drop in which the colour turned, or an open end. A dilution multiplies both ends. Midpoints are never used; their mean stands beside for comparison.", ""},
		{"Level means and spread", "Interval-censored likelihood: a free mean at each known, and one spread function for the method, SD² = σ0² + (κ · mean)². Readers, sessions, lots and vials are shared parts, so that three readings of one vial do not count as three vials. The result is a posterior, drawn by Markov chain Monte Carlo; a 95 % interval is its middle 95 %, and all of the step where every reading fell in one.", "two-component error model, Technometrics 37 (1995) 176–184"},
		{"Priors", "Means: flat. Spread: nearly flat on the logarithm, tuned by simulation so that 95 % intervals of three readings a level cover 95 %; a spread far below what a step can show is as unlikely as it is unseen, so that readings all in one step give an upper limit; on charts a spread of many steps is unlikely too. Its balance between constant and proportional: wide. Shared parts: likely about as large as repeatability (sessions and lots half of that), with a heavy tail, so that they are free to be many times as large. Techniques: spread within a factor of four.", ""},
		{"Bias", "Mean reading less known. The known’s stated uncertainty, and what the knowns share by coming from one stock, is inside the interval.", "JCGM 100"},
		{"Line and shape", "Generalised least squares through the level means, errors in knowns and readings both, and the lack of fit against the repeats. To turn readings round: the line if the levels do not contradict it at 5 %, else the best of saturating, dead zone and stray light that they do not, else a free curve that never falls.", "ISO/TS 28037; IUPAC, Pure Appl. Chem. 70 (1998) 993–1014"},
		{"Limits", "True concentrations, worked out on the swatches, digits or drops that the method can show, at 5 % false alarms and 5 % misses, averaged over what is not known of the method.", "Currie, Pure Appl. Chem. 67 (1995) 1699; ISO 11843"},
		{"Telling apart", "The chance that one reading of each of two waters comes out in the right order; ties count as not told apart. For one reader in one session the reader’s and session’s parts cancel; for two readers they do not.", ""},
		{"Techniques", "Same for the need: only where at every known of the need the 90 % interval of the difference lies inside the permitted error (two one-sided tests at 5 %). Not seeing a difference is no such proof.", "ASTM E2935"},
		{"Need", "The error within which 95 of 100 single results lie, bias, spread, width of a step and the known’s own doubt together, over the whole range of the need. Fit: the upper limit stays within what is permitted everywhere. Not fit: the lower limit is above it somewhere. Undecided: anything between. Either statement is meant to be wrong in at most 5 of 100 trials. A correction is judged on knowns that were left out when it was made.", "decision rules with guard bands, JCGM 106"},
		{"More tests", "How many further tests would bring the interval down to its distance from the permitted error, if it shrinks with the square root of their number down to what the knowns’ own doubt leaves.", ""},
		{"Read-back", "The method’s own record turned round: which true concentrations would give this reading, as a 95 % set. Where the response is flat the set is open or in pieces.", ""},
	}
}
