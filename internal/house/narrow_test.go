package house

import (
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A release is made for processors of 32 bits too, where an int holds less than on
// the machine that runs the tests: once a number of 40 bits stood in the way, and
// was found when the release was made. So every file is looked at with an int of
// 32 bits: the types alone, which takes seconds where building would take minutes.
func TestNumbersFitThirtyTwoBits(t *testing.T) {
	made, err := exec.Command("go", "list", "-export", "-deps", "-test", "-f", "{{if not .ForTest}}{{.ImportPath}}\t{{.Export}}{{end}}", module+"/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	export := map[string]string{}
	for _, line := range strings.Split(string(made), "\n") {
		path, file, _ := strings.Cut(line, "\t")
		export[path] = file
	}
	files := token.NewFileSet()
	known := importer.ForCompiler(files, "gc", func(path string) (io.ReadCloser, error) {
		if export[path] == "" {
			return nil, fmt.Errorf("no export data of %s", path)
		}
		return os.Open(export[path])
	})
	checked := 0
	for _, p := range list(t, module+"/...") {
		// Go says what a file's own tests belong to by the package's name.
		byName := map[string][]*ast.File{}
		all, err := filepath.Glob(filepath.Join(p.Dir, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range all {
			parsed, err := parser.ParseFile(files, f, nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			byName[parsed.Name.Name] = append(byName[parsed.Name.Name], parsed)
		}
		for name, parsed := range byName {
			(&types.Config{
				Importer: known,
				Sizes:    types.SizesFor("gc", "arm"),
				Error: func(err error) {
					// A test beside the package may use what only its tests export, which is not
					// known here: numbers alone are asked about. math.MaxInt is as wide as an int is.
					said := err.Error()
					if strings.Contains(said, "math.MaxInt ") {
						return
					}
					if strings.Contains(said, "overflow") || strings.Contains(said, "truncated") {
						t.Errorf("in an int of 32 bits: %s", said)
					}
				},
			}).Check(name, files, parsed, nil)
			checked += len(parsed)
		}
	}
	if checked < 500 {
		t.Errorf("only %d files were looked at", checked)
	}
}
