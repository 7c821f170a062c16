package bench

import (
	"bytes"
	"sync"
	"testing"
)

// TestFitsAreRemembered: the same fit again without fitting, a version each its
// own, no more of them than there is room for, and a fault is remembered too.
func TestFitsAreRemembered(t *testing.T) {
	s := newShed(t)
	last := s.curved()
	versions := must(s.CurveVersions(ctx, last.ID))(t)
	for range 2 {
		for _, v := range versions {
			want := must(must(v.Spec.Fit())(t).MarshalJSON())(t)
			if got := must(must(s.Fit(v))(t).MarshalJSON())(t); !bytes.Equal(got, want) {
				t.Errorf("version %d is remembered as another fit", v.Version)
			}
		}
	}
	if len(s.fits.kept) != 3 {
		t.Errorf("%d fits are remembered, want 3", len(s.fits.kept))
	}
	other := versions[0]
	other.Spec.Points = nil // a fit that is remembered does not look at the points again
	if _, err := s.Fit(other); err != nil {
		t.Errorf("fitted anew: %v", err)
	}
	bad := Curve{VersionID: 1000}
	for range 2 {
		if _, err := s.Fit(bad); err == nil {
			t.Error("no points give a fit")
		}
	}
	var all sync.WaitGroup
	most := mostFitted / (fitted{}).size() // faults take as much as a fit without points
	for i := range 3 * most {
		all.Go(func() { s.Fit(Curve{VersionID: int64(2000 + i/2)}) })
	}
	all.Wait()
	if len(s.fits.kept) != most || len(s.fits.used) != most || s.fits.size != mostFitted {
		t.Errorf("%d fits are remembered, in a row of %d, of size %d; want %d of %d", len(s.fits.kept), len(s.fits.used), s.fits.size, most, mostFitted)
	}
}
