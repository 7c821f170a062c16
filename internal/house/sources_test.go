package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// forbidden calls, by the import path of their package. Of math/rand/v2 the
// pure parts may use what is given a source, never the functions that draw from
// the shared one.
var forbidden = map[string][]string{
	"time": {"Now", "Since", "Until", "After", "Tick", "NewTimer", "NewTicker", "AfterFunc", "Sleep"},
	"math/rand/v2": {"Int", "IntN", "Int32", "Int32N", "Int64", "Int64N", "Uint32", "Uint32N", "Uint64", "Uint64N", "UintN", "Uint", "N",
		"Float32", "Float64", "NormFloat64", "ExpFloat64", "Perm", "Shuffle"},
	"math/rand":   nil, // all of it
	"crypto/rand": nil,
	"fmt":         {"Print", "Println", "Printf", "Scan", "Scanln", "Scanf"},
}

// uses lists the forbidden things in a file: "line: time.Now".
func uses(name string, source []byte) ([]string, error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, source, 0)
	if err != nil {
		return nil, err
	}
	called := map[string]string{} // the name in this file → import path
	var found []string
	for _, i := range file.Imports {
		path, _ := strconv.Unquote(i.Path.Value)
		names, watched := forbidden[path]
		if !watched {
			continue
		}
		if names == nil {
			found = append(found, set.Position(i.Pos()).String()+": "+path)
			continue
		}
		local := path[strings.LastIndexByte(path, '/')+1:]
		if local == "v2" {
			local = "rand"
		}
		if i.Name != nil {
			local = i.Name.Name
		}
		called[local] = path
	}
	ast.Inspect(file, func(n ast.Node) bool {
		s, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := s.X.(*ast.Ident); ok && x.Obj == nil && slices.Contains(forbidden[called[x.Name]], s.Sel.Name) {
			found = append(found, set.Position(s.Pos()).String()+": "+x.Name+"."+s.Sel.Name)
		}
		return true
	})
	return found, nil
}

// Same input, same output: the science has no clock, no dice of its own, no terminal.
func TestNoClockAndNoSharedDice(t *testing.T) {
	for _, p := range list(t, module+"/...") {
		if !p.pure() && p.name() != "demo" && p.name() != "report" {
			continue
		}
		for _, f := range p.GoFiles {
			name := filepath.Join(p.Dir, f)
			source, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			found, err := uses(name, source)
			if err != nil {
				t.Fatal(err)
			}
			for _, u := range found {
				t.Error(u)
			}
		}
	}
}

func TestTheScanFindsWhatItShould(t *testing.T) {
	found, err := uses("x.go", []byte(`package x
import ("time"; dice "math/rand/v2"; "fmt")
type rand struct{}
func (rand) Float64() float64 { return 0 }
func f(r *dice.Rand) { fmt.Println(time.Now(), dice.Float64(), r.Float64(), dice.New(nil)); _ = fmt.Sprint(time.Duration(1)) }
`))
	if err != nil || len(found) != 3 {
		t.Errorf("found %v, %v; want fmt.Println, time.Now, dice.Float64", found, err)
	}
}
