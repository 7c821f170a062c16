//go:build !unix

// Package processor measures work on a machine that other programs use at the
// same time, for tests that hold an operation to a time.
package processor

import "time"

var begun = time.Now()

// Time is the clock where the process's own time cannot be asked for.
func Time() time.Duration { return time.Since(begun) }
