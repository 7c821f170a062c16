//go:build unix

// Package processor measures work on a machine that other programs use at the
// same time, for tests that hold an operation to a time.
package processor

import (
	"syscall"
	"time"
)

// Time is how long this process has had a processor.
func Time() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
