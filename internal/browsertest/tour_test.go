package browsertest

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"knownwater/bench/trials"
	"knownwater/demo/shed"
)

// toured are the pages of the bench, by their address in the list of routes, each with
// an address on the invented bench. Of what is no page, why it is none.
var toured = map[string]string{
	"/{$}": "/", "/start": "/start", "/calibrations": "/calibrations", "/copies": "/copies", "/read": "/read",
	"/curves": "/curves", "/curves/additions": "/curves/additions", "/curves/matrix": "/curves/matrix", "/curves/new": "/curves/new", "/curves/scan": "/curves/scan",
	"/curves/{id}": "/curves/1", "/curves/{id}/change": "/curves/1/change", "/curves/{id}/read": "/curves/1/read?signals=0.3345",
	"/curves/{id}/recheck": "/curves/1/recheck", "/curves/{id}/results/{result}": "/curves/1/results/1", "/curves/{id}/table": "/curves/1/table",
	"/knowns": "/knowns", "/knowns/compare": "/knowns/compare", "/knowns/plan": "/knowns/plan", "/knowns/sets/{id}": "/knowns/sets/1",
	"/knowns/sets/{id}/made": "/knowns/sets/1/made", "/knowns/sets/{id}/sheet": "/knowns/sets/1/sheet", "/knowns/shelf/new": "/knowns/shelf/new?kind=stock",
	"/knowns/shelf/{id}": "/knowns/shelf/4", "/methods": "/methods", "/methods/new": "/methods/new", "/methods/{id}": "/methods/1", "/methods/{id}/change": "/methods/1/change",
	"/needs": "/needs", "/needs/{id}": "/needs/1", "/people": "/people", "/people/{id}": "/people/1", "/sign-in": "/sign-in",
	"/records/{id}": "/records/1", "/records/{id}/results/{result}": "/records/1/results/4", "/cards/{id}": "/cards/1", "/cards/{id}/card.json": "- a file",
	"/checks": "/checks", "/checks/blind": "/checks/blind", "/choices": "/choices?need=1&next=1", "/packs": "/packs", "/packs/agree": "/packs/agree?first=1&second=2",
	"/trials/{id}/pack.zip": "- a file", "/trials/{id}/summary/{shape}": "- a picture", "/waters": "/waters", "/waters/new": "/waters/new", "/waters/{id}": "/waters/1", "/waters/earlier": "/waters/earlier", "/waters/{id}/history.csv": "- a file", "/waters/{id}/history.html": "- a file", "/waters/experiment.html": "- a file", "/waters/{id}/change": "/waters/1/change",
	"/waters/experiment": "/waters/experiment?treated=1&from=2026-03-30&level=4&wander=0.4&plan_treated=1&plan_control=1&weeks_before=6&weeks_after=6&tests_a_week=1",
	"/waters/{id}/slip":  "/waters/1/slip", "/waters/{id}/history": "/waters/1/history?from=2000-01-01&until=2000-02-01&since=2000-03-01&to=2000-04-01",
	"/trials": "/trials", "/trials/{id}": "/trials/1", "/trials/{id}/adopt": "/trials/1/adopt", "/trials/{id}/findings": "/trials/1/findings",
	"/trials/{id}/labels": "/trials/2/labels", "/trials/{id}/mine": "/trials/2/mine", "/trials/{id}/plan": "/trials/3/plan", "/trials/{id}/publish": "/trials/1/publish",
	"/trials/{id}/readings": "/trials/1/readings", "/trials/{id}/readings/{reading}": "/trials/1/readings/9", "/trials/{id}/run": "/trials/2/run",
	"/trials/{id}/sheet": "/trials/2/sheet",

	"/find": "/find?method=Cedar&level=3&order=reader", "/help": "/help", "/shown": "/shown", "/help/{topic}": "/help/formats", "/help/picture/{name...}": "- a picture",
	"/pair/{token}": "- TestPhones opens it with a pairing's token", "/photos/{name}": "- a picture", "/report.css": "- a style sheet",
	"/trials/{id}/figures.zip": "- a file", "/trials/{id}/findings.csv": "- a file", "/trials/{id}/findings.json": "- a file", "/trials/{id}/findings.xlsx": "- a file",
	"/trials/{id}/readings.csv": "- a file", "/trials/{id}/report.html": "- report.TestPageInABrowser opens it", "/trials/{id}/run.json": "- data for the run screen",
}

var route = regexp.MustCompile(`\.(?:Owner|Reader|Anyone)\("GET ([^"]+)"`)

// routes are the addresses of all pages, as the sources list them.
func routes(t *testing.T) (out []string) {
	t.Helper()
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	err = filepath.WalkDir(filepath.Join(root, "web"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		for _, m := range route.FindAllStringSubmatch(string(text), -1) {
			out = append(out, m[1])
		}
		return err
	})
	if err != nil || len(out) < 50 {
		t.Fatalf("%d routes, %v", len(out), err)
	}
	slices.Sort(out)
	return out
}

// TestTour opens every page of the list of routes on a bench in use: on a phone and on
// a desk, light and dark, nothing is wider than the screen, targets are large enough,
// axe-core finds nothing, the console is silent. A route without a page here fails.
func TestTour(t *testing.T) {
	t.Parallel()
	b := ServeInvented(t)
	ctx := context.Background()
	if err := shed.Furnish(ctx, b.Bench, "test"); err != nil {
		t.Fatal(err)
	}
	if _, err := b.NewTrial(ctx, owner, trials.Plan{Title: "Not planned yet", Scale: Nitrate, Sessions: 2, Replicates: 3, Blanks: 6}); err != nil {
		t.Fatal(err)
	}
	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/")
	JS[bool](p, `(document.querySelector("#person").value = [...document.querySelectorAll("#person option")].find((o) => o.innerText.includes("Ines")).value, true)`)
	p.Follow("That is me")
	for _, pattern := range routes(t) {
		path, known := toured[pattern]
		switch {
		case !known:
			t.Errorf("no page of GET %s is looked at: give it one in this test", pattern)
			continue
		case strings.HasPrefix(path, "- "):
			continue
		}
		p.Go(path)
		p.Until(path+" to be worked out", `!["", "Working it out"].includes(document.querySelector("h1")?.innerText ?? "") && document.readyState === "complete"`)
		for _, s := range []Size{Phone, Desk} {
			p.Resize(s)
			p.Fits(pattern) // the dark look differs by its colours alone
		}
		p.Accessible(pattern)
		for _, e := range p.ConsoleErrors() {
			t.Errorf("%s: console: %s", pattern, e)
		}
		p.Shots("tour" + file(path))
	}
	for pattern := range toured {
		if !slices.Contains(routes(t), pattern) {
			t.Errorf("GET %s is no route", pattern)
		}
	}
}
