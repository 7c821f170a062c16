package web

import (
	"regexp"
	"testing"
)

var linked = regexp.MustCompile(`(?:href|src)="(/assets/[^"]+|/report\.css)"`)
var imported = regexp.MustCompile(`from "\./([a-z]+\.js)"`)

// TestRunScreenIsSmall weighs all that a phone fetches for its first run
// screen, before compression.
func TestRunScreenIsSmall(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	trial := s.sealed()
	s.must("/me", form1("person", "1"))
	page := s.get(trial + "/run").body
	total, scripts := len(page), 0
	weighed := map[string]bool{}
	var weigh func(path string)
	weigh = func(path string) {
		if weighed[path] {
			return
		}
		weighed[path] = true
		a := s.get(path)
		if a.StatusCode != 200 {
			t.Fatalf("%s: status %d", path, a.StatusCode)
		}
		total += len(a.body)
		if regexp.MustCompile(`\.js$`).MatchString(path) {
			scripts += len(a.body)
			for _, m := range imported.FindAllStringSubmatch(a.body, -1) {
				weigh("/assets/run/" + m[1])
			}
		}
	}
	for _, m := range linked.FindAllStringSubmatch(page, -1) {
		weigh(m[1])
	}
	if len(weighed) < 9 {
		t.Fatalf("only %d files were found: %v", len(weighed), weighed)
	}
	t.Logf("script %d bytes, all %d bytes in %d files", scripts, total, len(weighed)+1)
	if scripts == 0 || scripts >= 40_000 {
		t.Errorf("script weighs %d bytes, want under 40 kB", scripts)
	}
	if total >= 150_000 {
		t.Errorf("the first run screen weighs %d bytes, want under 150 kB", total)
	}
}
