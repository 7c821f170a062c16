package doubt

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"knownwater"
	"knownwater/science/note"
	"knownwater/science/num"
)

// Moment is when a known of a level was read, by any clock. Vial tells what was read again from what is another
// vial; empty: nobody says, and it is one of its own.
type Moment struct {
	Level float64
	At    int64
	Vial  string
}

// nearlyInOrder is the rank correlation from which on what changes during a sitting is mostly taken for the levels' own.
const nearlyInOrder = 0.8

// byChance is how often t may tell of an order by chance; of few vials in several sessions it comes to three times that.
const byChance = 0.005

// InOrder says whether the knowns of one or more sittings (a session of one reader) were read in the order of their
// levels, or nearly so: where |ρ| ≥ 0.8 and an order by chance would lie so far out in at most 1 of 200
// (t = ρ√(f/(1 − ρ²)), f = vials − sittings − 1: whoever else reads a vial follows the same order, and says nothing
// anew); never with fewer than three levels, or with f below 4, as five fall in order by chance in 2 of 120.
func InOrder(sittings [][]Moment) bool {
	rho, free := along(sittings)
	if math.Abs(rho) < nearlyInOrder || free < 4 {
		return false
	}
	t := math.Inf(1)
	if left := 1 - rho*rho; left > 1e-12 {
		t = math.Abs(rho) * math.Sqrt(free/left)
	}
	return 2*num.TCDF(-t, free) < byChance
}

// along is Spearman's rank correlation of time and level, each sitting about its own middle, so that one that rises and
// one that falls make up for each other, and its degrees of freedom:
//
//	ρ = Σ r·q ÷ √(Σ r²·Σ q²),  r and q a moment's and a level's rank less the sitting's mean rank
//
// 1 rising, −1 falling, no unit (Spearman 1904; middle ranks for ties; from memory); 0 with fewer than three levels.
func along(sittings [][]Moment) (rho, free float64) {
	var both, times, levels float64
	different, vials := map[float64]bool{}, map[string]bool{}
	for _, s := range sittings {
		r := ranks(s, func(m Moment) float64 { return float64(m.At) })
		q := ranks(s, func(m Moment) float64 { return m.Level })
		middle := float64(len(s)-1) / 2
		for i, m := range s {
			both += (r[i] - middle) * (q[i] - middle)
			times += (r[i] - middle) * (r[i] - middle)
			levels += (q[i] - middle) * (q[i] - middle)
			different[m.Level] = true
			if m.Vial == "" || !vials[m.Vial] {
				free++
			}
			vials[m.Vial] = true
		}
		free--
	}
	if len(different) < 3 || times == 0 || levels == 0 {
		return 0, 0
	}
	return both / math.Sqrt(times*levels), free - 1
}

// ranks are 0, 1 … in the order of a value; those of one value share the middle of theirs.
func ranks(s []Moment, of func(Moment) float64) []float64 {
	order := make([]int, len(s))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(of(s[a]), of(s[b])) })
	out := make([]float64, len(s))
	for i := 0; i < len(order); {
		end := i
		for end < len(order) && of(s[order[end]]) == of(s[order[i]]) {
			end++
		}
		for _, at := range order[i:end] {
			out[at] = float64(i+end-1) / 2
		}
		i = end
	}
	return out
}

// AskOrder asks about methods whose knowns were read in the order of their levels: what changed meanwhile, if anything,
// is in the levels, and no computation takes it out again. Such a question holds nothing back.
func AskOrder(t knownwater.Trial) []Question {
	if len(t.InOrder) == 0 {
		return nil
	}
	q := Question{Kind: OfOrder, At: []Place{}, Says: note.New("ask-order").Name("methods", t.InOrder...)}
	q.Key = OfOrder + ": " + strings.Join(t.InOrder, ", ")
	return []Question{q}
}
