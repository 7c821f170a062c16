package num_test

import (
	"encoding/json"
	"math"
	"testing"

	"knownwater/science/num"
)

// A number is written as encoding/json writes the float64 that it is.
func TestNumberAsJSON(t *testing.T) {
	values := []float64{0, math.Copysign(0, -1), 1, -0.1, 1e-6, 9.99e-7, 1e-9, -1.5e-10, 5e-324, 1e20, 1e21, 1.7976931348623157e308, 123456.789}
	rng := num.Source(4)
	for range 2000 {
		values = append(values, math.Float64frombits(rng.Uint64()))
	}
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		want, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := num.Number(v).MarshalJSON(); err != nil || string(got) != string(want) {
			t.Errorf("%v: %s, should be %s (%v)", v, got, want, err)
		}
	}
	if got, _ := json.Marshal([]num.Number{num.None, num.Number(math.Inf(1))}); string(got) != "[null,null]" {
		t.Errorf("what cannot be computed: %s", got)
	}
}
