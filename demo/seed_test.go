package demo

import (
	"reflect"
	"testing"
)

// Another seed is another trial, and the same seed the same one.
func TestSeedMakesTheTrial(t *testing.T) {
	made := func(seed uint64) any {
		trial, err := Trial(seed)
		if err != nil {
			t.Fatal(err)
		}
		return []any{trial, TruthOf(seed)}
	}
	if !reflect.DeepEqual(made(1), made(1)) {
		t.Error("the same seed makes another trial")
	}
	if reflect.DeepEqual(made(1), made(2)) {
		t.Error("another seed makes the same trial")
	}
}
