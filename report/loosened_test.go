package report

import (
	"strings"
	"testing"

	"knownwater/science/assess"
	"knownwater/science/choose"
)

// What is said of another permitted error holds as it is rounded, and says so where an average was not worked out corrected.
func TestLoosenedSays(t *testing.T) {
	way := func(tests int, corrected bool) choose.Way {
		return choose.Way{Use: choose.Use{Method: "Hazel", Tests: tests, Corrected: corrected}, Verdict: assess.Undecided, Error: choose.Error{High: 1.2, Permitted: 1}, Along: make([]assess.AlongNeed, 1)}
	}
	n := choose.NeedChoice{Ways: []choose.Way{way(2, false), way(3, true), way(1, true)}}
	for _, c := range []struct {
		x    choose.Loosened
		says string
		less bool
	}{
		{choose.Loosened{Times: 0.9972, From: 2, To: 1}, "Permit less than 99 % of that error, and it would be ", false},
		{choose.Loosened{Times: 0.9972, From: 1, To: 2}, "Permit less than 99 % of that error, and it would be ", true}, // two tests would be taken before three
		{choose.Loosened{Times: 0.956, From: -1, To: 0}, "Permit less than 95 % of that error, and nothing ", true},
		{choose.Loosened{Times: 1.2201, From: -1, To: 0}, "Permit 1.23 times that error, and it would be ", true},
	} {
		s := LoosenedSays(nil, n, c.x)
		if !strings.HasPrefix(s, c.says) || strings.Contains(s, "may do with less") != c.less {
			t.Errorf("%+v: %s", c.x, s)
		}
	}
}
