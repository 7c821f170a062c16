package known

import (
	"fmt"
	"math"
	"sort"
)

// Alternative is another plan and what it would change.
type Alternative struct {
	What  string // "without scale", "with a 1 mL one-mark pipette, class A"
	Plan  Plan
	Ratio float64 // its geometric mean of u/value over that of the plan it is compared with
}

// NextBest is the best plan that does without something the plan leans on: one
// of its devices, its stock, or its intermediates; nil if there is none. It
// tells how much hangs on that one thing.
func NextBest(s Shelf, levels []float64, plan Plan) *Alternative {
	var best *Alternative
	try := func(what string, changed Shelf) {
		other, faults := Search(changed, levels)
		if faults != nil || best != nil && other.Score >= best.Plan.Score {
			return
		}
		best = &Alternative{What: what, Plan: other, Ratio: other.RelativeU / plan.RelativeU}
	}
	for _, name := range plan.devices() {
		try("without "+name, s.without(name))
	}
	if plan.intermediates() > 0 {
		direct := s
		direct.Limits.Intermediates = plan.intermediates() - 1
		try(fmt.Sprintf("with %d intermediates at most", plan.intermediates()-1), direct)
	}
	if len(s.Stocks) > 1 {
		try("from another stock than "+plan.Stock, s.withoutStock(plan.Stock))
	}
	return best
}

// devices are the names of the devices that a plan uses, in order of use.
func (p Plan) devices() []string {
	var out []string
	seen := map[string]bool{"": true}
	for _, x := range p.Preparation {
		for _, name := range []string{x.Take.Device, x.Make.Device} {
			if !seen[name] {
				out = append(out, name)
			}
			seen[name] = true
		}
	}
	return out
}

func (p Plan) intermediates() int {
	n := 0
	for _, x := range p.Preparation {
		if !x.Standard {
			n++
		}
	}
	return n
}

// without is the shelf without a device; stocks that were weighed with it stay
// known, as made-up values, so the device is only kept from the plan.
func (s Shelf) without(device string) Shelf {
	out := s
	out.Devices = nil
	for _, d := range s.Devices {
		if d.Name != device || s.weighedWith(device) {
			out.Devices = append(out.Devices, d)
		}
	}
	return out
}

// weighedWith says whether a stock's record needs the device.
func (s Shelf) weighedWith(device string) bool {
	for _, st := range s.Stocks {
		if st.Salt != nil && (st.Salt.Flask == device || st.Salt.Scale == device) {
			return true
		}
	}
	return false
}

func (s Shelf) withoutStock(name string) Shelf {
	out := s
	out.Stocks = nil
	for _, st := range s.Stocks {
		if st.Name != name {
			out.Stocks = append(out.Stocks, st)
		}
	}
	return out
}

// ForSale are devices worth trying out on paper: usual sizes, with the limits
// of their standards.
var ForSale = []Device{
	{Name: "a 100 mL flask, class A", Kind: Flask, Nominal: 100, Class: "A"},
	{Name: "a 250 mL flask, class A", Kind: Flask, Nominal: 250, Class: "A"},
	{Name: "a 500 mL flask, class A", Kind: Flask, Nominal: 500, Class: "A"},
	{Name: "a 1000 mL flask, class A", Kind: Flask, Nominal: 1000, Class: "A"},
	{Name: "a 1 mL one-mark pipette, class A", Kind: OneMark, Nominal: 1, Class: "A"},
	{Name: "a 5 mL one-mark pipette, class A", Kind: OneMark, Nominal: 5, Class: "A"},
	{Name: "a 10 mL one-mark pipette, class A", Kind: OneMark, Nominal: 10, Class: "A"},
	{Name: "a 25 mL one-mark pipette, class A", Kind: OneMark, Nominal: 25, Class: "A"},
	{Name: "a 0.1 to 1 mL piston pipette", Kind: Piston, Nominal: 1, Smallest: 0.1},
	{Name: "a 0.5 to 5 mL piston pipette", Kind: Piston, Nominal: 5, Smallest: 0.5},
	{Name: "a 1 to 10 mL piston pipette", Kind: Piston, Nominal: 10, Smallest: 1},
	{Name: "a 500 g scale with 0.01 g steps", Kind: Scale, Nominal: 500, Step: 0.01},
	{Name: "a 200 g scale with 0.001 g steps", Kind: Scale, Nominal: 200, Step: 0.001},
}

// Buying is what each device of ForSale would gain, the greatest gain first;
// those that gain less than 1 % of u are left out. plan is the best one now; a
// shelf on which no plan was found is given plan.RelativeU 0, and every device
// that makes one possible counts, by its own u.
func Buying(s Shelf, levels []float64, plan Plan) []Alternative {
	var out []Alternative
	for _, d := range ForSale {
		bought := s
		bought.Devices = append(append([]Device(nil), s.Devices...), d)
		other, faults := Search(bought, levels)
		if faults != nil || !uses(other, d.Name) {
			continue
		}
		ratio := other.RelativeU
		if plan.RelativeU > 0 {
			ratio /= plan.RelativeU
			if ratio > 0.99 {
				continue
			}
		}
		out = append(out, Alternative{What: "with " + d.Name, Plan: other, Ratio: ratio})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Ratio < out[j].Ratio })
	return out
}

func uses(p Plan, device string) bool {
	for _, name := range p.devices() {
		if name == device {
			return true
		}
	}
	return false
}

// BackgroundBound says whether better glassware would help at all: the share
// of the variance of the levels (their mean) that is the background's.
func BackgroundBound(p Plan) float64 {
	total, n := 0.0, 0.0
	for _, st := range p.Set.Standards {
		if st.Solution.From == "" {
			continue
		}
		for _, share := range st.Value.Parts.ByKind() {
			if share.Kind == KindBackground {
				total += share.Share
			}
		}
		n++
	}
	return total / math.Max(n, 1)
}
