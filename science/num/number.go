package num

import (
	"encoding/json"
	"math"
	"strconv"
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
	// As encoding/json writes a float64, without a second encoder: logs hold hundreds of thousands.
	v, form := float64(n), byte('f')
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
		form = 'e'
	}
	b := strconv.AppendFloat(make([]byte, 0, 24), v, form, -1, 64)
	if k := len(b); form == 'e' && k >= 4 && b[k-4] == 'e' && b[k-3] == '-' && b[k-2] == '0' { // e-09 is e-9
		b[k-2] = b[k-1]
		b = b[:k-1]
	}
	return b, nil
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
