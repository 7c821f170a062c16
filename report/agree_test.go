package report

import (
	"strings"
	"testing"

	"knownwater/science/assess"
	"knownwater/science/choose"
	"knownwater/science/num"
	"knownwater/science/unit"
)

func TestAgreeHead(t *testing.T) {
	for _, c := range []struct {
		same, differ, open int
		want               string
	}{{0, 0, 0, "Nothing to compare"}, {3, 0, 0, "The benches agree"}, {0, 0, 2, "Undecided: these readings do not tell"},
		{1, 0, 1, "One method agrees and one is undecided"}, {2, 1, 0, "Two methods agree and one method differs"}, {0, 2, 2, "Two methods differ and two are undecided"}} {
		if got := AgreeHead(c.same, c.differ, c.open); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

// A largest difference whose interval leaves 0 out may still be chance, since it is the largest of several: the
// sentence says so, and only then.
func TestAgreeSaysWhyALargeDifferenceIsNone(t *testing.T) {
	for en, why := range map[float64]bool{1.2: true, -1.2: true, 0.9: false} {
		at := choose.AgreementAt{Level: 2, Difference: num.Number(en), Low: num.Number(en - 1), High: num.Number(en + 1), En: num.Number(en)}
		g := choose.Agreement{Method: "Card", Dilution: 1, Of: "all", Levels: []choose.AgreementAt{{Level: 1}, at, {Level: 4}}, Verdict: assess.Undecided}
		g.Matrix = "salt water"
		if got := AgreeSays(g, unit.Scale{Unit: "mg/L"}); !strings.HasPrefix(got, "Card in salt water: ") || strings.Contains(got, "of 3 knowns the largest may be so by chance") != why {
			t.Errorf("E_n %g: %s", en, got)
		}
	}
}

// What to test next names the water where the method was tried in several.
func TestNextSaysInWhichWater(t *testing.T) {
	x := choose.Experiment{Method: "Card", Matrix: "salt water", Need: "hold", PSettles: 0.9, Even: 0.9, Vials: []choose.Vials{{Method: "Card", Dilution: 1, Level: 2, Readings: 4}}}
	for waters, named := range map[int]bool{1: false, 2: true} {
		if x.Waters = waters; strings.Contains(NextSays(nil, x), "by Card in salt water would settle") != named {
			t.Errorf("%d waters: %s", waters, NextSays(nil, x))
		}
	}
}
