package render_test

import (
	"testing"

	"knownwater"
	"knownwater/web/render"
)

// A display may show less than 0, unless its range begins there: then its pad needs no minus sign.
func TestSignOfADisplay(t *testing.T) {
	at := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		kind   knownwater.Kind
		low    *float64
		signed bool
	}{{knownwater.Display, nil, true}, {knownwater.Display, at(-1), true}, {knownwater.Display, at(0), false}, {knownwater.Absorbance, nil, true}, {knownwater.Drops, nil, false}} {
		if p := render.PadOf(knownwater.MethodSpec{Kind: c.kind, Resolution: 0.1, DropValue: 1, RangeLow: c.low}); p.Signed != c.signed {
			t.Errorf("%v from %v: a minus sign %v, want %v", c.kind, c.low, p.Signed, c.signed)
		}
	}
}
