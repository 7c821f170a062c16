package docstest

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// A quoted number stands between markers that say where it comes from:
//
//	<!--= Cedar/levels/level=0.1/bias -->2.3<!--/-->
//
// A path begins with a method of the findings (Dogwood×8 for its dilution),
// with "all" for the findings as a whole, or with "truth" for the truth file;
// then come keys, and name=value where a list is searched.
var quoted = regexp.MustCompile(`(?s)<!--= (.*?) -->(.*?)<!--/-->`)

func TestQuotedNumbers(t *testing.T) {
	for _, name := range documents(t) {
		page := read(t, name)
		if !quoted.MatchString(page) {
			continue
		}
		r := theDemo(t)
		changed := quoted.ReplaceAllStringFunc(page, func(whole string) string {
			m := quoted.FindStringSubmatch(whole)
			v, err := r.find(m[1])
			if err != nil {
				t.Errorf("%s: %s: %v", filepath.Base(name), m[1], err)
				return whole
			}
			if says(m[2], v) {
				return whole
			}
			if !*update {
				t.Errorf("%s says %q for %s, which is %v", filepath.Base(name), m[2], m[1], v)
				return whole
			}
			return "<!--= " + m[1] + " -->" + written(m[2], v) + "<!--/-->"
		})
		store(t, name, page, changed)
	}
}

func store(t *testing.T, name, page, changed string) {
	t.Helper()
	if *update && changed != page {
		if err := os.WriteFile(name, []byte(changed), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// says holds a quoted text against a value: a number may be off by six tenths of
// its last digit, for processors that round the last bits otherwise.
func says(text string, v any) bool {
	x, ok := v.(float64)
	if !ok {
		return text == fmt.Sprint(v)
	}
	got, err := strconv.ParseFloat(plain(text), 64)
	return err == nil && math.Abs(got-x) <= 0.6*math.Pow10(-decimals(text))
}

func plain(text string) string {
	return strings.TrimPrefix(strings.ReplaceAll(strings.TrimSpace(text), "−", "-"), "+")
}

func decimals(text string) int {
	_, after, _ := strings.Cut(plain(text), ".")
	return len(after)
}

// written gives a value the digits and the sign of the text that stood there.
func written(text string, v any) string {
	x, ok := v.(float64)
	if !ok {
		return fmt.Sprint(v)
	}
	s := strconv.FormatFloat(x, 'f', decimals(text), 64)
	if strings.HasPrefix(strings.TrimSpace(text), "+") && x > 0 {
		s = "+" + s
	}
	return strings.ReplaceAll(s, "-", "−")
}

// find follows a path.
func (r demoRun) find(path string) (any, error) {
	steps := strings.Split(path, "/")
	v := r.findings
	switch first := steps[0]; first {
	case "all":
	case "truth":
		v = r.truth
	default:
		name, dilution, _ := strings.Cut(first, "×")
		if dilution == "" {
			dilution = "1"
		}
		var err error
		if v, err = follow(v, "methods"); err != nil {
			return nil, err
		}
		if v, err = follow(v, "method="+name+",dilution="+dilution); err != nil {
			return nil, err
		}
	}
	for _, step := range steps[1:] {
		var err error
		if v, err = follow(v, step); err != nil {
			return nil, err
		}
	}
	if v == nil {
		return "null", nil
	}
	return v, nil
}

func follow(v any, step string) (any, error) {
	switch x := v.(type) {
	case map[string]any:
		if value, ok := x[step]; ok {
			return value, nil
		}
	case []any:
		for _, entry := range x {
			if m, ok := entry.(map[string]any); ok && matches(m, step) {
				return m, nil
			}
		}
	}
	return nil, fmt.Errorf("no %s there", step)
}

func matches(m map[string]any, conditions string) bool {
	for _, c := range strings.Split(conditions, ",") {
		key, want, _ := strings.Cut(c, "=")
		got := fmt.Sprint(m[key])
		x, isNumber := m[key].(float64)
		if f, err := strconv.ParseFloat(want, 64); err == nil && isNumber {
			if !(math.Abs(x-f) <= 1e-9) {
				return false
			}
		} else if got != want {
			return false
		}
	}
	return true
}

// An excerpt of the demo's words stands in a block behind a marker that gives
// the line after which to look (or nothing), the beginning of its first line and
// that of its last; a last line of … is the end of the paragraph or note.
//
//	<!-- demo: after "Cedar" from "known" to "In mg/L" -->
var excerpt = regexp.MustCompile("(?s)(<!-- demo: after \"([^\n]*?)\" from \"([^\n]*?)\" to \"([^\n]*?)\" -->\n```text\n)(.*?)(```)")

func TestExcerpts(t *testing.T) {
	for _, name := range documents(t) {
		page := read(t, name)
		if !excerpt.MatchString(page) {
			continue
		}
		text := theDemo(t).text
		changed := excerpt.ReplaceAllStringFunc(page, func(whole string) string {
			m := excerpt.FindStringSubmatch(whole)
			want, err := cut(text, m[2], m[3], m[4])
			if err != nil {
				t.Errorf("%s: %v", filepath.Base(name), err)
				return whole
			}
			if *update {
				return m[1] + want + m[6]
			}
			if where := differ(m[5], want); where != "" {
				t.Errorf("%s: the excerpt from %q differs from the demo: %s", filepath.Base(name), m[3], where)
			}
			return whole
		})
		store(t, name, page, changed)
	}
}

// cut takes the lines from the first that begins with from (blanks aside), after
// the line that is after, to the next that begins with to.
func cut(text, after, from, to string) (string, error) {
	var out []string
	looking := after == ""
	for _, line := range strings.Split(text, "\n") {
		bare := strings.TrimSpace(line)
		switch {
		case !looking:
			looking = bare == after
			continue
		case len(out) == 0 && !strings.HasPrefix(bare, from):
			continue
		case len(out) > 0 && to == "…" && (bare == "" || strings.HasPrefix(bare, "note:") || strings.HasPrefix(bare, "?")):
			return strings.Join(out, "\n") + "\n", nil
		}
		out = append(out, strings.TrimRight(line, " "))
		if strings.HasPrefix(bare, to) {
			return strings.Join(out, "\n") + "\n", nil
		}
	}
	return "", fmt.Errorf("the demo prints no %q … %q after %q", from, to, after)
}

var token = regexp.MustCompile(`[−+-]?\d+(?:\.\d+)?|[^\s\d]+`)

// differ compares words exactly and numbers to one unit of their last digit,
// wherever lines break; it gives the first difference.
func differ(a, b string) string {
	x, y := token.FindAllString(a, -1), token.FindAllString(b, -1)
	for i := range min(len(x), len(y)) {
		if x[i] == y[i] {
			continue
		}
		p, err1 := strconv.ParseFloat(plain(x[i]), 64)
		q, err2 := strconv.ParseFloat(plain(y[i]), 64)
		if err1 != nil || err2 != nil || !(math.Abs(p-q) <= 1.01*math.Pow10(-min(decimals(x[i]), decimals(y[i])))) {
			return fmt.Sprintf("%q against %q", around(x, i), around(y, i))
		}
	}
	if len(x) != len(y) {
		return fmt.Sprintf("%d words against %d", len(x), len(y))
	}
	return ""
}

func around(words []string, i int) string {
	return strings.Join(words[max(0, i-4):min(len(words), i+5)], " ")
}

func TestTheComparisonCanFail(t *testing.T) {
	for _, c := range []struct {
		text  string
		value any
		ok    bool
	}{
		{"2.3", 2.34, true}, {"2.3", 2.37, false}, {"−0.5", -0.48, true}, {"+1", 1.2, true}, {"fit", "fit", true}, {"fit", "not fit", false}, {"null", 1.0, false},
	} {
		if says(c.text, c.value) != c.ok {
			t.Errorf("%q against %v", c.text, c.value)
		}
	}
	if differ("use A at 2.3", "use A\nat 2.4") != "" || differ("use A at 2.3", "use A at 2.5") == "" || differ("use A", "use B") == "" {
		t.Error("excerpts are compared wrongly")
	}
}
