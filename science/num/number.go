package num

import (
	"encoding/json"
	"math"
)

// Number is a computed value. Not-a-number inside means "cannot be computed"
// and leaves as null; the reason stands in the notes.
type Number float64

// None is the Number that cannot be computed.
var None = Number(math.NaN())

// OK says whether the number was computed.
func (n Number) OK() bool { return !math.IsNaN(float64(n)) && !math.IsInf(float64(n), 0) }

// MarshalJSON writes null for what cannot be computed.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.OK() {
		return []byte("null"), nil
	}
	return json.Marshal(float64(n))
}

// UnmarshalJSON reads null as "cannot be computed".
func (n *Number) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*n = None
		return nil
	}
	var v float64
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	*n = Number(v)
	return nil
}
