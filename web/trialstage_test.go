package web

import (
	"context"
	"regexp"
	"testing"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/demo/shed"
)

var nextBold = regexp.MustCompile(`(?s)id="next">.*?<li>.*?(?:<b>|<label[^>]*>)([^<]*)<`)

// TestTrialLeads opens a trial at each stage: its page leads with what is to be done then.
func TestTrialLeads(t *testing.T) {
	ctx, owner := context.Background(), knownwater.Who{Role: knownwater.Owner}
	s := newSite(t, false)
	if err := shed.Furnish(ctx, s.bench, "test"); err != nil {
		t.Fatal(err)
	}
	leads := func(trial, want string) {
		t.Helper()
		m := nextBold.FindStringSubmatch(s.get(trial).body)
		if m == nil || m[1] != want {
			t.Errorf("%s leads with %q, want %q", trial, m, want)
		}
	}
	leads("/trials/2", "Read here, on this screen, as")
	leads("/trials/1", "Findings.")
	if _, err := s.bench.OpenKey(ctx, owner, 2, "the club meets tonight"); err != nil {
		t.Fatal(err)
	}
	leads("/trials/2", "Findings.")

	fresh := newSite(t, false)
	fresh.furnish()
	if _, err := fresh.bench.NewTrial(ctx, owner, trials.Plan{Title: "Later"}); err != nil {
		t.Fatal(err)
	}
	if m := nextBold.FindStringSubmatch(fresh.get("/trials/1").body); m == nil || m[1] != "Finish the plan." {
		t.Errorf("a trial being planned leads with %q", m)
	}
	trial := fresh.sealed()
	if m := nextBold.FindStringSubmatch(fresh.get(trial).body); m == nil || m[1] != "Preparation list." {
		t.Errorf("a sealed trial leads with %q", m)
	}
}
