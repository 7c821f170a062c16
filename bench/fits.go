package bench

import (
	"sync"

	"knownwater/science/curve"
)

// fits remembers the fits of versions of curves, which never change. A page that
// lists many would fit them all again each time.
type fits struct {
	mu   sync.Mutex
	kept map[int64]fitted
	used []int64 // oldest first
	size int     // of all that is kept
}

type fitted struct {
	doc curve.Document
	err error
}

// size is about what a fit takes, in points: one without any takes as much as 20.
func (f fitted) size() int { return 20 + len(f.doc.Points) }

// mostFitted is how many points the remembered fits have together: four hundred
// curves of thirty, some 20 MB.
const mostFitted = 20_000

func newFits() *fits { return &fits{kept: map[int64]fitted{}} }

// Fit is the fit of a version as it stands on the bench. What is read off it must
// not be changed: others read it too.
func (b *Bench) Fit(c Curve) (curve.Document, error) {
	f := b.fits
	f.mu.Lock()
	known, ok := f.kept[c.VersionID]
	f.mu.Unlock()
	if ok {
		return known.doc, known.err
	}
	known.doc, known.err = c.Spec.Fit() // without the lock: two at a time may fit the same
	f.mu.Lock()
	defer f.mu.Unlock()
	if again, ok := f.kept[c.VersionID]; ok {
		return again.doc, again.err
	}
	f.kept[c.VersionID], f.used, f.size = known, append(f.used, c.VersionID), f.size+known.size()
	for f.size > mostFitted && len(f.used) > 1 {
		f.size -= f.kept[f.used[0]].size()
		delete(f.kept, f.used[0])
		f.used = f.used[1:]
	}
	return known.doc, known.err
}
