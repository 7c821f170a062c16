package browsertest

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"
)

//go:embed colours.js
var coloursOf string

// judged are the ways in which text stands out from what is behind it that some page has shown,
// in light and in the dark: axe-core looks at each once, as it takes longer for colours than for all
// the rest, and thousands of cells of a table look alike.
var judged = struct {
	sync.Mutex
	seen [2]map[string]bool
}{seen: [2]map[string]bool{{}, {}}}

// coloursJudged fails the test where letters of a page are hard to tell from their ground, or a
// link from its sentence.
func (p *Page) coloursJudged(name string, dark bool) {
	p.t.Helper()
	look, said := 0, name+", light"
	if dark {
		look, said = 1, name+", dark"
	}
	kinds := JS[[]string](p, coloursOf) // before the lock: a page that does not answer ends its own test alone
	var fresh []string
	judged.Lock()
	for i, kind := range kinds {
		if !judged.seen[look][kind] {
			judged.seen[look][kind] = true
			fresh = append(fresh, fmt.Sprintf("...coloured[%d]", i))
		}
	}
	judged.Unlock()
	if len(fresh) > 0 {
		p.axe(said, `{include: [`+strings.Join(fresh, ", ")+`]}`, `runOnly: {type: "rule", values: ["color-contrast", "link-in-text-block"]}`)
	}
}
