package known

import (
	"slices"
	"testing"

	"knownwater/science/errorpart"
	"knownwater/science/note"
)

// A standard of 10 that is known to 3 is loose by three tenths, one that is known to 1 is not; and what has no name of its own, or no size, is
// no term that standards share.
func TestStandardLooseCounted(t *testing.T) {
	for u, want := range map[float64]float64{3: 0.3, 1: 0} {
		st := Standard{U: u}
		st.Value.Value = 10
		got := 0.0
		for _, n := range doubtsOf(benchShelf(), Solution{From: "stock", Standard: true, Asked: 10}, st) {
			if n.Code == "standard-loose" {
				got = float64(n.Numbers["share"][0])
			}
		}
		if got != want {
			t.Errorf("known to %v: loose by %v", u, got)
		}
	}
	if loose := doubtsOf(benchShelf(), Solution{Standard: true, Asked: 10}, Standard{U: 3}); slices.ContainsFunc(loose, func(n note.Note) bool { return n.Code == "standard-loose" }) {
		t.Errorf("the matrix itself: %v", loose)
	}
	terms := addTerm(addTerm(addTerm(addTerm(nil, term{id: 0, size: 2}), term{id: 3, size: 0}), term{id: 4, size: 2}), term{id: 4, size: -0.5})
	if !slices.Equal(terms, []term{{id: 4, size: 1.5}}) {
		t.Errorf("%+v", terms)
	}
}

// A limit that few weighings found is Student's, another as it was stated.
func TestLimitsOfFewWeighings(t *testing.T) {
	if of := shapeOf(errorpart.Rectangular, 4); of != errorpart.Student {
		t.Errorf("of five weighings: %v", of)
	}
	if of := shapeOf(errorpart.Rectangular, 0); of != errorpart.Rectangular {
		t.Errorf("stated: %v", of)
	}
}
