// Package report puts findings before people and programs: plain text for a
// terminal, the fixed JSON, and one self-contained page that prints. It is the
// only place with the wording of verdicts. It computes no statistics: whatever
// it says stands in the findings already.
//
//	findings + trial → view (words and rounded numbers) → Text or HTML
//	findings → JSON
//	page → Open → inputs → findings and page made anew → Numbers, Changes
package report
