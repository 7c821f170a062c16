package calibrations

import (
	"knownwater/science/curve"
)

type fitted struct {
	doc curve.Document
	err error
}

// size is about what a fit takes, in points: one without any takes as much as 20.
func (f fitted) size() int { return 20 + len(f.doc.Points) }

// mostFitted is how many points the remembered fits have together: four hundred
// curves of thirty, some 20 MB.
const mostFitted = 20_000

// Fit is the fit of a version as it stands on the bench. Versions never change, so
// it is remembered: a page that lists many would fit them all again each time. What is read off it must
// not be changed: others read it too.
func (b *Operations) Fit(c Curve) (curve.Document, error) {
	f := b.fits.Of(c.VersionID, func() (f fitted) {
		f.doc, f.err = c.Spec.Fit()
		return f
	})
	return f.doc, f.err
}
