package main

import (
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestCurveScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/curve",
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"knownwater": runInScript,
			"near":       nearInJSON,
		},
	})
}
