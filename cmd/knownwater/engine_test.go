package main

import (
	"bytes"
	"reflect"
	"sync"
	"testing"

	"knownwater"
	"knownwater/report"
	"knownwater/science/assess"
)

// remembering judges every trial twice at most: the scripts and forgeries ask for
// the same few again and again. The second time is held against the first, so that
// an engine that says something else the next time does not pass.
func remembering(run func(knownwater.Trial, assess.Options) assess.Findings) func(knownwater.Trial, assess.Options) assess.Findings {
	type asked struct {
		trial   knownwater.Trial
		seed    uint64
		version string
	}
	type answer struct {
		sync.Mutex
		asked
		times int
		said  assess.Findings
	}
	var known struct {
		sync.Mutex
		all []*answer
	}
	find := func(q asked) *answer {
		known.Lock()
		defer known.Unlock()
		for _, a := range known.all {
			if reflect.DeepEqual(a.asked, q) {
				return a
			}
		}
		a := &answer{asked: q}
		known.all = append(known.all, a)
		return a
	}
	return func(t knownwater.Trial, o assess.Options) assess.Findings {
		a := find(asked{t, o.Seed, o.Version})
		a.Lock()
		defer a.Unlock()
		if a.times == 2 {
			return a.said
		}
		said := run(t, o)
		if o.Stop != nil && o.Stop() { // given up: nothing to remember
			return said
		}
		if a.times++; a.times == 2 && !bytes.Equal(inJSONOf(said), inJSONOf(a.said)) {
			panic("the same trial, judged again, is judged otherwise")
		}
		a.said = said
		return said
	}
}

func inJSONOf(f assess.Findings) []byte {
	var b bytes.Buffer
	if err := report.JSON(&b, f); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// TestRemembering: an engine that changes its mind is found, another trial is
// judged by itself, and the third time costs nothing.
func TestRemembering(t *testing.T) {
	n := 0
	steady := remembering(func(t knownwater.Trial, o assess.Options) assess.Findings {
		n++
		return assess.Findings{Analyte: t.Scale.Analyte, Seed: o.Seed}
	})
	for range 4 {
		if f := steady(knownwater.Trial{}, assess.Options{Seed: 1}); f.Seed != 1 {
			t.Error(f)
		}
	}
	if f := steady(knownwater.Trial{}, assess.Options{Seed: 2}); f.Seed != 2 || n != 3 {
		t.Errorf("%d runs, %v", n, f)
	}
	fickle := remembering(func(knownwater.Trial, assess.Options) assess.Findings {
		n++
		return assess.Findings{Seed: uint64(n)}
	})
	fickle(knownwater.Trial{}, assess.Options{})
	defer func() {
		if recover() == nil {
			t.Error("nobody minds that the second answer is another")
		}
	}()
	fickle(knownwater.Trial{}, assess.Options{})
}
