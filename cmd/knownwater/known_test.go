package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/rogpeppe/go-internal/txtar"

	"knownwater/intake"
	"knownwater/report"
	"knownwater/science/known"
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

var fileName = regexp.MustCompile(`\.(toml|csv|json|html|xlsx|zip)$`)

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

// Whatever is in the files, an answer or a fault comes back, never a panic.
func FuzzKnownFiles(f *testing.F) {
	for _, name := range []string{"plan.txtar", "refuse.txtar", "compare.txtar"} {
		archive, err := txtar.ParseFile("testdata/known/" + name)
		if err != nil {
			f.Fatal(err)
		}
		for _, shelf := range archive.Files {
			for _, prepared := range archive.Files {
				f.Add(shelf.Data, prepared.Data, 0.7, 12.0)
			}
		}
	}
	f.Fuzz(func(t *testing.T, shelfText, preparedText []byte, low, high float64) {
		shelf, _, err := intake.Shelf(intake.Source{Name: "shelf.toml", Data: shelfText}, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
		if err != nil {
			return
		}
		if plan, faults := known.Search(shelf, []float64{low, high}); faults == nil {
			if faults := plan.Preparation.Faults(shelf); faults != nil {
				t.Errorf("the plan is refused: %v", faults)
			}
			if err := (report.KnownPlan{Shelf: shelf, Plan: plan}).Text(io.Discard, "a", ""); err != nil {
				t.Error(err)
			}
		}
		p, err := intake.ReadPrepared(intake.Source{Name: "prepared.toml", Data: preparedText}, shelf)
		if err != nil {
			return
		}
		set := known.Evaluate(shelf, p.Solutions)
		known.Simulate(shelf, p.Solutions, &set, 200, rand.New(rand.NewPCG(1, 2)))
		if err := (report.KnownValues{Shelf: shelf, Set: set}).Text(io.Discard); err != nil {
			t.Error(err)
		}
		known.MakeSheet(shelf, p.Solutions)
	})
}
