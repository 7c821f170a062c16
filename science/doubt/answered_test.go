package doubt

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/note"
)

func leaves(n int) Mend {
	return func(t knownwater.Trial) knownwater.Trial {
		t.Observations = t.Observations[:n]
		return t
	}
}

// A yes mends by the choice that was made, once; a no leaves things and asks no more; every answer is told.
func TestAnswersAreUsedUp(t *testing.T) {
	trial := knownwater.Trial{Observations: make([]knownwater.Observation, 9)}
	q := func(key string) Question {
		return Question{Key: key, Kind: OfSlip, Method: "m", Says: note.New("ask-slip"), Mends: []Mend{leaves(5), leaves(3)}}
	}
	a := NewAnswers([]knownwater.Answer{{Question: "first", Yes: true, Choice: 1, Why: "seen"}, {Question: "second", Why: "looked"},
		{Question: "third", Yes: true, Choice: 2}, {Question: "fourth", Yes: true, Choice: -1}, {Question: "zeroth", Why: "?"}})
	if !a.Any() || NewAnswers(nil).Any() {
		t.Error("whether there are any")
	}
	got, did := a.Mended(trial, q("first"))
	if !did || len(got.Observations) != 3 {
		t.Errorf("first: %v, %d readings", did, len(got.Observations))
	}
	for _, key := range []string{"first", "second", "third", "fourth", "fifth"} { // used up; a no; no such choice; not asked
		if got, did := a.Mended(trial, q(key)); did || len(got.Observations) != 9 {
			t.Errorf("%s: %v, %d readings", key, did, len(got.Observations))
		}
	}
	for key, denied := range map[string]bool{"first": false, "second": true, "third": false, "fifth": false} {
		if a.Denied(q(key)) != denied {
			t.Errorf("%s: denied %v", key, !denied)
		}
	}
	if !a.Open(q("first")) || a.Open(q("second")) || !a.Open(q("second")) || !a.Open(q("third")) {
		t.Error("which are open, and a no is told once")
	}
	var told []string
	for _, x := range a.All() {
		told = append(told, x.Question+": "+x.Answer+x.Kind+x.Why)
	}
	if want := []string{"first: yesslipseen", "fourth: not asked", "second: noslip" + "looked", "third: not asked", "zeroth: not asked?"}; !slices.Equal(told, want) {
		t.Errorf("told %q, want %q", told, want)
	}
}

// A question's key names kind, method, water and readings, a dozen of them at most, whatever their rows.
func TestKeys(t *testing.T) {
	q := Question{Kind: OfSlip, Method: "m", At: []Place{{3, 2, "1.9"}, {2, 10, "12"}}}
	q.Keyed()
	if q.Key != "slip: m: 1.9 at 2, 12 at 10" {
		t.Error(q.Key)
	}
	q.Matrix, q.At = "tank", nil
	q.Keyed()
	if q.Key != "slip: m: tank" {
		t.Error(q.Key)
	}
	for i := range 13 {
		q.At = append(q.At, Place{Row: i, Reading: fmt.Sprint("r", i)})
	}
	q.Keyed()
	if strings.Count(q.Key, " at 0") != mostKeyed || !strings.HasSuffix(q.Key, ", 1 more") {
		t.Error(q.Key)
	}
	q.At = q.At[:12]
	q.Keyed()
	if strings.Count(q.Key, " at 0") != 12 || strings.Contains(q.Key, "more") {
		t.Error(q.Key)
	}
}

// A question in several ways offers each; a plain one is offered without words; one without a trial not at all.
func TestChoices(t *testing.T) {
	ways := []note.Note{note.New("a"), note.New("b"), note.New("c")}
	for _, x := range []struct{ mends, because, want int }{{0, 0, 0}, {0, 2, 0}, {1, 0, 1}, {1, 1, 1}, {2, 3, 2}, {3, 3, 3}, {2, 1, 1}} {
		q := Question{Mends: make([]Mend, x.mends), Says: note.New("q").Since(ways[:x.because]...)}
		got := q.Choices()
		if len(got) != x.want {
			t.Errorf("%d ways, %d words: %d choices", x.mends, x.because, len(got))
		}
		for i, c := range got {
			if word := x.because >= x.mends && x.mends > 0; word && c.Code != ways[i].Code || !word && c.Code != "" {
				t.Errorf("%d ways, %d words: choice %d is %q", x.mends, x.because, i, c.Code)
			}
		}
	}
}

// A reading that stands for several rows is named by each, in the order of the table.
func TestPlaces(t *testing.T) {
	got := PlacesOf([]knownwater.Observation{{Row: 7, Level: 2, Text: "b", Also: []int{3, 9}}, {Row: 5, Level: 1, Text: "a"}})
	if want := []Place{{3, 2, "b"}, {5, 1, "a"}, {7, 2, "b"}, {9, 2, "b"}}; !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	if n := len(PlacesOf(make([]knownwater.Observation, 500))); n != mostPlaces {
		t.Errorf("%d places", n)
	}
}
