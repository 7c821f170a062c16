package bench_test

import (
	"math"
	"strings"
	"testing"

	"knownwater"
	"knownwater/internal/benchtest"
	"knownwater/report"
)

// A second lot: vials of one known beside the first one's, its ratio with a verdict, what is
// left of both, and what is said of it.
func TestLotBeside(t *testing.T) {
	s := benchtest.New(t)
	rec, _ := s.Recorded()
	check := func(lot, reading string) {
		t.Helper()
		n := benchtest.ReadBy(rec, reading)
		n.Of, n.Lot = &knownwater.Sample{Role: knownwater.Checked, Known: 6, UKnown: 0.06}, lot
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	first := knownwater.Lot{Code: "A1", Tests: 50}
	second := knownwater.Lot{Code: "A2", Tests: 50}
	for range 4 {
		check("A1", "6.8")
	}
	need := knownwater.Need{Name: "hold it", Low: 2, High: 6, Permitted: []knownwater.Permit{{At: 2, Error: 1}, {At: 6, Error: 1.2}}}
	beside := func() (string, string) {
		t.Helper()
		l := benchtest.Must(s.LotBeside(ctx, rec.ID, second, first, &need))(t)
		said := report.LotsSay(l, true)
		if len(said) == 0 {
			return l.Told, ""
		}
		return l.Told, said[0].Head + " " + said[0].More
	}
	told, said := beside()
	if told != "untold" || !strings.Contains(said, "has not been tested beside lot A1") || !strings.Contains(said, "46 tests left") || !strings.Contains(said, "a fifth otherwise") {
		t.Errorf("%s: %s", told, said)
	}
	for _, reading := range []string{"5.4", "5.5", "5.6", "5.5"} { // a fifth less
		check("A2", reading)
	}
	if told, said = beside(); told != "different" || !strings.Contains(said, "Lot A2 reads 8") {
		t.Errorf("%s: %s", told, said)
	}
	l := benchtest.Must(s.LotBeside(ctx, rec.ID, second, first, nil))(t)
	if l.From != 4 || l.To != 4 || !(l.Low < 0.82 && l.High > 0.8) || l.Left != 46 || l.LeftBefore != 46 || l.Share != 0 {
		t.Errorf("%+v", l)
	}
	// the other way round it is one over it
	if x := benchtest.Must(s.LotBeside(ctx, rec.ID, first, second, nil))(t); math.Abs(x.Ratio*l.Ratio-1) > 0.01 {
		t.Errorf("%g and %g", x.Ratio, l.Ratio)
	}
	// one that is nearly empty asks for the next
	few := first
	few.Tests = 6
	l = benchtest.Must(s.LotBeside(ctx, rec.ID, few, knownwater.Lot{}, nil))(t)
	if said := report.LotsSay(l, false); len(said) != 1 || !strings.Contains(said[0].Head, "2 tests left") {
		t.Errorf("%+v", said)
	}
	if said := report.LotsSay(l, true); len(said) != 0 {
		t.Errorf("with the next lot open: %+v", said)
	}
}
