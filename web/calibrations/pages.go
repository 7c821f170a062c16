// Package calibrations has the pages of calibrations: curves, what they give back, the signals read
// through them, re-checks, and what is looked at before and beside a curve.
package calibrations

import (
	"embed"
	"html/template"

	"knownwater/report"
	"knownwater/web/guard"
	"knownwater/web/page"
)

//go:embed *.html
var files embed.FS

// Pages are the pages of this subject.
type Pages struct {
	*page.Site
}

// New adds their templates to the site.
func New(s *page.Site) (*Pages, error) {
	return &Pages{s}, s.Add(files, template.FuncMap{
		"recheckText":  recheckWords,
		"recheckSays":  report.RecheckWords,
		"matrixSays":   report.MatrixWords,
		"additionsSay": report.AdditionsWords,
		"scanSays":     report.ScanWords,
	})
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Reader("GET /read", s.read)
	at.Reader("POST /read", s.keep)
	at.UpTo(guard.MaxBatch).Reader("POST /read/entries", s.keepWaiting)

	at.Owner("GET /calibrations", s.calibrations)
	at.Owner("GET /trials/{id}/adopt", s.adopt)
	at.Owner("POST /trials/{id}/adopt", s.adoptRecord)
	at.Owner("GET /records/{id}", s.record)
	at.Owner("POST /records/{id}/adopt", s.adoptVersion)
	at.Owner("POST /records/{id}/retire", s.retireRecord)
	at.Reader("GET /records/{id}/results/{result}", s.result)
	at.Reader("POST /records/{id}/results/{result}", s.changeResult)

	at.Owner("GET /curves", s.curves)
	at.Owner("GET /curves/new", s.newCurve)
	at.UpTo(guard.MaxTable).Owner("POST /curves/new", s.saveCurve)
	at.Owner("GET /curves/scan", s.newScan)
	at.UpTo(guard.MaxTable).Owner("POST /curves/scan", s.scanSpectra)
	at.UpTo(guard.MaxTable).Owner("POST /curves/scan/curve", s.curveFromScan)
	at.Owner("GET /curves/matrix", s.matrix)
	at.Owner("POST /curves/matrix", s.compareWaters)
	at.Owner("GET /curves/additions", s.standardAdditions)
	at.Owner("POST /curves/additions", s.estimateAdditions)
	at.Owner("GET /curves/{id}", s.curve)
	at.Owner("GET /curves/{id}/change", s.changeCurve)
	at.UpTo(guard.MaxBatch).Owner("POST /curves/{id}/change", s.saveCurve)
	at.Owner("POST /curves/{id}/points", s.usePoint)
	at.Owner("POST /curves/{id}/adopt", s.adoptCurve)
	at.Owner("POST /curves/{id}/retire", s.retireCurve)
	at.Reader("GET /curves/{id}/read", s.readCurveSignal)
	at.Reader("POST /curves/{id}/read", s.keepResult)
	at.Reader("GET /curves/{id}/results/{result}", s.result)
	at.Reader("POST /curves/{id}/results/{result}", s.changeResult)
	at.Owner("GET /curves/{id}/table", s.curveTable)
	at.Owner("GET /curves/{id}/recheck", s.recheckCurve)
	at.Owner("POST /curves/{id}/recheck", s.keepRecheck)
}
