package reading

import (
	"slices"
	"testing"

	"knownwater"
)

func TestSuggest(t *testing.T) {
	for _, c := range []struct {
		texts    []string
		kind     knownwater.Kind
		swatches []float64
		last     float64
	}{
		{[]string{"0.1", "4.73", "12"}, knownwater.Display, nil, 0.01},
		{[]string{"0.1", "<0.1", ">40"}, knownwater.Display, nil, 0.1},
		{[]string{"5", "3..6", "<3", "12"}, knownwater.Chart, []float64{3, 5, 6, 12}, 0},
		{[]string{"7d", "8d"}, knownwater.Drops, nil, 0},
		{[]string{"7..8d"}, knownwater.Drops, nil, 0},
	} {
		var seen []Typed
		for _, text := range c.texts {
			typed, err := Parse(text)
			if err != nil {
				t.Fatal(err)
			}
			seen = append(seen, typed)
		}
		m := Suggest("M", seen)
		if m.Kind != c.kind || !slices.Equal(m.Swatches, c.swatches) || m.Resolution != c.last {
			t.Errorf("%v: %+v", c.texts, m)
		}
	}
}
