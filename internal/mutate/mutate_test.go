package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const clamped = `package clamp

import "math"

// Into is x, within 0 and 2.5.
func (l *limits) Into(x float64) float64 {
	if x < 0 || math.IsNaN(x) {
		x = 0.0
	}
	l.seen += 1
	l.note("a" + l.name)
	return min(x*1, 2.5)
}
`

// Every mistake of a text that can be read at a glance.
func TestMistakesOfAText(t *testing.T) {
	all, err := mistakesIn("clamp.go", []byte(clamped))
	if err != nil {
		t.Fatal(err)
	}
	wrong := map[string]string{}
	for _, m := range all {
		before, after := strings.Split(clamped, "\n"), strings.Split(string(m.in([]byte(clamped))), "\n")
		for i := range before {
			if before[i] != after[i] {
				wrong[m.String()] = strings.TrimSpace(after[i])
			}
		}
	}
	want := map[string]string{
		"clamp.go limits.Into: if never #1":      "if false && (x < 0 || math.IsNaN(x)) {",
		"clamp.go limits.Into: || to && #1":      "if x < 0 && math.IsNaN(x) {",
		"clamp.go limits.Into: < to >= #1":       "if x >= 0 || math.IsNaN(x) {",
		"clamp.go limits.Into: += to -= #1":      "l.seen -= 1",
		"clamp.go limits.Into: note left out #1": "_ = 0",
		"clamp.go limits.Into: * to / #1":        "return min(x/1, 2.5)",
		"clamp.go limits.Into: 2.5 times 1.5 #1": "return min(x*1, (2.5*1.5))",
	}
	for name, line := range want {
		if wrong[name] != line {
			t.Errorf("%s: %q, want %q", name, wrong[name], line)
		}
	}
	if len(all) != len(want) {
		t.Errorf("%d mistakes, want %d: %v", len(all), len(want), wrong)
	}
}

// What is picked depends on the seed, and not on what stands elsewhere in the file.
func TestPickedTheSameAgain(t *testing.T) {
	names := func(src string, seed uint64) (names []string) {
		all, err := mistakesIn("clamp.go", []byte(src))
		if err != nil {
			t.Fatal(err)
		}
		shuffle(all, seed)
		for _, m := range all {
			if strings.Contains(m.function, "Into") {
				names = append(names, m.String())
			}
		}
		return names
	}
	longer := strings.Replace(clamped, "// Into", "func twice(x float64) float64 { return 2 * x }\n\n// Into", 1)
	if a, b := names(clamped, 1), names(longer, 1); !slices.Equal(a, b) {
		t.Errorf("another function changed the order:\n%v\n%v", a, b)
	}
	if a, b := names(clamped, 1), names(clamped, 2); slices.Equal(a, b) {
		t.Errorf("two seeds, one order: %v", a)
	}
}

// The whole of it on a package with one test that looks at half of it.
func TestNoticedAndNot(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles a package a few times")
	}
	dir := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":                        "module sum\n\ngo 1.25\n",
		"sum.go":                        "package sum\n\nfunc Add(a, b int) int { return a + b }\n\nfunc Sub(a, b int) int { return a - b }\n\nfunc Twice(a float64) float64 { return a / 0.5 }\n",
		"sum_test.go":                   "package sum\n\nimport \"testing\"\n\nfunc TestAdd(t *testing.T) {\n\tif Add(2, 3) != 5 {\n\t\tt.Fail()\n\t}\n}\n",
		"internal/mutate/explained.txt": "# why\nsum.go Twice: / to * #1 = so that this test has one\n",
	} {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	var out strings.Builder
	if err := run([]string{"."}, &out); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"noticed by ./.: sum.go Add: + to - #1\n",
		"SURVIVED: sum.go Sub: - to + #1\n",
		"explained: sum.go Twice: / to * #1: so that this test has one\n",
		".: 4 mistakes, 1 noticed, 1 survive with a reason, 2 without\n",
	} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("without %q:\n%s", want, out.String())
		}
	}
	if err := os.WriteFile("sum_test.go", []byte("package sum\n\nimport \"testing\"\n\nfunc TestBad(t *testing.T) { t.Fail() }\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := run([]string{"."}, &out); err == nil {
		t.Error("tests that fail anyway notice nothing")
	}
}

func TestTestsWithTheirFlags(t *testing.T) {
	got := testsOf("a", []string{"-run=Quick", "./b", "./c", "-run=X", "-tags=y"})
	want := [][]string{{"./a", "-run=Quick"}, {"./b"}, {"./c", "-run=X", "-tags=y"}}
	if len(got) != len(want) {
		t.Fatal(got)
	}
	for i := range want {
		if !slices.Equal(got[i], want[i]) {
			t.Errorf("%v, want %v", got[i], want[i])
		}
	}
}
