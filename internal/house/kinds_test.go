package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// kinds of methods, as the root names them and as files spell them.
var kinds = map[string]bool{"Chart": true, "Display": true, "Drops": true, "Absorbance": true, "Photo": true,
	`"chart"`: true, `"display"`: true, `"drops"`: true, `"absorbance"`: true, `"photo"`: true}

// Nobody but science/reading tells kinds of methods apart: a new kind is one
// entry of its table (docs/contributing.md). Giving a method its kind is no
// telling apart.
func TestNobodyTellsKindsApart(t *testing.T) {
	root := filepath.Join("..", "..")
	looked := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		name := filepath.ToSlash(strings.TrimPrefix(path, root+string(filepath.Separator)))
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "testdata" || name == "science/reading" || strings.HasPrefix(d.Name(), ".") && path != root):
			return filepath.SkipDir
		case strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go"):
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err != nil {
				return err
			}
			looked++
			for _, what := range tellsKindsApart(file) {
				t.Errorf("%s %s: ask reading.Of(kind) instead", name, what)
			}
		case strings.HasPrefix(name, "web/assets/") && strings.HasSuffix(name, ".js"):
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			if strings.Contains(string(text), "spec.kind") {
				t.Errorf("%s looks at a method's kind: its pad says what the page needs", name)
			}
		}
		return nil
	})
	if err != nil || looked < 100 {
		t.Fatalf("%d files, %v", looked, err)
	}
}

// tellsKindsApart finds comparisons with a kind, cases of one, and tables by kind.
func tellsKindsApart(file *ast.File) (found []string) {
	inRoot := file.Name.Name == module
	isKind := func(e ast.Expr) bool {
		switch x := e.(type) {
		case *ast.SelectorExpr:
			pkg, ok := x.X.(*ast.Ident)
			return ok && pkg.Name == module && kinds[x.Sel.Name]
		case *ast.Ident:
			return inRoot && kinds[x.Name]
		}
		return false
	}
	// A kind spelled out counts only where a Kind is looked at: curves have
	// signals of the same names.
	spelled := func(e, beside ast.Expr) bool {
		lit, ok := e.(*ast.BasicLit)
		sel, isSel := beside.(*ast.SelectorExpr)
		return ok && isSel && sel.Sel.Name == "Kind" && kinds[lit.Value]
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.BinaryExpr:
			if (x.Op == token.EQL || x.Op == token.NEQ) && (isKind(x.X) || isKind(x.Y) || spelled(x.X, x.Y) || spelled(x.Y, x.X)) {
				found = append(found, "compares with a kind")
			}
		case *ast.SwitchStmt:
			for _, c := range x.Body.List {
				for _, e := range c.(*ast.CaseClause).List {
					if isKind(e) || spelled(e, x.Tag) {
						found = append(found, "has a case of a kind")
					}
				}
			}
		case *ast.CompositeLit:
			if _, table := x.Type.(*ast.MapType); table {
				for _, e := range x.Elts {
					if kv, ok := e.(*ast.KeyValueExpr); ok && isKind(kv.Key) {
						found = append(found, "has a table by kind")
					}
				}
			}
		}
		return true
	})
	return found
}

// What the rule looks for, it finds.
func TestTellingApartIsFound(t *testing.T) {
	for _, body := range []string{
		"if m.Kind == knownwater.Chart {}", "if knownwater.Drops != m.Kind {}", `if m.Kind == "photo" {}`,
		"switch m.Kind { case knownwater.Display: }", `switch m.Kind { case "drops": }`,
		"_ = map[knownwater.Kind]int{knownwater.Photo: 1}",
	} {
		file, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\nfunc f() {"+body+"}", 0)
		if err != nil {
			t.Fatal(err)
		}
		if len(tellsKindsApart(file)) != 1 {
			t.Errorf("%s is not found", body)
		}
	}
	file, _ := parser.ParseFile(token.NewFileSet(), "x.go", "package x\nvar m = knownwater.Method{Kind: knownwater.Chart}", 0)
	if len(tellsKindsApart(file)) != 0 {
		t.Error("giving a kind is no telling apart")
	}
}
