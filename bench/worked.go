package bench

import (
	"crypto/sha256"
	"sync"
	"time"

	"knownwater/science/known"
)

// worked is what a version of a set comes to. It depends on the description
// alone, so it is worked out once for each description and remembered under the
// digest of its text: a version that was rolled back can leave nothing wrong
// behind. What is remembered is only read.
type worked struct {
	values known.Set
	taken  []takenFrom
}

// takenFrom is what one made solution took from a stock.
type takenFrom struct {
	item int64
	kept time.Time
	ml   float64
}

// mostWorked is how many sets are remembered; then all are forgotten.
const mostWorked = 1000

var workedOut = struct {
	sync.Mutex
	of map[[sha256.Size]byte]*worked
}{of: map[[sha256.Size]byte]*worked{}}

// workOut is what the set, whose JSON is text, comes to.
func workOut(text string, s SetSpec) *worked {
	key := sha256.Sum256([]byte(text))
	workedOut.Lock()
	w := workedOut.of[key]
	workedOut.Unlock()
	if w != nil {
		return w
	}
	w = &worked{s.evaluate(), s.taken()}
	workedOut.Lock()
	defer workedOut.Unlock()
	if len(workedOut.of) >= mostWorked {
		clear(workedOut.of)
	}
	workedOut.of[key] = w
	return w
}
