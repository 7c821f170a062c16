// Package trials has the pages of trials: planning, sealing, reading at the bench, findings and
// their report.
package trials

import (
	"embed"
	"html/template"

	"knownwater/bench/trials"
	"knownwater/web/guard"
	"knownwater/web/page"
)

//go:embed *.html
var files embed.FS

// Pages are the pages of this subject.
type Pages struct {
	*page.Site
	underway page.Underway[trials.TrialFindings]
}

// New adds their templates to the site.
func New(s *page.Site) (*Pages, error) {
	return &Pages{Site: s}, s.Add(files, template.FuncMap{"sourceText": sourceWords})
}

// Routes names every address of this subject.
func (s *Pages) Routes(at guard.Paths) {
	at.Reader("GET /trials", s.trials)
	at.Reader("GET /trials/{id}", s.trial)
	at.Reader("GET /trials/{id}/findings", s.findings)
	at.Reader("GET /trials/{id}/mine", s.mine)
	at.Reader("POST /trials/{id}/mine", s.correctMine)
	at.Reader("GET /trials/{id}/run", s.run)
	at.Reader("GET /trials/{id}/run.json", s.runJSON)
	at.UpTo(guard.MaxBatch).Reader("POST /trials/{id}/entries", s.entries)
	at.UpTo(guard.MaxPhoto).Reader("POST /photos", s.keepPhoto)
	at.Reader("GET /photos/{name}", s.photo)

	at.Owner("POST /trials", s.newTrial)
	at.Owner("POST /knowns/sets/{id}/trial", s.trialWithSet)
	at.Owner("GET /trials/{id}/plan", s.plan)
	at.Owner("POST /trials/{id}/plan", s.savePlan)
	at.Owner("POST /trials/{id}/drop", s.dropTrial)
	at.Owner("POST /trials/{id}/place", s.place)
	at.Owner("POST /trials/{id}/place/undo", s.unplace)
	at.Owner("GET /trials/{id}/labels", s.labels)
	at.Owner("GET /trials/{id}/sheet", s.sheet)
	at.Owner("POST /trials/{id}/preparation", s.preparation)
	at.Owner("POST /trials/{id}/key", s.openKey)
	at.Owner("POST /trials/{id}/finish", s.finish)
	at.Owner("GET /trials/{id}/readings", s.readings)
	at.Owner("GET /trials/{id}/readings/{reading}", s.reading)
	at.Owner("POST /trials/{id}/readings/{reading}", s.judgeReading)
	at.Owner("POST /trials/{id}/answers", s.answer)
	at.Owner("GET /trials/{id}/publish", s.publish)
	at.Owner("GET /trials/{id}/report.html", s.reportPage)
	at.Owner("GET /trials/{id}/pack.zip", s.pack)
	at.Owner("GET /trials/{id}/summary/{shape}", s.poster)
	at.Owner("GET /trials/{id}/findings.json", s.findingsJSON)
	at.Owner("GET /trials/{id}/findings.csv", s.findingsFile)
	at.Owner("GET /trials/{id}/findings.xlsx", s.findingsFile)
	at.Owner("GET /trials/{id}/figures.zip", s.findingsFile)
	at.Owner("GET /trials/{id}/readings.csv", s.readingsCSV)
	at.Anyone("GET /report.css", s.style)
}
