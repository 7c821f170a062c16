package web

import (
	"net/http"

	"knownwater/bench"
)

// routes names every page. "anyone" may be asked by somebody not signed in,
// "reader" needs a paired phone or a sign-in, "owner" the owner.
func (s *Server) routes(m *http.ServeMux) {
	anyone := func(pattern string, h http.HandlerFunc) { m.HandleFunc(pattern, limitBody(maxForm, h)) }
	at := func(role bench.Role, max int64) func(string, http.HandlerFunc) {
		return func(pattern string, h http.HandlerFunc) { m.HandleFunc(pattern, limitBody(max, s.identify(role, h))) }
	}
	reader, owner := at(bench.Reader, maxForm), at(bench.Owner, maxForm)

	anyone("GET /sign-in", s.signInPage)
	anyone("POST /sign-in", s.signIn)
	anyone("GET /pair/{token}", s.pairPage)
	anyone("POST /pair/{token}", s.pair)
	reader("POST /sign-out", s.signOut)
	reader("POST /me", s.chooseMe)

	reader("GET /{$}", s.today)
	reader("GET /trials", s.trials)
	reader("GET /trials/{id}", s.trial)
	reader("GET /trials/{id}/findings", s.findings)
	reader("GET /trials/{id}/mine", s.mine)
	reader("POST /trials/{id}/mine", s.correctMine)
	reader("GET /trials/{id}/run", s.run)
	reader("GET /trials/{id}/run.json", s.runJSON)
	at(bench.Reader, maxBatch)("POST /trials/{id}/entries", s.entries)
	at(bench.Reader, maxPhoto)("POST /photos", s.keepPhoto)
	reader("GET /photos/{name}", s.photo)

	owner("GET /methods", s.methods)
	owner("GET /methods/new", s.newMethod)
	owner("POST /methods/new", s.saveMethod)
	owner("GET /methods/{id}", s.method)
	owner("GET /methods/{id}/change", s.changeMethod)
	owner("POST /methods/{id}/change", s.saveMethod)
	owner("POST /methods/{id}/retire", s.retireMethod)
	owner("POST /methods/{id}/lots", s.saveLot)

	owner("GET /knowns", s.knowns)
	owner("GET /knowns/shelf/new", s.newItem)
	owner("POST /knowns/shelf/new", s.saveItem)
	owner("GET /knowns/shelf/{id}", s.item)
	owner("POST /knowns/shelf/{id}", s.saveItem)
	owner("POST /knowns/shelf/{id}/retire", s.retireItem)
	owner("POST /knowns/shelf/{id}/bottle", s.weighBottle)
	owner("POST /knowns/shelf/{id}/additions", s.additions)
	owner("GET /knowns/plan", s.planStandards)
	owner("POST /knowns/plan", s.lookForStandards)
	owner("GET /knowns/sets/{id}", s.set)
	owner("GET /knowns/sets/{id}/sheet", s.standardsSheet)
	owner("GET /knowns/sets/{id}/made", s.made)
	owner("POST /knowns/sets/{id}/made", s.writeDown)
	owner("POST /knowns/sets/{id}/retire", s.retireSet)
	owner("POST /knowns/sets/{id}/trial", s.trialWithSet)
	owner("GET /knowns/compare", s.compare)
	owner("POST /knowns/compare", s.compareStocks)

	owner("GET /curves", s.curves)
	owner("GET /curves/new", s.newCurve)
	at(bench.Owner, maxTable)("POST /curves/new", s.saveCurve)
	owner("GET /curves/scan", s.newScan)
	at(bench.Owner, maxTable)("POST /curves/scan", s.scanSpectra)
	at(bench.Owner, maxTable)("POST /curves/scan/curve", s.curveFromScan)
	owner("GET /curves/matrix", s.matrix)
	owner("POST /curves/matrix", s.compareWaters)
	owner("GET /curves/additions", s.standardAdditions)
	owner("POST /curves/additions", s.estimateAdditions)
	owner("GET /curves/{id}", s.curve)
	owner("GET /curves/{id}/change", s.changeCurve)
	at(bench.Owner, maxBatch)("POST /curves/{id}/change", s.saveCurve)
	owner("POST /curves/{id}/points", s.usePoint)
	owner("POST /curves/{id}/adopt", s.adoptCurve)
	owner("POST /curves/{id}/retire", s.retireCurve)
	reader("GET /curves/{id}/read", s.readCurveSignal)
	reader("POST /curves/{id}/read", s.keepResult)
	reader("GET /curves/{id}/results/{result}", s.result)
	reader("POST /curves/{id}/results/{result}", s.changeResult)
	owner("GET /curves/{id}/table", s.curveTable)
	owner("GET /curves/{id}/recheck", s.recheckCurve)
	owner("POST /curves/{id}/recheck", s.keepRecheck)

	owner("GET /needs", s.needs)
	owner("GET /needs/{id}", s.needs)
	owner("POST /needs", s.saveNeed)

	owner("POST /trials", s.newTrial)
	owner("GET /trials/{id}/plan", s.plan)
	owner("POST /trials/{id}/plan", s.savePlan)
	owner("POST /trials/{id}/drop", s.dropTrial)
	owner("GET /trials/{id}/labels", s.labels)
	owner("GET /trials/{id}/sheet", s.sheet)
	owner("POST /trials/{id}/preparation", s.preparation)
	owner("POST /trials/{id}/key", s.openKey)
	owner("POST /trials/{id}/finish", s.finish)
	owner("GET /trials/{id}/readings", s.readings)
	owner("GET /trials/{id}/readings/{reading}", s.reading)
	owner("POST /trials/{id}/readings/{reading}", s.judgeReading)
	owner("GET /trials/{id}/publish", s.publish)
	owner("GET /trials/{id}/report.html", s.reportPage)
	owner("GET /trials/{id}/findings.json", s.findingsJSON)
	owner("GET /trials/{id}/readings.csv", s.readingsCSV)

	owner("GET /people", s.people)
	owner("POST /people", s.savePerson)
	owner("GET /people/{id}", s.people)
	owner("POST /people/{id}/pair", s.offerPairing)
	owner("POST /phones/{id}/end", s.endSession)
	owner("POST /passphrase", s.setPassphrase)

	owner("GET /copies", s.copies)
	owner("POST /copies/backup", s.backup)
	owner("POST /copies/export", s.export)
	at(bench.Owner, maxImport)("POST /copies/import", s.importCopy)
	at(bench.Owner, maxImport)("POST /copies/readings", s.bringIn)

	anyone("GET /report.css", s.style)
	m.HandleFunc("/", s.notFound)
}

func (s *Server) notFound(w http.ResponseWriter, r *http.Request) {
	s.refuse(w, r, http.StatusNotFound, "There is no such page on this bench.", "Begin again at today’s page.")
}
