package render

import (
	"fmt"
	"html/template"
	"math"

	"knownwater/chart"
	"knownwater/science/unit"
)

// progress is how far something has come, as a share of its width; a picture for
// those who see it, the numbers stand beside it.
func progress(done, of int) template.HTML {
	share := 0.0
	if of > 0 {
		share = float64(done) / float64(of)
	}
	return ShareBar(share)
}

// ShareBar is a share as a bar; the number stands beside it.
func ShareBar(share float64) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg class="meter" width="100%%" height="8" aria-hidden="true">`+
		`<rect class="m-void" x=".5" y=".5" width="99.6%%" height="7"/><rect class="m-bar" width="%.2f%%" height="8"/></svg>`, 100*math.Min(1, share)))
}

// SignedLimits are an error's limits with their signs, rounded alike.
func SignedLimits(low, high float64) string {
	if math.IsNaN(low) || math.IsNaN(high) {
		return "–"
	}
	u := (high - low) / 4
	return unit.Signed(low, u) + " to " + unit.Signed(high, u)
}

// ShiftMark is a relative shift in per cent against the margin within which it is of
// no account, drawn by its verdict: solid within, hollow outside, hatched where it is
// neither.
func ShiftMark(id, what string, low, mid, high, margin float64, v chart.Verdict) (mark, axis template.HTML) {
	half := 1.25 * math.Max(margin, math.Max(math.Abs(low), math.Abs(high)))
	row := chart.Row{ID: "row-" + id, Title: what + " from " + SignedLimits(100*low, 100*high) + " %", Low: -100 * half, High: 100 * half, Margin: 100 * margin,
		Bars: []chart.Bar{{Low: 100 * low, High: 100 * high, Notch: 100 * mid, Verdict: v}}}
	return template.HTML(row.SVG()), template.HTML(row.Axis(true))
}
