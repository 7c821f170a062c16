package web

import (
	"net/http"
	"strings"
	"testing"
)

// TestEmptyBench opens every page of a bench on which nothing stands yet: each
// says what to do next.
func TestEmptyBench(t *testing.T) {
	s := newSite(t, false)
	for path, want := range map[string]string{
		"/":            "Put the readers on the list",
		"/trials":      "Describe a method first",
		"/methods":     "No method is described yet",
		"/methods/new": "Describe a method",
		"/needs":       "No need is written down yet",
		"/people":      "Nobody is on the list yet",
		"/copies":      "Make a copy now",
	} {
		a := s.get(path)
		if a.StatusCode != http.StatusOK || !strings.Contains(a.body, want) {
			t.Errorf("GET %s: status %d, and %q is not there:\n%s", path, a.StatusCode, want, inside(a.body))
		}
	}
}

func TestPlanToSeal(t *testing.T) {
	s := newSite(t, false)
	s.furnish()
	trial := s.sealed()
	for path, want := range map[string]string{
		trial:             "The stop rule is not met yet",
		trial + "/labels": "in run order",
		trial + "/sheet":  "Run sheet",
		"/":               "Fill the vials",
		"/methods/1":      "A1",
		"/needs/1":        "at 0.5 ± 0.5",
		"/people/1":       "Change Ines",
	} {
		a := s.get(path)
		if a.StatusCode != http.StatusOK || !strings.Contains(a.body, want) {
			t.Errorf("GET %s: status %d, and %q is not there:\n%s", path, a.StatusCode, want, inside(a.body))
		}
	}
}
