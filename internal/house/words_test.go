package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// Words leave the science as codes with numbers; package report has the sentences. A
// text of three words and more may stand in the science where it is part of a fault or an
// error, in what a constant calls a verdict (docs/formats.md fixes those), and in tables of
// names.
var (
	// makes are functions that make faults and errors.
	makes = []string{"errors.New", "fmt.Errorf", "panic", "fault", "bad", "wrong", "oneOf", "l.add", "ask", "knownwater.Refuse"}
	// names are tables in which a text is the name of a thing, or what a coefficient is.
	names = map[string]string{
		"science/response":              "what shapes and their coefficients are called",
		"science/reading":               "what kinds, their pads and their readings are called, in one table",
		"science/known/alternatives.go": "glassware and scales that shops have",
		"science/known/stock.go":        "salts, and how each is dried",
		"science/known/model.go":        "names of error parts, by which shared ones cancel",
		"science/known/stock_model.go":  "names of error parts, by which shared ones cancel",
		"science/curve/query.go":        "names of error parts",
	}
)

func TestSentencesLeaveTheScience(t *testing.T) {
	root := filepath.Join("..", "..")
	found, files := map[string][]string{}, 0
	err := filepath.WalkDir(filepath.Join(root, "science"), func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		files++
		name, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		if names[name] != "" || names[name[:strings.LastIndex(name, "/")]] != "" {
			return nil
		}
		said, err := sentencesOf(path)
		if said != nil {
			found[name] = said
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for name, said := range found {
		t.Errorf("%s says things in words: give them out as codes (science/note) with a sentence in report:\n  %s", name, strings.Join(said, "\n  "))
	}
	if files < 100 {
		t.Errorf("only %d files found", files)
	}
}

// A note in words is what somebody else wrote: the file of a curve has such. Who finds a
// doubt gives it a code.
func TestNobodyTellsANote(t *testing.T) {
	told := regexp.MustCompile(`\bnote\.Told(?:All)?\(`)
	eachFile(t, program, func(name, source string) {
		if told.MatchString(source) && name != "science/curve/file.go" && name != "science/curve/documentfile.go" {
			t.Errorf("%s makes a note of words: give it a code, and report its sentence", name)
		}
	})
}

// sentencesOf are the texts of three words and more that are no part of a fault.
func sentencesOf(path string) (said []string, err error) {
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
	if err != nil {
		return nil, err
	}
	var above []ast.Node
	ast.Inspect(f, func(n ast.Node) bool {
		if n == nil {
			above = above[:len(above)-1]
			return true
		}
		above = append(above, n)
		l, ok := n.(*ast.BasicLit)
		if !ok || l.Kind != token.STRING {
			return true
		}
		text, err := strconv.Unquote(l.Value)
		if err == nil && len(strings.Fields(text)) >= 3 && !slices.ContainsFunc(above, mayHoldWords) {
			said = append(said, strconv.Quote(text))
		}
		return true
	})
	return said, nil
}

// mayHoldWords is what makes a fault or an error, and a constant.
func mayHoldWords(n ast.Node) bool {
	switch x := n.(type) {
	case *ast.CallExpr:
		return slices.Contains(makes, dotted(x.Fun))
	case *ast.KeyValueExpr:
		return dotted(x.Key) == "Found" || dotted(x.Key) == "Want"
	case *ast.AssignStmt:
		return slices.ContainsFunc(x.Lhs, func(e ast.Expr) bool {
			_, last, _ := strings.Cut("."+dotted(e), ".")
			return slices.Contains([]string{"found", "want", "what"}, strings.ToLower(last[strings.LastIndex(last, ".")+1:]))
		})
	case *ast.GenDecl:
		return x.Tok == token.CONST || x.Tok == token.IMPORT
	case *ast.Field:
		return x.Tag != nil
	}
	return false
}

func dotted(e ast.Expr) string {
	switch x := e.(type) {
	case *ast.Ident:
		return x.Name
	case *ast.SelectorExpr:
		return dotted(x.X) + "." + x.Sel.Name
	}
	return ""
}
