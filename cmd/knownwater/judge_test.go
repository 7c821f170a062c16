package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
)

// The scripts of assess, demo and recheck run the program in this process:
//
//	knownwater …            any exit status; `status 1` afterwards looks at it
//	near file path v tol    a number in JSON within a tolerance
//	null file path          a null in JSON
//	write file "text"       a file whose text is written as a Go string
//	columns file n          a file with n needless columns
//	workbook x.xlsx x.csv   the table of a CSV file as a workbook
//	replace file old new    puts new for old, which must be there
//	absent file text        a file that does not hold a text
//	lines file n            a file of at most n lines
//	same a b key …          two JSON files that hold the same under these keys
func TestJudgeScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/judge", Cmds: scriptCommands})
}

var scriptCommands = map[string]func(ts *testscript.TestScript, neg bool, args []string){
	"knownwater": anyStatus,
	"status":     wantStatus,
	"near":       nearInJSON,
	"null":       nullInJSON,
	"write":      writeText,
	"columns":    manyColumns,
	"workbook":   asWorkbook,
	"replace":    replaceText,
	"absent":     absentText,
	"lines":      atMostLines,
	"same":       sameInJSON,
}

func sameInJSON(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) < 3 {
		ts.Fatalf("usage: same a b key …")
	}
	var a, b map[string]json.RawMessage
	for i, to := range []*map[string]json.RawMessage{&a, &b} {
		ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[i])), to))
	}
	for _, key := range args[2:] {
		if len(a[key]) < 3 || bytes.Equal(a[key], b[key]) == neg {
			ts.Fatalf("%s in %s is\n%.500s\nin %s\n%.500s", key, args[0], a[key], args[1], b[key])
		}
	}
}

const statusOf = "KNOWNWATER_STATUS"

// anyStatus runs the program as if the script's folder were the current one.
func anyStatus(ts *testscript.TestScript, _ bool, args []string) {
	args = append([]string(nil), args...)
	for i, a := range args {
		_, err := os.Stat(ts.MkAbs(a)) // a folder that is there
		if fileName.MatchString(a) || i > 0 && (args[i-1] == "--dir" || err == nil) {
			args[i] = ts.MkAbs(a)
		}
		if method, name, of := strings.Cut(a, "="); of && i > 0 && args[i-1] == "--curve" {
			args[i] = method + "=" + ts.MkAbs(name)
		}
	}
	var out, errOut bytes.Buffer
	in, _ := os.ReadFile(ts.MkAbs("stdin.txt")) // none: empty
	got := run(context.Background(), args, bytes.NewReader(in), &out, &errOut)
	home := ts.Getenv("WORK") + string(filepath.Separator) // the folder differs at every run
	ts.Stdout().Write([]byte(strings.ReplaceAll(out.String(), home, "")))
	ts.Stderr().Write([]byte(strings.ReplaceAll(errOut.String(), home, "")))
	ts.Setenv(statusOf, strconv.Itoa(got))
}

func atMostLines(ts *testscript.TestScript, _ bool, args []string) {
	most, err := strconv.Atoi(args[1])
	if got := strings.Count(ts.ReadFile(args[0]), "\n"); err != nil || got > most {
		ts.Fatalf("%s has %d lines, want at most %s", args[0], got, args[1])
	}
}

func wantStatus(ts *testscript.TestScript, _ bool, args []string) {
	if got := ts.Getenv(statusOf); len(args) != 1 || got != args[0] {
		ts.Fatalf("exit status %s, want %v", got, args)
	}
}

// inJSON finds a value by its path of keys and indices, joined by points.
func inJSON(ts *testscript.TestScript, file, path string) any {
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile(file)), &v); err != nil {
		ts.Fatalf("%s: %v", file, err)
	}
	for _, key := range strings.Split(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			value, ok := x[key]
			if !ok {
				ts.Fatalf("no %s in %s of %s", key, path, file)
			}
			v = value
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(x) {
				ts.Fatalf("no %s in %s of %s", key, path, file)
			}
			v = x[i]
		default:
			ts.Fatalf("no %s in %s of %s", key, path, file)
		}
	}
	return v
}

func nullInJSON(ts *testscript.TestScript, neg bool, args []string) {
	for _, path := range args[1:] {
		if v := inJSON(ts, args[0], path); (v == nil) == neg {
			ts.Fatalf("%s is %v", path, v)
		}
	}
}

func writeText(ts *testscript.TestScript, _ bool, args []string) {
	text, err := strconv.Unquote(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
}

func manyColumns(ts *testscript.TestScript, _ bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	text := "method,level,reading" + strings.Repeat(",x", n) + "\nCard,5,5" + strings.Repeat(",", n) + "\n"
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(text), 0o644))
}

func asWorkbook(ts *testscript.TestScript, _ bool, args []string) {
	book := excelize.NewFile()
	defer book.Close()
	rows, err := csv.NewReader(strings.NewReader(ts.ReadFile(args[1]))).ReadAll()
	ts.Check(err)
	for i, row := range rows {
		for j, cell := range row {
			name, err := excelize.CoordinatesToCellName(j+1, i+1)
			ts.Check(err)
			if v, err := strconv.ParseFloat(cell, 64); err == nil {
				ts.Check(book.SetCellFloat("Sheet1", name, v, -1, 64))
			} else {
				ts.Check(book.SetCellStr("Sheet1", name, cell))
			}
		}
	}
	ts.Check(book.SaveAs(ts.MkAbs(args[0])))
}

func replaceText(ts *testscript.TestScript, _ bool, args []string) {
	text := ts.ReadFile(args[0])
	if !strings.Contains(text, args[1]) {
		ts.Fatalf("%s does not hold %q", args[0], args[1])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.ReplaceAll(text, args[1], args[2])), 0o644))
}

func absentText(ts *testscript.TestScript, _ bool, args []string) {
	if strings.Contains(ts.ReadFile(args[0]), args[1]) {
		ts.Fatalf("%s holds %q", args[0], args[1])
	}
}
