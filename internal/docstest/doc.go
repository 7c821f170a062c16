// Package docstest holds no code. Its tests run every command line that README
// and docs/ show in sh blocks, compare the numbers and the excerpts that
// docs/tutorial.md quotes with a run of the demo, and draw docs/ladder.svg.
//
//	go test ./internal/docstest -update
//
// writes numbers, excerpts and figure anew after the engine or the demo changed.
package docstest
