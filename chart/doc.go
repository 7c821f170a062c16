// Package chart draws figures as SVG from plain series of numbers. It knows no
// chemistry and no wording of verdicts: labels come ready from the caller.
//
// Every mark is an interval. Positions across are per cent of the width and
// heights are fixed, so type never scales with the page. Colours come from
// CSS classes; each class has presentation attributes to fall back on, so that
// a figure opened alone is readable too. Not-a-number means "not known" and
// draws nothing; an infinite end draws an arrow.
package chart
