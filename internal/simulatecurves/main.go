// Command simulatecurves measures how often what curves say is right, on
// made-up calibrations. It prints the tables at the end of docs/accuracy.md.
// Same -runs, same tables.
//
//	go run ./internal/simulatecurves -runs 4000
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"sync"
)

func main() {
	runs := flag.Int("runs", 4000, "made-up calibrations a row")
	only := flag.String("only", "", "one table: readback, limits, choice, recheck")
	flag.Parse()
	simulate(os.Stdout, *runs, *only)
}

func simulate(w io.Writer, runs int, only string) {
	for _, t := range []struct {
		name  string
		print func(io.Writer, int)
	}{{"readback", readBackTable}, {"limits", limitTable}, {"choice", choiceTable}, {"recheck", recheckTable}} {
		if only == "" || only == t.name {
			t.print(w, runs)
			fmt.Fprintln(w)
		}
	}
}

// collect runs calibrations on two goroutines; each's result goes to its own place.
func collect[T any](runs int, one func(run int) T) []T {
	out := make([]T, runs)
	var wg sync.WaitGroup
	for part := range 2 {
		wg.Go(func() {
			for i := part; i < runs; i += 2 {
				out[i] = one(i)
			}
		})
	}
	wg.Wait()
	return out
}
