package trials

import (
	"crypto/sha256"

	"knownwater/bench/store"
	"knownwater/science/posterior"
)

// fits are what methods were fitted to, of whatever trial of this process: who leaves out a reading of one
// method, answers a question or publishes waits for that method alone.
var fits = store.NewMemo[[sha256.Size]byte](mostDraws, func(f fitted) int { return f.draws })

// mostDraws are the numbers that the remembered fits may hold together, 32 MB of them.
const mostDraws = 4_000_000

// mostCells are the cells up to which a fit is worth its name: of so many it takes as long as walking.
const mostCells = 5_000

type fitted struct {
	of    *posterior.Posterior
	err   error
	draws int
}

// Fit is posterior.Fit, remembered.
func Fit(d posterior.Data) (*posterior.Posterior, error) {
	if len(d.Cells) > mostCells {
		return posterior.Fit(d)
	}
	f := fits.Of(d.Digest(), func() (f fitted) {
		f.of, f.err = posterior.Fit(d)
		if f.err == nil {
			f.draws = numbers(d, f.of)
		}
		return f
	})
	return f.of, f.err
}

// numbers are about as many as a posterior's draws hold.
func numbers(d posterior.Data, of *posterior.Posterior) int {
	each := 2 * d.Groups
	for _, f := range d.Factors {
		if each++; !f.Nested {
			each += f.Members
		}
	}
	return each * (of.Wide.Len() + of.Form.Len())
}
