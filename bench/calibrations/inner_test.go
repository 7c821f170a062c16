package calibrations

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"knownwater"
)

// MostCurvePoints is how many points a curve may have.
const MostCurvePoints = mostCurvePoints

// AsKept is the spec as it is kept.
func (s CurveSpec) AsKept() CurveSpec { s, _ = s.tidied(); return s }

// TestPointsOfReadings: a vial is one point however often it was read, what is no
// plain number or was left out is none, and what the knowns share is the stock's.
func TestPointsOfReadings(t *testing.T) {
	read := func(vial int64, text string, dilution float64, lot string) knownwater.VialReading {
		return knownwater.VialReading{Vial: vial, Code: fmt.Sprint("v", vial), Text: text, Level: float64(vial), ULevel: 0.1, Session: 1, Dilution: dilution, Lot: lot}
	}
	list := []knownwater.VialReading{read(1, "0,273", 1, "A"), read(2, "0.30", 1, "A"), read(1, "0.275", 1, "A"), read(1, "0.04", 8, "A"), read(3, "<0.1", 1, "A"), read(4, "nothing", 1, "A"), read(2, "0.30", 1, "A"), read(5, "−0.002", 1, "A")}
	list = append(list, read(6, "0.5", 1, "A"))
	list[8].LeftOut = true
	var s CurveSpec
	if skipped := s.take(list); skipped != 3 {
		t.Errorf("%d skipped", skipped)
	}
	want := []CurvePoint{{Level: 1, ULevel: 0.1, Signal: 0.274, Session: "1", Replicate: "v1", Dilution: 1}, {Level: 2, ULevel: 0.1, Signal: 0.3, Session: "1", Replicate: "v2", Dilution: 1},
		{Level: 1, ULevel: 0.1, Signal: 0.04, Session: "1", Replicate: "v1", Dilution: 8}, {Level: 5, ULevel: 0.1, Signal: -0.002, Session: "1", Replicate: "v5", Dilution: 1}}
	if !reflect.DeepEqual(s.Points, want) || s.Lot != "A" || !strings.Contains(s.Note, "2 readings") {
		t.Errorf("lot %q, note %q, points\n%+v", s.Lot, s.Note, s.Points)
	}
	s = CurveSpec{}
	if s.take([]knownwater.VialReading{read(1, "1", 1, "A"), read(2, "2", 1, "B")}); s.Lot != "" || !strings.Contains(s.Note, "several lots") {
		t.Errorf("two lots: %q, %q", s.Lot, s.Note)
	}
	knowns := []knownwater.LevelTried{{Level: 0, U: 0.1}, {Level: 5, UShared: 0.05, Matrix: "salt"}, {Level: 10, UShared: -0.1, Matrix: "salt"}, {Level: 20, UShared: 0.2}}
	if got := sharedOf(knowns); got != 0.01 {
		t.Errorf("the stock's part is %g", got)
	}
	if tried := []knownwater.LevelTried{{Level: 5, U: 0.1, UBackground: 0.04}, {Level: 5, U: 0.2, UBackground: 0.1}}; backgroundOf(tried, 5, 0.2) != 0.1 || backgroundOf(tried, 4, 0.1) != 0 {
		t.Error("a known's background is not its own")
	}
	if matrixOf(knowns) != "salt" || matrixOf(append(knowns, knownwater.LevelTried{Matrix: "pure"})) != "" || sharedOf(nil) != 0 {
		t.Error("matrix or no knowns")
	}
}
