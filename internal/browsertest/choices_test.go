package browsertest

import (
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestChoicesToPack goes from a need in words to what to use for it, to a published pack,
// and uses the pack on a second, empty bench.
func TestChoicesToPack(t *testing.T) {
	t.Parallel()
	browser := Start(t)
	one := Serve(t, false)
	p := browser.Open(t, one.URL, Phone)
	p.Go("/")
	p.paste(pastedTables["long"])
	p.Press(`#have button[value="look"]`)
	p.Text("all understood")
	p.Press(`button[value="judge"]`)
	p.Text("Kept: ")

	p.Go("/needs")
	JS[bool](p, `(document.getElementById("words").value = "hold", true)`)
	p.fill("name", "hold 2 to 8", "words_numbers", "2 8")
	p.Follow("Keep the need")
	p.Text("is kept")
	p.Go("/choices")
	p.Until("the choice", `!["", "Working it out"].includes(document.querySelector("h1")?.innerText ?? "") && document.readyState === "complete"`)
	p.Text("hold 2 to 8")
	p.Text("Side by side")
	p.here("choices")
	p.Follow("Look for them")
	p.Until("the next experiment", `!["", "Working it out"].includes(document.querySelector("h1")?.innerText ?? "") && document.querySelector("#next form, #next .say") !== null`)

	p.Go("/trials/1/publish")
	p.Text("A pack for others")
	p.here("publish-a-pack")
	p.Until("the summary’s figure", `document.querySelector("img.poster").complete && document.querySelector("img.poster").naturalWidth === 1200`)
	JS[bool](p, `(document.getElementById("licence").value = "CC-BY-4.0", true)`)
	p.fill("author", "A club")
	query := JS[string](p, `new URLSearchParams(new FormData(document.querySelector('form[action$="pack.zip"]'))).toString()`)
	res, err := http.Get(one.URL + "/trials/1/pack.zip?" + query)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatal(res.Status, err)
	}
	path := filepath.Join(t.TempDir(), "cards in May.zip")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}

	two := Serve(t, false)
	p = browser.Open(t, two.URL, Phone)
	p.Go("/packs")
	p.here("packs")
	p.Do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{path}))
	p.Press(`button[value="bring"]`)
	p.Text("18 readings, nitrate")
	if where := p.Where(); !strings.Contains(where, "/findings") {
		t.Errorf("ended at %s", where)
	}
	p.Go("/packs")
	p.Do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{path}))
	p.Press(`button[value="plan"]`)
	p.Text("Again: cards in May")

	// two packs on one bench: do the benches agree?
	p.Go("/packs")
	p.Do(chromedp.SetUploadFiles(chromedp.CSS("#file"), []string{path}))
	p.Press(`button[value="bring"]`)
	p.Text("18 readings, nitrate")
	p.Go("/packs")
	p.Follow("Compare")
	p.Until("the comparison", `!["", "Working it out"].includes(document.querySelector("h1")?.innerText ?? "") && document.querySelector(".agreement") !== null`)
	p.here("agree")
	p.NoConsoleErrors()
}
