//go:build !unix

package web

import "time"

var begun = time.Now()

// processorTime is the clock where the process's own time cannot be asked for.
func processorTime() time.Duration { return time.Since(begun) }
