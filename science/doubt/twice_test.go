package doubt

import (
	"testing"

	"knownwater"
)

// A table of which every row stands twice is asked about as one, by its first method; where one method's rows do, that
// one; with too few that differ, or a row that stands once, nothing.
func TestRowsThatStandTwice(t *testing.T) {
	m, card := display(), knownwater.Method{Name: "N", Kind: knownwater.Display, Resolution: 0.1}
	times := func(of knownwater.Method, count int, levels map[float64][]float64) Readings {
		obs := shows(levels)
		for i := range obs {
			obs[i].Method, obs[i].Count = of.Name, count
			obs[i].Also = []int{3, 4, 5}[:min(count-1, 3)]
		}
		return Readings{Method: of, Obs: obs}
	}
	differ := map[float64][]float64{1: {1, 1.1, 1.2}, 2: {2, 2.1, 2.2}, 5: {5, 5.1, 5.2}, 9: {9, 9.1, 9.2}} // 8 besides the first of each
	few := map[float64][]float64{1: {1, 1.1, 1.2}, 2: {2, 2.1, 2.2}, 5: {5, 5.1, 5.2}, 9: {9, 9.1}}
	steady := map[float64][]float64{1: {1}, 2: {2}, 5: {5}}
	vials := map[float64][]float64{1: {1, 1, 1, 1, 1, 1}, 2: {2, 2, 2, 2, 2, 2}} // six of one answer each
	uneven := times(card, 2, few)
	uneven.Obs[0].Count = 3
	tank := times(m, 2, steady)
	tank.Matrix, tank.Obs[0].Count = "tank", 1
	for i := range tank.Obs {
		tank.Obs[i].Matrix = tank.Matrix
	}
	for _, x := range []struct {
		name string
		all  []Readings
		of   []string // methods that are asked about, "" the table
		n    float64
	}{
		{"twice", []Readings{times(m, 2, differ)}, []string{"M"}, 24},
		{"four times", []Readings{times(m, 4, differ)}, []string{"M"}, 48},
		{"once", []Readings{times(m, 1, differ)}, nil, 0},
		{"three times", []Readings{times(m, 3, differ)}, nil, 0},
		{"few of them differ", []Readings{times(m, 2, few)}, nil, 0},
		{"two methods", []Readings{times(m, 2, differ), times(card, 2, steady)}, []string{""}, 30},
		{"two methods that differ in enough together", []Readings{times(m, 2, few), times(card, 2, few)}, []string{""}, 44},
		{"one of two methods", []Readings{times(m, 1, differ), times(card, 2, differ)}, []string{"N"}, 24},
		{"vials of one answer each", []Readings{times(m, 2, vials)}, nil, 0},
		{"the other one not evenly", []Readings{times(m, 2, differ), uneven}, []string{"M"}, 24},
		{"another water not evenly", []Readings{times(m, 2, differ), tank}, []string{"M"}, 24},
		{"the other one steady", []Readings{times(m, 1, differ), times(card, 2, steady)}, nil, 0},
	} {
		var trial knownwater.Trial
		for _, r := range x.all {
			trial.Observations = append(trial.Observations, r.Obs...)
		}
		var asked []Question
		for _, s := range Sights(trial.Scale, x.all) {
			s.look()
			asked = append(asked, s.askTwice()...)
		}
		if len(asked) != len(x.of) {
			t.Errorf("%s: %+v", x.name, asked)
			continue
		}
		for i, q := range asked {
			if q.Method != x.of[i] || float64(q.Says.Numbers["readings"][0]) != x.n {
				t.Errorf("%s: %q, %v", x.name, q.Method, q.Says.Numbers)
			}
			for k, o := range q.Mends[0](trial).Observations {
				was := trial.Observations[k]
				want := was.Count
				if q.Method == "" || q.Method == o.Method && q.Matrix == o.Matrix {
					want /= 2
				}
				if o.Count != want || want < was.Count && len(o.Also) != min(len(was.Also), want-1) || want == was.Count && len(o.Also) != len(was.Also) {
					t.Errorf("%s: %d of %d times, rows %v of %v", x.name, o.Count, was.Count, o.Also, was.Also)
				}
			}
		}
	}
}
