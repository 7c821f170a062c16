package wording_test

import (
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"knownwater/bench/trials"
	"knownwater/science/assess"
	"knownwater/science/control"
	"knownwater/science/history"
	"knownwater/science/reading"
	"knownwater/wording"
)

var update = flag.Bool("update", false, "write the list of messages anew")

func read(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// The list of messages holds every sentence of the templates and the scripts, every
// sentence of a note, and what Go says in the reader's language. Written anew by -update.
func TestMessages(t *testing.T) {
	found := map[string]bool{}
	for m := range messagesOfTheProgram(t) {
		if strings.ContainsAny(m, "\t\n") || strings.Trim(m, " ") != m {
			t.Errorf("a message holds a tab or the end of a line, or has a space at an end: %q", m)
		}
		found[m] = true
	}
	var list []string
	for m := range found {
		list = append(list, m)
	}
	slices.Sort(list)
	now := strings.Join(list, "\n") + "\n"
	name := "english.txt"
	switch before := read(t, name); {
	case now == before:
	case *update:
		if err := os.WriteFile(name, []byte(now), 0o644); err != nil {
			t.Fatal(err)
		}
	case testing.Short(): // whoever adds a sentence in between goes on: it is said in English
		t.Log("the list of messages is older than the sources")
	default:
		was := strings.Split(before, "\n")
		for _, m := range list {
			if !slices.Contains(was, m) {
				t.Errorf("not in wording/english.txt: %q", m)
			}
		}
		for _, m := range was {
			if m != "" && !found[m] {
				t.Errorf("said no more, and still in wording/english.txt: %q", m)
			}
		}
		t.Error("write the list anew: go test ./wording -update")
	}
	if len(list) < 1500 {
		t.Errorf("only %d messages found", len(list))
	}
}

// messagesOfTheProgram are all messages, each with a place where it is said.
func messagesOfTheProgram(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	root := ".."
	for _, folder := range []string{"web", "report", "bench", "intake", "science", "cmd"} {
		err := filepath.WalkDir(filepath.Join(root, folder), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || strings.Contains(path, "testdata") {
				return err
			}
			for _, m := range messagesOf(t, path) {
				out[m] = path
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, k := range reading.Kinds() {
		for _, m := range []string{string(k.Kind), k.Shown, k.Pad.How, k.Pad.Prompt} {
			if m != "" {
				out[m] = "science/reading"
			}
		}
	}
	for _, a := range []string{"nitrate", "nitrite", "ammonia", "phosphate", "silicate", "alkalinity", "calcium", "magnesium", "potassium", "iodide"} { // as unit.Parse spells them
		out[a] = "science/unit"
	}
	for m := time.January; m <= time.December; m++ {
		out[m.String()], out[m.String()[:3]] = "package time", "package time"
	}
	for _, f := range trials.Flags {
		out[string(f)] = "bench/trials"
	}
	for _, r := range []control.Rule{control.OneCheck, control.RunningSum, control.Weighted} {
		out[string(r)] = "science/control"
	}
	for _, v := range []history.Told{history.SameForNeed, history.Different, history.Rose, history.Fell, history.Undecided, history.CannotBeTold, history.Raised, history.Lowered} {
		out[string(v)] = "science/history"
	}
	for _, v := range []string{assess.Fit, assess.FitWhenCorrected, assess.NotFit, assess.Undecided, assess.HeldBack, assess.NotTried} {
		out[v] = "science/assess"
	}
	return out
}

// verb is where a value goes in a text for package fmt.
var verb = regexp.MustCompile(`%[-+#0]*\d*(\.\d+)?[a-zA-Z%]`)

// verbsOf are the values that a text takes.
func verbsOf(s string) (n int) {
	for _, v := range verb.FindAllString(s, -1) {
		if v != "%%" {
			n++
		}
	}
	return n
}

// formOf is the message of a text for package fmt: numbered places for its values.
func formOf(s string) string {
	i := 0
	return verb.ReplaceAllStringFunc(s, func(v string) string {
		if v == "%%" {
			return "%"
		}
		i++
		return "{" + strconv.Itoa(i) + "}"
	})
}

// phrases are what makes the sentence of a note of a text.
var phrases = []string{"text", "chance", "shaped", "withP", "judged", "branches", "shifted"}

// faulty are functions that take what was found, what would be right, and the values of both.
var faulty = []string{"Reject", "wrong", "fault", "refuse", "wrongCell", "wrongNumber", "badExport"}

var numbered = regexp.MustCompile(`\{\d+\}`)

// keysOfMessages are fields whose text is a message.
var keysOfMessages = []string{"Found", "Want", "want", "Heading", "Says", "Words"}

// foundAndWant are the two texts of a call of one of these, which take the values behind them.
func foundAndWant(args []ast.Expr) (found, want ast.Expr) {
	for i := range max(len(args)-1, 0) {
		a, _ := literal(args[i])
		b, _ := literal(args[i+1])
		if verbsOf(a)+verbsOf(b) == len(args)-i-2 {
			return args[i], args[i+1]
		}
	}
	return nil, nil
}

// messagesOf are the messages of a source, by what it is.
func messagesOf(t *testing.T, path string) (list []string) {
	t.Helper()
	switch {
	case strings.HasSuffix(path, "_test.go"):
	case strings.HasSuffix(path, ".go"):
		list = messagesOfGo(t, path)
	case strings.HasSuffix(path, ".js"):
		list = wording.ScriptMessages(read(t, path))
	case strings.HasSuffix(path, ".html"), strings.HasSuffix(path, ".gohtml"):
		source := read(t, path)
		list = wording.Messages(source)
		for _, m := range counted.FindAllStringSubmatch(source, -1) {
			list = append(list, thingsOf(m[1])...)
		}
	}
	return list
}

// counted is a number of things in a template.
var counted = regexp.MustCompile(`\bcount (?:\([^()]*\)|[^ "{}]+) "([^"]+)"`)

// thingsOf are the messages of a number of things.
func thingsOf(one string) []string {
	return []string{"no " + wording.Many(one), "1 " + one, "{1} " + wording.Many(one)}
}

// messagesOfGo are the messages of a source: the texts of Say and Key, those of the phrases
// of notes, the nouns of which there are one or several, refusals and faults.
func messagesOfGo(t *testing.T, path string) (out []string) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	add := func(e ast.Expr) string {
		if s, ok := literal(e); ok && s != "" {
			out = append(out, s)
			return s
		}
		return ""
	}
	noun := func(e ast.Expr) {
		if s, ok := literal(e); ok {
			out = append(out, thingsOf(s)...)
		}
	}
	texts := func(e ast.Expr) { // all in a list or map
		ast.Inspect(e, func(n ast.Node) bool {
			if kv, ok := n.(*ast.KeyValueExpr); ok {
				add(kv.Value)
				return false
			}
			return true
		})
	}
	form := func(e ast.Expr) int {
		s, ok := literal(e)
		if m := formOf(s); ok && strings.ContainsFunc(numbered.ReplaceAllString(m, ""), unicode.IsLetter) {
			out = append(out, m)
		}
		return verbsOf(s)
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.KeyValueExpr:
			if k, ok := x.Key.(*ast.Ident); ok && slices.Contains(keysOfMessages, k.Name) {
				add(x.Value)
			}
		case *ast.AssignStmt:
			if k, ok := x.Lhs[0].(*ast.Ident); ok && k.Name == "want" && x.Tok != token.ADD_ASSIGN {
				add(x.Rhs[0])
			}
		case *ast.ValueSpec: // what would be right, where several faults want it
			if strings.HasPrefix(strings.ToLower(x.Names[0].Name), "want") {
				for _, v := range x.Values {
					if add(v) == "" {
						texts(v)
					}
				}
			}
		case *ast.CallExpr:
			name := ""
			switch f := x.Fun.(type) {
			case *ast.Ident:
				name = f.Name
			case *ast.SelectorExpr:
				name = f.Sel.Name
			}
			switch {
			case name == "Of" && isFault(x) && x.Ellipsis == 0:
				n, all := 0, true
				for _, e := range x.Fun.(*ast.SelectorExpr).X.(*ast.CompositeLit).Elts {
					if kv := e.(*ast.KeyValueExpr); kv.Key.(*ast.Ident).Name == "Found" || kv.Key.(*ast.Ident).Name == "Want" {
						n += form(kv.Value)
						_, is := literal(kv.Value)
						all = all && is
					}
				}
				if all && n != len(x.Args) {
					t.Errorf("%s: a fault has places for %d values and is given %d", path, n, len(x.Args))
				}
				return false
			case slices.Contains(faulty, name):
				found, want := foundAndWant(x.Args)
				if found == nil && len(x.Args) > 1 {
					t.Errorf("%s: %s is not given as many values as its texts have places", path, name)
				} else if found != nil {
					form(found)
					form(want)
				}
			case (name == "Say" || name == "Key" || slices.Contains(phrases, name)) && len(x.Args) > 0:
				for _, m := range ofNoun.FindAllStringSubmatch(add(x.Args[0]), -1) {
					out = append(out, "1 "+m[1], "{1} "+wording.Many(m[1]))
				}
			case (name == "things" || name == "Count") && len(x.Args) == 2:
				noun(x.Args[1])
			case name == "Things" && len(x.Args) == 3:
				noun(x.Args[2])
			case name == "Refuse" && len(x.Args) > 1:
				if s, ok := literal(x.Args[1]); ok {
					out = append(out, formOf(s))
				}
			case name == "Number" && len(x.Args) == 2 && prose(textOf(x.Args[1])): // of a form: what would be right
				add(x.Args[1])
			case name == "Time" && len(x.Args) == 2, name == "Tell" && len(x.Args) >= 2:
				add(x.Args[1])
			}
		}
		return true
	})
	return out
}

// isFault says whether a call puts values into a fault.
func isFault(x *ast.CallExpr) bool {
	of, ok := x.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	_, ok = of.X.(*ast.CompositeLit)
	return ok
}

// ofNoun is a number of things in a note.
var ofNoun = regexp.MustCompile(`\{\w+\|n ([^}]+)\}`)

func textOf(e ast.Expr) string {
	s, _ := literal(e)
	return s
}

// literal is a text of a source, put together by + where it is long.
func literal(e ast.Expr) (string, bool) {
	switch x := e.(type) {
	case *ast.BasicLit:
		if x.Kind != token.STRING {
			return "", false
		}
		s, err := strconv.Unquote(x.Value)
		return s, err == nil
	case *ast.BinaryExpr:
		a, ok := literal(x.X)
		b, too := literal(x.Y)
		return a + b, ok && too && x.Op == token.ADD
	}
	return "", false
}
