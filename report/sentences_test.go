package report

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"knownwater/science/note"
)

// Every code that the science gives out has a sentence that finds all its
// values, and every sentence has a code that somebody gives out.
func TestEveryNoteHasItsSentence(t *testing.T) {
	given := notesOfTheScience(t)
	if len(given) < 40 {
		t.Fatalf("only %d notes found: the search is broken", len(given))
	}
	for code, n := range given {
		if code == note.CodeTold {
			continue
		}
		if _, ok := sentences[code]; !ok {
			t.Errorf("%q has no sentence", code)
			continue
		}
		if s := Say(n); s == "" || strings.ContainsAny(s, "{}") || strings.Contains(s, none) {
			t.Errorf("%q: a value is missing in %q", code, s)
		}
	}
	for code := range sentences {
		if _, ok := given[code]; !ok {
			t.Errorf("nobody gives out %q", code)
		}
	}
}

// Codes whose values are given beside note.New.
var addedLater = map[string]func(n note.Note) note.Note{
	"read-after-use-by": countValues, "read-after-expiry": countValues,
	"branches-read-once": branchValues, "branches-may-agree": branchValues, "branches-disagree": branchValues,
	"reads": readsValues, "reads-singly": readsValues,
}

func readsValues(n note.Note) note.Note {
	return n.Name("side", "low", "high").Number("from", 0, 5).Number("to", 2, 9).Number("first", -1, 1).Number("last", -2, 1).Number("ends", 0, 9).Number("alone_low", 3).Number("alone_high", 4)
}

func countValues(n note.Note) note.Note { return n.Number("readings", 1).Name("day", "2026-03-08") }

func branchValues(n note.Note) note.Note {
	return n.Number("level", 5).Number("dilution", 1, 8).Number("reads", 4, 5).Number("u", 0.1, 0.2)
}

// notesOfTheScience reads the source: for every note.New("code") a note with an
// example under each name that is chained to it.
func notesOfTheScience(t *testing.T) map[string]note.Note {
	t.Helper()
	out := map[string]note.Note{}
	look := func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || strings.Contains(path, "/note/") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				if made, ok := chained(t, path, call); ok && len(made.Numbers)+len(made.Names)+len(made.Because) >= size(out[made.Code]) {
					if add := addedLater[made.Code]; add != nil {
						made = add(made)
					}
					out[made.Code] = made
				}
			}
			return true
		})
		return nil
	}
	for _, dir := range []string{"../science", "../bench", "../intake", "../logged", "../cmd"} {
		if err := filepath.WalkDir(dir, look); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func size(n note.Note) int { return len(n.Numbers) + len(n.Names) + len(n.Because) }

// chained is the note of note.New("code").Number("name", …)….
func chained(t *testing.T, path string, call *ast.CallExpr) (note.Note, bool) {
	sel, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return note.Note{}, false
	}
	if x, ok := sel.X.(*ast.Ident); ok && x.Name == "note" && sel.Sel.Name == "New" {
		code := literal(call.Args[0])
		if code == "" {
			t.Errorf("%s: note.New wants its code in place, not %T", path, call.Args[0])
		}
		return note.New(code), code != ""
	}
	inner, ok := sel.X.(*ast.CallExpr)
	if !ok {
		return note.Note{}, false
	}
	n, ok := chained(t, path, inner)
	if !ok {
		return n, false
	}
	examples := max(2, len(call.Args)-1)
	if len(call.Args) == 2 && !call.Ellipsis.IsValid() {
		examples = 1
	}
	switch sel.Sel.Name {
	case "Number":
		values := make([]float64, examples)
		for i := range values {
			values[i] = float64(i + 2)
		}
		return n.Number(literal(call.Args[0]), values...), true
	case "Name":
		names := make([]string, examples)
		for i := range names {
			names[i] = "some" + strconv.Itoa(i)
		}
		return n.Name(literal(call.Args[0]), names...), true
	case "Since":
		for range call.Args {
			n = n.Since(note.Told("a reason"))
		}
		return n, true
	}
	return n, false
}

func literal(e ast.Expr) string {
	if l, ok := e.(*ast.BasicLit); ok && l.Kind == token.STRING {
		s, _ := strconv.Unquote(l.Value)
		return s
	}
	return ""
}
