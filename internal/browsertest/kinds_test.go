package browsertest

import "testing"

// What axe-core finds fault with is of a kind that the page did not show before: were it not, a
// fault on a later page would go unseen.
func TestFaultsAreKinds(t *testing.T) {
	t.Parallel()
	b := ServeInvented(t)
	b.Furnish(t)
	p := Start(t).Open(t, b.URL, Phone)
	p.Go("/methods/1/change")
	p.bringAxe()
	JS[bool](p, `(window.sound = document.body.innerHTML, true)`)
	for _, fault := range []struct{ rule, makes string }{
		{"button-name", `document.querySelector("main button").replaceChildren()`},
		{"label", `document.querySelector("main input[id]").labels.forEach((l) => l.remove())`},
		{"label", `document.querySelector("main input[id]").labels[0].htmlFor = "nobody"`},
		{"link-name", `document.querySelector("main a[href]").replaceChildren()`},
		{"image-alt", `document.querySelector("main").append(new Image())`},
		{"heading-order", `document.querySelector("main h2").outerHTML = "<h4>Lots</h4>"`},
		{"empty-heading", `document.querySelector("main h2").replaceChildren()`},
		{"page-has-heading-one", `document.querySelector("h1").remove()`},
		{"document-title", `document.title = ""`},
		{"html-has-lang", `document.documentElement.removeAttribute("lang")`},
		{"listitem", `document.querySelector("li").parentElement.outerHTML = "<div><li>one</li></div>"`},
		{"list", `document.querySelector("li").parentElement.append(document.createElement("p"))`},
		{"landmark-one-main", `document.querySelector("main").outerHTML = document.querySelector("main").innerHTML`},
		{"landmark-no-duplicate-main", `document.body.append(document.createElement("main"))`},
		{"region", `document.body.append("words", Object.assign(document.createElement("p"), {textContent: "beside everything"}))`},
		{"aria-valid-attr-value", `document.querySelector("main input").setAttribute("aria-invalid", "perhaps")`},
		{"aria-allowed-attr", `document.querySelector("main h1").setAttribute("aria-checked", "true")`},
		{"aria-hidden-focus", `document.querySelector("main form").setAttribute("aria-hidden", "true")`},
		{"nested-interactive", `document.querySelector("main button").append(Object.assign(document.createElement("a"), {href: "/", textContent: "here"}))`},
		{"tabindex", `document.querySelector("main a").tabIndex = 3`},
		{"select-name", `document.querySelector("main").append(document.createElement("select"))`},
	} {
		JS[bool](p, `(document.documentElement.lang = "en", document.title = "Methods", document.body.innerHTML = window.sound, true)`)
		before := map[string]bool{}
		for _, kind := range JS[[]string](p, structureOf) {
			before[kind] = true
		}
		JS[bool](p, `(`+fault.makes+`, true)`)
		isNew := false
		for _, kind := range JS[[]string](p, structureOf) {
			isNew = isNew || !before[kind]
		}
		found := JS[[]string](p, `axe.run(document, {runOnly: {type: "rule", values: ["`+fault.rule+`"]}}).then((r) => r.violations.map((v) => v.id))`)
		if len(found) == 0 || !isNew {
			t.Errorf("%s: axe-core finds %v, a new kind: %t", fault.makes, found, isNew)
		}
	}
}
