// Package control says whether a method still holds: what a row of checks, knowns tested
// among samples, tells of a shift since its record was adopted.
//
//	runlength.go  how many checks there are until a signal: individuals, EWMA, running sum
//	grouped.go    the same for readings that are categories, by a Markov chain on the scores
//	limits.go     limits for a stated run length, over all that is not known of the record
//	chart.go      the row of checks against them: signal, state, run length, delay
//	onset.go      since when, by the likelihood of each place of a change
//
// Everything stands on the scale of one check: its standard deviation where nothing has
// moved is 1, its mean 0. What is not known of the record are draws, each of which has
// another mean and another spread.
//
// Terms and charts are those of ISO 7870-2 (individuals), ISO 7870-4 (cumulative sum) and
// ISO 7870-6 (EWMA); run lengths are computed here and not looked up.
package control
