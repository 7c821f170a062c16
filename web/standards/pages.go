// Package standards has the pages of known water: the shelf, planning standards and making them,
// comparing two stocks.
package standards

import (
	"embed"
	"html/template"

	"knownwater/bench/standards"
	"knownwater/science/known"
	"knownwater/web/guard"
	"knownwater/web/page"
	"knownwater/wording"
)

//go:embed *.html
var files embed.FS

// Pages are the pages of this subject.
type Pages struct {
	*page.Site
}

// New adds their templates to the site.
func New(s *page.Site) (*Pages, error) {
	return &Pages{s}, s.Add(files, funcs)
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Owner("GET /knowns", s.knowns)
	at.Owner("GET /knowns/shelf/new", s.newItem)
	at.Owner("POST /knowns/shelf/new", s.saveItem)
	at.Owner("GET /knowns/shelf/{id}", s.item)
	at.Owner("POST /knowns/shelf/{id}", s.saveItem)
	at.Owner("POST /knowns/shelf/{id}/retire", s.retireItem)
	at.Owner("POST /knowns/shelf/{id}/bottle", s.weighBottle)
	at.Owner("POST /knowns/shelf/{id}/additions", s.additions)
	at.Owner("GET /knowns/plan", s.planStandards)
	at.Owner("POST /knowns/plan", s.lookForStandards)
	at.Owner("GET /knowns/sets/{id}", s.set)
	at.Owner("GET /knowns/sets/{id}/sheet", s.standardsSheet)
	at.Owner("GET /knowns/sets/{id}/made", s.made)
	at.Owner("POST /knowns/sets/{id}/made", s.writeDown)
	at.Owner("POST /knowns/sets/{id}/retire", s.retireSet)
	at.Owner("GET /knowns/compare", s.compare)
	at.Owner("POST /knowns/compare", s.compareStocks)
}

// funcs are what only these pages call.
var funcs = template.FuncMap{
	"backgroundField": background,
	"deviceText":      func(language string, d *standards.DeviceSpec) string { return deviceWords(wording.In(language), *d) },
	"levelOf":         levelWords,
	"stocksOf":        standards.SetSpec.StockWords,
	"standardsTable": func(rows []standardView, axis template.HTML, planned bool) standardsTable {
		return standardsTable{rows, axis, planned}
	},
	"verdictClass": verdictClass,
}

// verdictClass is the class that colours a verdict on two stocks.
func verdictClass(a known.Agreement) string {
	return map[known.Agreement]string{known.Agree: "within", known.Undecided: "undecided", known.Disagree: "outside"}[a]
}
