package known

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// The branch and bound against trying every combination.
func TestAssignerFindsTheOptimum(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	tight := 0
	for range 300 {
		s := assigner{bestScore: math.Inf(1), picked: make([]int, 4), rest: make([]float64, 5)}
		s.stores = stores{left: map[int]float64{0: 10 + 20*r.Float64(), 1: 10 + 20*r.Float64()}, matrix: 1000, steps: 9 + r.IntN(6)}
		for range 4 {
			var options []option
			score := -5.0
			for range 5 {
				score += r.Float64() // rising, as they are handed over
				options = append(options, option{r.IntN(2), way{score: score, uses: 12 * r.Float64(), matrix: 200, measured: 2 + r.IntN(3)}})
			}
			s.options = append(s.options, options)
		}
		for i := 3; i >= 0; i-- {
			s.rest[i] = s.rest[i+1] + s.options[i][0].way.score
		}
		best, free := exhaustive(s)
		s.descend(0, 0)
		if best > free {
			tight++
		}
		if s.bestScore != best && !(math.Abs(s.bestScore-best) <= 1e-12) {
			t.Fatalf("branch and bound %v, every combination %v", s.bestScore, best)
		}
	}
	if tight < 100 {
		t.Errorf("only %d of 300 cases were short of something", tight)
	}
}

// exhaustive is the best score of all combinations that last, and of all.
func exhaustive(s assigner) (best, free float64) {
	best, free = math.Inf(1), math.Inf(1)
	for code := range 5 * 5 * 5 * 5 {
		score, steps := 0.0, s.stores.steps
		left := map[int]float64{0: s.stores.left[0], 1: s.stores.left[1]}
		for i, c := 0, code; i < 4; i, c = i+1, c/5 {
			o := s.options[i][c%5]
			score += o.way.score
			left[o.from] -= o.way.uses
			steps -= o.way.measured
		}
		free = math.Min(free, score)
		if left[0] >= 0 && left[1] >= 0 && steps >= 0 {
			best = math.Min(best, score)
		}
	}
	return best, free
}

func withoutScales(s Shelf) Shelf {
	for _, d := range s.Devices {
		if d.Kind == Scale && !s.weighedWith(d.Name) {
			s = s.without(d.Name)
		}
	}
	return s
}

// Looking closely around the best of the grid pays where only pipettes are
// there and the background is well known, and never harms.
func TestRefiningPays(t *testing.T) {
	r := rand.New(rand.NewPCG(71, 72))
	gained := 0.0
	for range 30 {
		s := randomShelf(r, 4)
		s.Matrix.Background, s.Matrix.U, s.Limits.SalinityCut = 0.001, 0.0005, 0.2
		s = withoutScales(s)
		levels := []float64{0.9, 2, 4, 7, 11, 16, 22, 29}
		p := newPlanner(s, 0)
		grid := &field{sources: []source{p.root}, targets: levels}
		p.addIntermediates(grid, 0, p.bulk, gridOf(p.root.c, levels[0], p.finely(levels)), levels[0])
		coarse := p.choose(grid)
		plan, faults := Search(s, levels)
		if coarse == nil || faults != nil {
			continue
		}
		if plan.Score > coarse.score+1e-9 {
			t.Errorf("refined %v, grid alone %v", plan.Score, coarse.score)
		}
		gained = math.Max(gained, coarse.score-plan.Score)
	}
	if gained < 0.5 { // 6 % of u at every level
		t.Errorf("refining gains %v at most: it is not worth its code", gained)
	}
}

// The aims within a factor of 1.35, those closer than 0.4 % once, then steps of 2 % from end to end.
func TestAround(t *testing.T) {
	got := around(2, []float64{1, 1.48, 1.49, 1.494, 2, 2.69, 2.71, 5})
	if want := []float64{1.49, 2, 2.69}; !slices.Equal(got[:3], want) {
		t.Errorf("aims %v, want %v", got[:3], want)
	}
	steps := got[3:]
	if want := int(math.Ceil(2 * math.Log(1.35) / math.Log(1.02))); len(steps) != want || math.Abs(steps[0]-2/1.35) > 1e-12 || steps[len(steps)-1] >= 2.7 {
		t.Errorf("%d steps from %g to %g, want %d from 2/1.35 to below 2.7", len(steps), steps[0], steps[len(steps)-1], want)
	}
}

// Of ways only those go that a better one beats in all of source, matrix and measurements.
func TestFrugal(t *testing.T) {
	ways := []option{{0, way{score: 4, uses: 5, matrix: 9, measured: 4}}, {0, way{score: 1, uses: 5, matrix: 10, measured: 3}}, {0, way{score: 2, uses: 5, matrix: 10, measured: 3}},
		{0, way{score: 3, uses: 4, matrix: 11, measured: 3}}, {0, way{score: 5, uses: 6, matrix: 12, measured: 2}}, {0, way{score: 6, uses: 6, matrix: 12, measured: 3}}}
	var left []float64
	for _, o := range frugal(ways) {
		left = append(left, o.way.score)
	}
	if want := []float64{1, 3, 4, 5}; !slices.Equal(left, want) {
		t.Errorf("left are the ways of scores %v, want %v", left, want)
	}
}
