package shed

import (
	"path/filepath"
	"testing"

	"knownwater/bench"
	"knownwater/bench/trials"
)

// The invented bench holds what a bench in use holds, each in the state it should be.
func TestFurnish(t *testing.T) {
	b, err := bench.Open(filepath.Join(t.TempDir(), "bench.db"), bench.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if err := Furnish(t.Context(), b, "test"); err != nil {
		t.Fatal(err)
	}
	list, err := b.Trials(t.Context())
	if err != nil || len(list) != 2 || list[0].State != trials.Running || list[1].State != trials.Finished {
		t.Fatalf("trials %+v, %v", list, err)
	}
	if p := list[0].Progress; p.Taken == 0 || p.Taken >= p.Planned {
		t.Errorf("the running trial has %d of %d readings", p.Taken, p.Planned)
	}
	curves, err := b.Curves(t.Context())
	if err != nil || len(curves) != 1 || !curves[0].InUse {
		t.Errorf("curves %+v, %v", curves, err)
	}
	if _, err := b.Fit(curves[0]); err != nil {
		t.Error(err)
	}
	if shelf, err := b.Shelf(t.Context()); err != nil || len(shelf) != 5 {
		t.Errorf("shelf %d, %v", len(shelf), err)
	}
}
