package calibrations_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"knownwater"
	"knownwater/bench/calibrations"
	"knownwater/internal/benchtest"
	"knownwater/report"
)

// TestFitsAreRemembered: the same fit again without fitting, a version each its
// own, and a fault is remembered too.
func TestFitsAreRemembered(t *testing.T) {
	s := benchtest.New(t)
	last := s.Curved()
	versions := benchtest.Must(s.CurveVersions(ctx, last.ID))(t)
	for range 2 {
		for _, v := range versions {
			want := benchtest.Must(json.Marshal(report.CurveJSON(benchtest.Must(v.Spec.Fit())(t))))(t)
			if got := benchtest.Must(json.Marshal(report.CurveJSON(benchtest.Must(s.Fit(v))(t))))(t); !bytes.Equal(got, want) {
				t.Errorf("version %d is remembered as another fit", v.Version)
			}
		}
	}
	other := versions[0]
	other.Spec.Points = nil // a fit that is remembered does not look at the points again
	if _, err := s.Fit(other); err != nil {
		t.Errorf("fitted anew: %v", err)
	}
	bad := calibrations.Curve{Versioned: knownwater.Versioned[calibrations.CurveSpec]{VersionID: 1000}}
	for range 2 {
		if _, err := s.Fit(bad); err == nil {
			t.Error("no points give a fit")
		}
	}
}
