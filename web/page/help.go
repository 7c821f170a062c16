package page

// helpOn is the page of the manual that a page leads to, by its name or else by the part
// of the bench that it belongs to.
func helpOn(name, part string) string {
	for _, key := range []string{name, part} {
		if topic, ok := manual[key]; ok {
			return "/help/" + topic
		}
	}
	return "/help"
}

var manual = map[string]string{
	// by page
	"start": "start", "readings-seen": "start", "plan": "plan", "run": "run", "mine": "run", "sheet": "run", "labels": "run", "preparation": "run",
	"publish": "publish", "findings": "tutorial", "find": "forms", "shown": "language", "curve-scan": "curve-bench", "record": "read", "result": "read", "adopt": "read", "calibrations": "read",
	"checks": "checks", "card": "tonight", "slip": "tonight", "pairing": "phones", "pair": "phones", "method-form": "forms", "method": "forms",
	// by part
	"today": "start", "read": "read", "waters": "tonight", "trials": "plan", "methods": "forms", "knowns": "standards", "needs": "forms", "people": "phones",
	"copies": "backup", "curves": "curve-bench",
}
