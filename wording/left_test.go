package wording_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// left are how many sentences each part of the program still puts together beside the
// catalogue, where no translator sees them. A number here may only fall. Faults are counted
// by themselves, wherever they are made.
var left = map[string]int{"web": 0, "report": 0, "bench": 6, "intake": 3, "cmd": 0, "faults": 0}

// leftWhole are how many texts of two words and more stand in the pages' and the report's Go and
// are said as they are: most of them labels, methods and cautions of the report's file and of
// what is folded below the findings, which are English. This number, too, may only fall.
var leftWhole = map[string]int{"web": 41, "report": 121}

// TestSentencesOutsideTheCatalogue counts them: texts of two words and more in Sprintf and its
// kin, or joined to values by +, that no Say, Key, text or note holds.
func TestSentencesOutsideTheCatalogue(t *testing.T) {
	found, where := map[string]int{}, map[string][]string{}
	kept, whole := keptTexts(t), map[string][]string{}
	for part := range left {
		if part == "faults" {
			continue
		}
		err := filepath.WalkDir(filepath.Join("..", part), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, path, nil, 0)
			if err != nil {
				return err
			}
			if _, counted := leftWhole[part]; counted {
				whole[part] = append(whole[part], wholeTexts(set, f)...)
			}
			for _, x := range outside(f, kept) {
				key := part
				if x.fault {
					key = "faults"
				}
				found[key]++
				where[key] = append(where[key], set.Position(x.at).String()+": "+x.text)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for part, most := range left {
		switch n := found[part]; {
		case n > most:
			t.Errorf("%s: %d sentences outside the catalogue, %d are let stand: say them by Say, with places for their values\n\t%s", part, n, most, strings.Join(where[part], "\n\t"))
		case n < most:
			t.Logf("%s: only %d sentences are outside the catalogue: write that number into left", part, n)
		}
	}
	for part, most := range leftWhole {
		switch n := len(whole[part]); {
		case n > most:
			t.Errorf("%s: %d whole texts come past the catalogue, %d are let stand: say them by Say\n\t%s", part, n, most, strings.Join(whole[part], "\n\t"))
		case n < most:
			t.Logf("%s: only %d whole texts come past the catalogue: write that number into leftWhole", part, n)
		}
	}
}

// wholeTexts are texts of a file that no Say, Key, note, fault or list of messages holds.
func wholeTexts(set *token.FileSet, f *ast.File) (out []string) {
	ast.Inspect(f, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.ImportSpec, *ast.Field:
			return false
		case *ast.ValueSpec:
			return !strings.HasPrefix(strings.ToLower(x.Names[0].Name), "want")
		case *ast.AssignStmt:
			k, ok := x.Lhs[0].(*ast.Ident)
			return !ok || k.Name != "want"
		case *ast.CallExpr:
			name := called(x)
			return !slices.Contains(said, name) && !slices.Contains(phrases, name) && !slices.Contains(faulty, name) && !slices.Contains(saidWhole, name)
		case *ast.KeyValueExpr:
			k, ok := x.Key.(*ast.Ident)
			return !ok || !slices.Contains(keysOfMessages, k.Name)
		case *ast.BasicLit:
			if s, ok := literal(x); ok && prose(s) {
				out = append(out, set.Position(x.Pos()).String()+": "+s)
			}
		}
		return true
	})
	return out
}

// saidWhole are further calls whose text is a message, or none: a number of things, a layout,
// a pattern, a test of a text.
var saidWhole = []string{"Tell", "Things", "Count", "things", "plural", "Time", "Number", "MustCompile", "HasPrefix", "Contains", "NewReplacer"}

// unsaid is a sentence outside the catalogue.
type unsaid struct {
	at    token.Pos
	text  string
	fault bool
}

var (
	twoWords = regexp.MustCompile(`[A-Za-z]{2,}[^A-Za-z]* .*[A-Za-z]{2,}|[A-Za-z]{2,} $|^ [A-Za-z]{2,}`)
)

// prose says whether a text is one for people: words with a space, no markup, path or SQL, and no command to
// type.
func prose(s string) bool {
	s = verb.ReplaceAllString(s, "7")
	return twoWords.MatchString(s) && !strings.ContainsAny(s, "<>=\n\t_{}") && !strings.Contains(s, "--") && !strings.Contains(s, "/") && !strings.HasPrefix(s, "knownwater ")
}

// said are calls that hold a sentence of the catalogue, or one that is no sentence for people
// on a page: an error of ours, a line of SQL, a log.
var said = []string{"Say", "Key", "text", "Errorf", "New", "Name", "Format", "Error", "Info", "Warn", "Debug", "Refuse", "panic", "SQL", "Exec", "ExecContext", "Query", "QueryContext", "QueryRow", "QueryRowContext"}

// book are what parameters and variables are called that hold a line of the bench's book of
// events: what was done, and why. It is kept once, for everybody, and so is in English as
// files are.
var book = []string{"what", "why", "was"}

// keptTexts are the functions of the bench that take such lines, with the places of these.
func keptTexts(t *testing.T) map[string][]int {
	out := map[string][]int{}
	err := filepath.WalkDir("../bench", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			i := 0
			for _, p := range fn.Type.Params.List {
				for _, name := range p.Names {
					if slices.Contains(book, name.Name) {
						out[fn.Name.Name] = append(out[fn.Name.Name], i)
					}
					i++
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// outside are the sentences of a file that are put together beside the catalogue.
func outside(f *ast.File, kept map[string][]int) (out []unsaid) {
	var look func(n ast.Node, fault bool)
	look = func(n ast.Node, fault bool) {
		ast.Inspect(n, func(n ast.Node) bool {
			switch x := n.(type) {
			case *ast.AssignStmt:
				if k, ok := x.Lhs[0].(*ast.Ident); ok && slices.Contains(book, k.Name) {
					return false
				}
			case *ast.KeyValueExpr:
				if k, ok := x.Key.(*ast.Ident); ok && !fault && (k.Name == "Found" || k.Name == "Want") {
					look(x.Value, true)
					return false
				}
			case *ast.CallExpr:
				name := called(x)
				if slices.Contains(said, name) || slices.Contains(phrases, name) {
					return false
				}
				if at := kept[name]; at != nil {
					for i, a := range x.Args {
						if !slices.Contains(at, i) {
							look(a, fault)
						}
					}
					return false
				}
				if slices.Contains(faulty, name) && !fault {
					for _, a := range x.Args {
						look(a, true)
					}
					return false
				}
				if strings.HasPrefix(name, "Sprintf") || strings.HasPrefix(name, "Fprintf") {
					for _, a := range x.Args[:min(2, len(x.Args))] {
						if s, ok := literal(a); ok && prose(s) {
							out = append(out, unsaid{x.Pos(), s, fault})
						}
					}
				}
			case *ast.BinaryExpr:
				if x.Op != token.ADD {
					break
				}
				if _, whole := literal(x); whole {
					return false
				}
				parts, words := operands(x), ""
				for _, p := range parts {
					if s, ok := literal(p); ok {
						words += s
					} else {
						words += "7"
						look(p, fault)
					}
				}
				if prose(words) {
					out = append(out, unsaid{x.Pos(), words, fault})
				}
				return false
			}
			return true
		})
	}
	look(f, false)
	return out
}

func called(c *ast.CallExpr) string {
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}

// operands of a chain of +.
func operands(e ast.Expr) []ast.Expr {
	if b, ok := e.(*ast.BinaryExpr); ok && b.Op == token.ADD {
		return append(operands(b.X), operands(b.Y)...)
	}
	return []ast.Expr{e}
}
