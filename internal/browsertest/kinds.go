package browsertest

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"
)

//go:embed structure.js
var structureOf string

//go:embed colours.js
var coloursOf string

// judged are the kinds of elements, and the ways in which text stands out from what is behind it
// in light and in the dark, that some page has shown: axe-core looks at each once, as it takes
// a third of the time of all browser tests if it looks at all of every page.
var judged = struct {
	sync.Mutex
	structure, light, dark map[string]bool
}{structure: map[string]bool{}, light: map[string]bool{}, dark: map[string]bool{}}

// fresh are the places of the kinds that no page has shown before; from now on one has.
func fresh(seen map[string]bool, kinds []string) (places []int) {
	judged.Lock()
	defer judged.Unlock()
	for i, kind := range kinds {
		if !seen[kind] {
			seen[kind] = true
			places = append(places, i)
		}
	}
	return places
}

// structureJudged fails the test where a page that shows a kind of element for the first time
// breaks a rule about anything but colours.
func (p *Page) structureJudged(name string) {
	p.t.Helper()
	if len(fresh(judged.structure, JS[[]string](p, structureOf))) > 0 {
		p.axe(name, `document`, `runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], rules: {"color-contrast": {enabled: false}, "link-in-text-block": {enabled: false}}`)
	}
}

// coloursJudged fails the test where letters of a page are hard to tell from their ground, or a
// link from its sentence.
func (p *Page) coloursJudged(name string, dark bool) {
	p.t.Helper()
	seen, said := judged.light, name+", light"
	if dark {
		seen, said = judged.dark, name+", dark"
	}
	var within []string
	for _, i := range fresh(seen, JS[[]string](p, coloursOf)) {
		within = append(within, fmt.Sprintf("...coloured[%d]", i))
	}
	if len(within) > 0 {
		p.axe(said, `{include: [`+strings.Join(within, ", ")+`]}`, `runOnly: {type: "rule", values: ["color-contrast", "link-in-text-block"]}`)
	}
}
