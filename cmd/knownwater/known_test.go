package main

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// The scripts run the program in this process: `knownwater` takes a command
// line, `near file path value tolerance` looks at a number in JSON.
func TestKnownScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/known",
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"knownwater": runInScript,
			"near":       nearInJSON,
		},
	})
}

var fileName = regexp.MustCompile(`\.(toml|csv|json|html)$`)

func runInScript(ts *testscript.TestScript, neg bool, args []string) {
	for i, a := range args {
		if fileName.MatchString(a) {
			args[i] = ts.MkAbs(a)
		}
	}
	var out, errOut bytes.Buffer
	got := run(context.Background(), args, strings.NewReader(""), &out, &errOut)
	for _, b := range []*bytes.Buffer{&out, &errOut} { // the folder differs at every run
		text := strings.ReplaceAll(b.String(), ts.Getenv("WORK")+string(filepath.Separator), "")
		b.Reset()
		b.WriteString(text)
	}
	ts.Stdout().Write(out.Bytes())
	ts.Stderr().Write(errOut.Bytes())
	if (got != exitDone) != neg {
		ts.Fatalf("exit status %d\n%s%s", got, out.String(), errOut.String())
	}
}

func nearInJSON(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 4 {
		ts.Fatalf("usage: near file path value tolerance")
	}
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile(args[0])), &v); err != nil {
		ts.Fatalf("%s: %v", args[0], err)
	}
	for _, key := range strings.Split(args[1], ".") {
		switch x := v.(type) {
		case map[string]any:
			v = x[key]
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(x) {
				ts.Fatalf("no %s in %s", key, args[1])
			}
			v = x[i]
		}
	}
	got, ok := v.(float64)
	want, _ := strconv.ParseFloat(args[2], 64)
	tolerance, _ := strconv.ParseFloat(args[3], 64)
	if !ok || (math.Abs(got-want) <= tolerance) == neg {
		ts.Fatalf("%s is %v, want %v ± %v", args[1], v, want, tolerance)
	}
}
