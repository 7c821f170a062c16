package report

import (
	"encoding/json"
	"fmt"
	"math"
	"sort"
	"strconv"
)

// Difference is one place where two findings do not say the same.
type Difference struct {
	Path string // methods[Violet card].levels[3].mean
	Was  string
	Now  string
}

func (d Difference) String() string {
	return english.Say("{1}: was {2}, now {3}", d.Path, d.Was, d.Now)
}

// comparison lists where two findings, as JSON sees them, say something else. Numbers
// are the same when they agree to some number of significant digits; texts only when equal.
type comparison struct {
	tolerance float64
	common    bool // only keys that both have
	out       []Difference
}

func (c *comparison) walk(path string, x, y any) {
	switch a := x.(type) {
	case map[string]any:
		if b, ok := y.(map[string]any); ok {
			c.objects(path, a, b)
			return
		}
	case []any:
		if b, ok := y.([]any); ok {
			c.lists(path, a, b)
			return
		}
	case json.Number:
		if b, ok := y.(json.Number); ok && c.same(a, b) {
			return
		}
	default:
		if x == y {
			return
		}
	}
	c.out = append(c.out, Difference{path, shown(x), shown(y)})
}

func (c *comparison) objects(path string, a, b map[string]any) {
	keys := map[string]bool{}
	for k := range a {
		keys[k] = true
	}
	for k := range b {
		keys[k] = true
	}
	sorted := make([]string, 0, len(keys))
	for k := range keys {
		sorted = append(sorted, k)
	}
	sort.Strings(sorted)
	for _, k := range sorted {
		if _, inA := a[k]; c.common {
			if _, inB := b[k]; !inA || !inB {
				continue
			}
		}
		at := k
		if path != "" {
			at = path + "." + k
		}
		c.walk(at, a[k], b[k])
	}
}

func (c *comparison) lists(path string, a, b []any) {
	if len(a) != len(b) {
		c.out = append(c.out, Difference{path, fmt.Sprintf("%d entries", len(a)), fmt.Sprintf("%d entries", len(b))})
		return
	}
	for i := range a {
		c.walk(fmt.Sprintf("%s[%s]", path, entry(a[i], i)), a[i], b[i])
	}
}

// entry names an entry of a list by its row or its method where it has one.
func entry(v any, i int) string {
	if m, ok := v.(map[string]any); ok {
		if row, ok := m["row"].(json.Number); ok {
			return "row " + clean(row.String())
		}
		if name, ok := m["method"].(string); ok && name != "" {
			return clean(name)
		}
	}
	return strconv.Itoa(i)
}

// same compares numbers by value; whole numbers too long for a float by text.
func (c *comparison) same(a, b json.Number) bool {
	if a == b {
		return true
	}
	x, err1 := a.Float64()
	y, err2 := b.Float64()
	if err1 != nil || err2 != nil {
		return false
	}
	if x == y {
		return x > -1<<53 && x < 1<<53
	}
	return math.Abs(x-y) <= c.tolerance*math.Max(math.Abs(x), math.Abs(y))
}

func shown(v any) string {
	b, err := json.Marshal(v)
	if err != nil || v == nil {
		return "null"
	}
	if s := []rune(string(b)); len(s) > 120 {
		return string(s[:120]) + "…"
	}
	return string(b)
}
