package main

import (
	"bytes"
	"context"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"knownwater"
)

// helpOn opens the manual at a word.
func helpOn(t *testing.T, word string) (text string, status int) {
	t.Helper()
	var out, errOut bytes.Buffer
	status = run(context.Background(), []string{"help", word}, strings.NewReader(""), &out, &errOut)
	return out.String() + errOut.String(), status
}

// literals are the string constants of the program's own sources that stand where a
// function says.
func literals(t *testing.T, where func(n ast.Node, give func(ast.Expr))) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "/internal/") {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			where(n, func(e ast.Expr) {
				if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if s, err := strconv.Unquote(lit.Value); err == nil && s != "" {
						out[s] = path
					}
				}
			})
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The manual opens at every code that a note can have.
func TestHelpForEveryCode(t *testing.T) {
	codes := literals(t, func(n ast.Node, give func(ast.Expr)) {
		call, ok := n.(*ast.CallExpr)
		if !ok || len(call.Args) == 0 {
			return
		}
		if f, ok := call.Fun.(*ast.SelectorExpr); ok && f.Sel.Name == "New" {
			if pkg, ok := f.X.(*ast.Ident); ok && pkg.Name == "note" {
				give(call.Args[0])
			}
		}
	})
	if len(codes) < 150 {
		t.Fatalf("only %d codes", len(codes))
	}
	for code, where := range codes {
		if text, status := helpOn(t, code); status != exitDone || len(text) < 20 {
			t.Errorf("help %s (%s): status %d: %s", code, where, status, text)
		}
	}
	if text, _ := helpOn(t, "few-repeats"); !strings.Contains(text, "too few repeats to know the scatter") && !strings.Contains(text, "Too few repeats to know the scatter") {
		t.Errorf("help few-repeats says %s", text)
	}
}

// The manual opens at every place that a fault can name: columns, keys, fields, flags.
func TestHelpForEveryFault(t *testing.T) {
	places := literals(t, func(n ast.Node, give func(ast.Expr)) {
		switch x := n.(type) {
		case *ast.CompositeLit:
			if name, ok := x.Type.(*ast.SelectorExpr); !ok || name.Sel.Name != "Fault" {
				if id, ok := x.Type.(*ast.Ident); !ok || id.Name != "Fault" {
					return
				}
			}
			for _, e := range x.Elts {
				if kv, ok := e.(*ast.KeyValueExpr); ok {
					if key, ok := kv.Key.(*ast.Ident); ok && key.Name == "Column" {
						give(kv.Value)
					}
				}
			}
		case *ast.CallExpr:
			f, ok := x.Fun.(*ast.SelectorExpr)
			if ok && f.Sel.Name == "Reject" && len(x.Args) >= 3 {
				give(x.Args[0])
			}
			if ok && f.Sel.Name == "fault" && len(x.Args) >= 4 {
				give(x.Args[1])
			}
		}
	})
	if len(places) < 80 {
		t.Fatalf("only %d places", len(places))
	}
	for column, where := range places {
		told := pointer(knownwater.Fault{Column: column}, "assess")
		words, isHelp := strings.CutPrefix(told, "knownwater help ")
		switch {
		case strings.HasPrefix(column, "-"): // a flag
			if told != "knownwater assess --help" && column != "-" {
				t.Errorf("a fault of %s (%s) points to %q", column, where, told)
			}
		case !isHelp:
			t.Errorf("a fault of %q (%s) points to %q", column, where, told)
		case words == topics["assess"]:
			t.Errorf("the manual has no place for %q (%s)", column, where)
		default:
			if text, status := helpOn(t, words); status != exitDone || len(text) < 20 {
				t.Errorf("a fault of %q (%s) points to %q, which opens with %d: %s", column, where, told, status, text)
			}
		}
	}
}

// Every command has its place in the manual, and a fault of it points there.
func TestHelpForEveryCommand(t *testing.T) {
	for _, words := range everyCommand(t) {
		command := strings.Join(words, " ")
		if command == "" {
			continue
		}
		if text, status := helpOn(t, topicOf(command)); status != exitDone || topicOf(command) == "" {
			t.Errorf("%s points to %q, which opens with %d: %s", command, topicOf(command), status, text)
		}
		if text, status := helpOn(t, command); status != exitDone || !regexp.MustCompile(`--help`).MatchString(text) {
			t.Errorf("help %s opens with %d: %s", command, status, text)
		}
	}
}
