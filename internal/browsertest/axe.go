package browsertest

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"github.com/chromedp/chromedp"
)

// readAxe reads axe-core as tools/browser-setup.sh fetched it, once.
var readAxe = sync.OnceValues(func() (string, error) {
	root, err := moduleRoot()
	if err != nil {
		return "", err
	}
	source, err := os.ReadFile(filepath.Join(root, ".tools", "node_modules", "axe-core", "axe.min.js"))
	return string(source), err
})

// bringAxe brings axe-core into a page that has not got it yet.
func (p *Page) bringAxe() {
	p.t.Helper()
	source, err := readAxe()
	if err != nil {
		missing(p.t, "axe-core")
	}
	if !JS[bool](p, `"axe" in window`) {
		Get(p, chromedp.Evaluate[int](source+";0"))
	}
}

type violation struct {
	ID     string   `json:"id"`
	Impact string   `json:"impact"`
	Help   string   `json:"help"`
	Nodes  []string `json:"nodes"`
}

// Accessible fails the test for every finding of axe-core, in light and dark.
func (p *Page) Accessible(name string) {
	p.t.Helper()
	p.structureJudged(name)
	for _, dark := range []bool{true, false} { // the dark look differs by its colours alone
		p.Dark(dark)
		p.coloursJudged(name, dark)
	}
}

func (p *Page) axe(name, within, options string) {
	p.t.Helper()
	p.bringAxe()
	found := JS[[]violation](p, `axe.run(`+within+`, {resultTypes: ["violations"], `+options+`}).then((r) =>
		r.violations.map((v) => ({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.slice(0, 4).map((n) => n.html.slice(0, 200) + " | " + n.failureSummary)})))`)
	for _, v := range found {
		p.t.Errorf("%s: %s (%s): %s\n  %v", name, v.ID, v.Impact, v.Help, v.Nodes)
	}
}

// Fits fails the test where the page is wider than the screen or a target is
// smaller than 44 px: links inside a sentence are measured by WCAG's exception.
func (p *Page) Fits(name string) {
	p.t.Helper()
	if over := JS[float64](p, `document.documentElement.scrollWidth - innerWidth`); over > 1 {
		wide := JS[[]string](p, `[...document.querySelectorAll("main *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".scroll, .wide-scroll, .b-air")).slice(0, 6).map((e) => e.outerHTML.slice(0, 120))`)
		p.t.Errorf("%s: %g px wider than the screen: %v", name, over, wide)
	}
	small := JS[[]string](p, `[...document.querySelectorAll("a[href], button, input, select, textarea, summary")].filter((e) => {
		if (e.type === "hidden" || e.closest(".vh, .skip") || e.matches(".vh, .skip") || !e.offsetParent || getComputedStyle(e).display === "inline") return false;
		const target = e.closest("label") ?? e;
		const r = target.getBoundingClientRect();
		return r.width > 0 && (r.height < 43.5 || r.width < 43.5);
	}).map((e) => { const r = e.getBoundingClientRect(); return r.width.toFixed() + "×" + r.height.toFixed() + " " + e.outerHTML.slice(0, 100); })`)
	for _, s := range small {
		p.t.Errorf("%s: target smaller than 44 px: %s", name, s)
	}
}

func (v violation) String() string { return fmt.Sprintf("%s %v", v.ID, v.Nodes) }
