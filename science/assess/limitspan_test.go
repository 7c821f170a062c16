package assess

import (
	"fmt"
	"math"
	"testing"

	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/num"
	"knownwater/science/unit"
)

// By hand: readings that scatter by 0.3 everywhere about the truth are shown above a boundary
// 95 times in 100 from 1.645·0.3 = 0.493 above it on, and two of them stand in the right order that often from 1.645·√2·0.3 = 0.698 apart.
func TestSpansHoldTheTruth(t *testing.T) {
	const trials = 20
	detection, step, narrow := 0, 0, 0
	for k := range trials {
		scale, _ := unit.Parse("nitrate", "mg/L", "NO3")
		n := knownwater.Need{Name: "hold", Low: 1.5, High: 6, Permitted: []knownwater.Permit{{At: 1.5, Error: 1}}}
		tr := knownwater.Trial{Scale: scale, Water: unit.StandardSea, Needs: []knownwater.Need{n}, Methods: []knownwater.Method{{Name: "Meter", Kind: knownwater.Display, Resolution: 0.001}}}
		rng := num.Source(8, uint64(k), 3)
		for _, c := range []float64{0, 0.6, 1.5, 3, 6, 12} {
			for v := range 4 {
				y := c + 0.3*rng.NormFloat64()
				tr.Observations = append(tr.Observations, knownwater.Observation{Method: "Meter", Level: c, Text: fmt.Sprintf("%.3f", y), Seen: interval.Interval{Low: y - 0.0005, High: y + 0.0005},
					Dilution: 1, Count: 1, Vial: fmt.Sprint(c, v)})
			}
		}
		st := examine(split(tr)[0], tr, Options{Brief: true})
		st.opt.Brief = false
		st.spanned()
		l := st.finding.Limits
		truth := num.Number(st.boundary() + 0.4935)
		if l.DetectionLow <= truth && (truth <= l.DetectionHigh || !l.DetectionHigh.OK()) {
			detection++
		}
		if l.DetectionLow > truth/3 && l.DetectionHigh < 3*truth && l.DetectionLow <= l.Detection && l.Detection <= l.DetectionHigh {
			narrow++
		}
		for _, s := range st.finding.Steps {
			switch {
			case s.At != 1.5:
				if s.Low.OK() || s.High.OK() {
					t.Errorf("no need begins at %v: %+v", s.At, s)
				}
			case s.Low <= 0.698 && 0.698 <= s.High:
				step++
			}
		}
	}
	// 15 of 20 or fewer happen in 3 of 1,000 such tests at 95 %.
	if detection < 16 || step < 16 {
		t.Errorf("of %d trials %d hold the detection limit, %d the step", trials, detection, step)
	}
	if narrow < 16 {
		t.Errorf("only %d intervals of the detection limit keep within three times it: they say little", narrow)
	}
}

// An end is none where a draw has none.
func TestEnd(t *testing.T) {
	draws := []float64{3, math.Inf(1), 2}
	if low, high := end(draws, 0.025), end(draws, 0.975); low != 2 || high.OK() {
		t.Errorf("%v, %v", low, high)
	}
}
