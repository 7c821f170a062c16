package trials

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"testing"

	"knownwater"
	"knownwater/demo"
	"knownwater/science/assess"
	"knownwater/science/posterior"
)

// Findings come out alike whether their fits are remembered or not, whoever asks first; a reading left out
// has its own method fitted anew and no other; and nobody writes into what is remembered.
func TestFitsAreRemembered(t *testing.T) {
	whole, err := demo.Trial(1)
	if err != nil {
		t.Fatal(err)
	}
	read := func(o knownwater.Observation) bool {
		return (o.Method == "Dogwood" || o.Method == "Elm") && o.Level < 4
	}
	whole.Observations = slices.DeleteFunc(whole.Observations, func(o knownwater.Observation) bool { return !read(o) })
	last := slices.IndexFunc(whole.Observations, func(o knownwater.Observation) bool { return o.Method == "Elm" })
	less := whole
	less.Observations = slices.Delete(slices.Clone(whole.Observations), last, last+1)

	var given []*posterior.Posterior
	printed := map[*posterior.Posterior][sha256.Size]byte{}
	print := func(p *posterior.Posterior) [sha256.Size]byte {
		return sha256.Sum256(fmt.Appendf(nil, "%v %v %v", *p.Wide, *p.Form, p))
	}
	o := assess.Options{Seed: 1, Brief: true, Fit: func(d posterior.Data) (*posterior.Posterior, error) {
		p, err := Fit(d)
		if err == nil {
			given = append(given, p)
		}
		return p, err
	}}
	run := func(d knownwater.Trial, o assess.Options) string {
		text, err := json.Marshal(assess.Run(d, o))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	in := func(d knownwater.Trial) (fresh int) {
		given = nil
		was := len(printed)
		run(d, o)
		for _, p := range given {
			if is, seen := printed[p]; seen && is != print(p) {
				t.Error("somebody wrote into a fit that is remembered")
			}
			printed[p] = print(p)
		}
		return len(printed) - was
	}
	first := in(whole)
	if again := in(whole); first < 2 || again != 0 {
		t.Errorf("%d fits at first, %d when asked again", first, again)
	}
	if fresh := in(less); fresh < 1 || fresh > first-1 {
		t.Errorf("a reading of one method left out: %d of %d fits anew", fresh, first)
	}
	if run(less, o) != run(less, assess.Options{Seed: 1, Brief: true}) {
		t.Error("remembered fits give other findings")
	}
}
