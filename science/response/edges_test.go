package response

import (
	"math"
	"testing"
)

// Starts worked by hand. Where the quadratic is the expansion of a shape its first start is
// that shape; the last is told by the slopes between single answers.
func TestStartsByHand(t *testing.T) {
	const e, s = 0.16, 0.01
	for _, x := range []struct {
		name Name
		q    []float64
		c, y []float64
		want [][]float64
	}{
		// b0 + b1·c − b1·b2·c²; half of c is at 2: first slope 2, whole (7 − 1)/4, so the bend (2 − 1.5)/(4·1.5)
		{Saturating, []float64{1, 2, -0.2}, []float64{0, 2, 4}, []float64{1, 5, 7}, [][]float64{{1, 2, 0.1}, {1, 2 + 2*0.2*4, 0.25}, {1, 2, 1. / 12}}},
		// the first level is not nothing: both slopes are counted from it, and lead back to nothing
		{Saturating, []float64{1, 2, -0.2}, []float64{1, 3, 5}, []float64{3, 7, 9}, [][]float64{{1, 2, 0.1}, {1, 4, 0.2}, {1, 2, (2 - 1.5) / (5 * 1.5)}}},
		// bends the other way by more than half a range: no start from the expansion; a rising slope gives a tenth
		{Saturating, []float64{1, 1, 0.2}, []float64{0, 2, 4}, []float64{1, 3, 9}, [][]float64{{1, 1 + 2*0.2*4, 0.25}, {1, 1, 0.1 / 4}}},
		{Saturating, []float64{1, 1, 0.1}, []float64{0, 2, 4}, []float64{1, 3, 9}, [][]float64{{1, 1, -0.1}, {1, 1 + 2*0.1*4, 0.25}, {1, 1, 0.1 / 4}}},
		{Saturating, []float64{1, 0, -0.1}, []float64{0, 2, 4}, []float64{1, 3, 9}, [][]float64{{1, 0.8, 0.25}, {1, 1, 0.1 / 4}}},
		// answers that fall as a whole say nothing of a bend
		{Saturating, []float64{1, 0, -0.1}, []float64{0, 2, 4}, []float64{1, 3, 0}, [][]float64{{1, 0.8, 0.25}, {1, 1, 0.1 / 4}}},
		// b0 + e/(1 + s)·c − ½·e²·ln 10·s/(1 + s)²·c²
		{StrayLight, []float64{0.02, e / (1 + s), -0.5 * e * e * math.Ln10 * s / ((1 + s) * (1 + s))}, []float64{0, 2, 8}, []float64{0.02, 0.32, 1.02},
			[][]float64{{0.02, e, s}, {0.02, e / (1 + s) * 1.2, 0.5 * 0.1}, {0.02, 0.15, 0.01}}},
		{StrayLight, []float64{0.02, 0.1, 0.1}, []float64{1, 3, 9}, []float64{0.12, 0.42, 1.02}, // bends up: as little stray light as there is
			[][]float64{{0.02, 0.1 * 1.0001, 1e-4}, {0.02, 1. / 9 * 1.2, 0.05}, {0.12 - 0.15, 0.15, 0.01}}},
		{StrayLight, []float64{0.02, 0.1, -1}, []float64{0, 2, 8}, []float64{0.02, 0.32, 1.02}, [][]float64{{0.02, 0.1 * 1.2, 0.2}, {0.02, 0.125 * 1.2, 0.05}, {0.02, 0.15, 0.01}}},
		{StrayLight, []float64{0.02, -0.1, 0.1}, []float64{0, 2, 8}, []float64{0.02, 0.32, 1.02}, [][]float64{{0.02, 0.125 * 1.2, 0.05}, {0.02, 0.15, 0.01}}},
		// the upper half rises by 2, and meets the first answer at 10 − 16/2
		{DeadZone, []float64{1, 1, 0.1}, []float64{0, 5, 10}, []float64{1, 7, 17}, [][]float64{{1, 16 / 9., 1}, {1, 16 / 7.5, 2.5}, {1, 2, 2}}},
		// it meets it beyond half of what was tried, or before a hundredth: a tenth then
		{DeadZone, []float64{1, 1, 0.1}, []float64{0, 5, 10}, []float64{1, 1, 17}, [][]float64{{1, 16 / 9., 1}, {1, 16 / 7.5, 2.5}, {1, 3.2, 1}}},
		{DeadZone, []float64{1, 1, 0.1}, []float64{0, 5, 10}, []float64{1, 9, 17}, [][]float64{{1, 16 / 9., 1}, {1, 16 / 7.5, 2.5}, {1, 1.6, 1}}},
		{DeadZone, []float64{1, 1, 0.1}, []float64{0, 5, 10}, []float64{1, 18, 17}, [][]float64{{1, 16 / 9., 1}, {1, 16 / 7.5, 2.5}}},
	} {
		got := Of(x.name).Starts(x.q, x.c, x.y)
		if len(got) != len(x.want) {
			t.Errorf("%s from %v: %v, want %v", x.name, x.y, got, x.want)
			continue
		}
		for i := range got {
			for j := range got[i] {
				if !(math.Abs(got[i][j]-x.want[i][j]) <= 1e-12) {
					t.Errorf("%s from %v: start %d is %v, want %v", x.name, x.y, i, got[i], x.want[i])
				}
			}
		}
	}
}

// What a shape must not be: a share of stray light beyond a fifth or of nothing, a dead zone
// beyond half of what was tried, a reagent that never ran out; and which bends have a cause.
func TestSoundAndCaused(t *testing.T) {
	for _, x := range []struct {
		name  Name
		p     []float64
		sound bool
	}{
		{StrayLight, []float64{0, 0.1, 0.19}, true}, {StrayLight, []float64{0, 0.1, 0.21}, false}, {StrayLight, []float64{0, 0.1, 0}, false}, {StrayLight, []float64{0, -0.1, 0.1}, false},
		{DeadZone, []float64{0, 1, 4.9}, true}, {DeadZone, []float64{0, 1, 5.1}, false}, {DeadZone, []float64{0, 1, 0}, false}, {DeadZone, []float64{0, 1, -1}, false},
		{Saturating, []float64{0, 1, 0.1}, true}, {Saturating, []float64{0, 1, 0}, false}, {Saturating, []float64{0, 1, -0.1}, false},
	} {
		if got := Of(x.name).Sound(x.p, 10); got != x.sound {
			t.Errorf("%s %v: sound %v", x.name, x.p, got)
		}
	}
	for _, s := range All {
		if want := s.Name != Quadratic && s.Name != Cubic; s.Caused != want {
			t.Errorf("%s: a cause %v", s.Name, s.Caused)
		}
		if want := s.Name == StrayLight; s.Light != want {
			t.Errorf("%s: of light %v", s.Name, s.Light)
		}
	}
}

// Far beyond its bend a dead zone is a line, without overflow.
func TestDeadZoneFarOut(t *testing.T) {
	p := []float64{2, 0.5, 0.01}
	if got := Of(DeadZone).At(p, 1000); !(math.Abs(got-(2+0.5*(1000-0.01))) <= 1e-9) {
		t.Errorf("at 1000: %v", got)
	}
}
