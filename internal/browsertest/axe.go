package browsertest

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// axeSource is axe-core as tools/browser-setup.sh fetched it.
func axeSource(t *testing.T) string {
	t.Helper()
	path := filepath.Join(moduleRoot(t), ".tools", "node_modules", "axe-core", "axe.min.js")
	source, err := os.ReadFile(path)
	if err != nil {
		missing(t, "axe-core")
	}
	return string(source)
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
	source := axeSource(p.t)
	for _, dark := range []bool{false, true} {
		p.Dark(dark)
		Get(p, chromedp.Evaluate[int](source+";0"))
		found := JS[[]violation](p, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) =>
			r.violations.map((v) => ({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.slice(0, 4).map((n) => n.html.slice(0, 200) + " | " + n.failureSummary)})))`)
		for _, v := range found {
			p.t.Errorf("%s, dark %v: %s (%s): %s\n  %v", name, dark, v.ID, v.Impact, v.Help, v.Nodes)
		}
	}
	p.Dark(false)
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
