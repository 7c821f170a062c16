package page

import (
	"testing"

	"knownwater/docs"
)

// The first place of a term is linked, where words stand that explain nothing else.
func TestTermsAreLinkedOnce(t *testing.T) {
	const dl = `<a class="term" href="/help/glossary#detection-limit">`
	for _, c := range []struct{ in, want string }{
		{`<p>A detection limit, and a detection limit again.</p>`, `<p>A ` + dl + `detection limit</a>, and a detection limit again.</p>`},
		{`<th scope="col">Detection limit</th>`, `<th scope="col">` + dl + `Detection limit</a></th>`},
		{`<p><a href="/x">detection limit</a> and <button>bias</button></p>`, `<p><a href="/x">detection limit</a> and <button>bias</button></p>`},
		{`<div>bias</div>`, `<div>bias</div>`},
		{`<p>unbiased, biases</p>`, `<p>unbiased, biases</p>`},
		{`<script>p = "<p>bias</p>"</script>`, `<script>p = "<p>bias</p>"</script>`},
		{`<p>standard uncertainty</p>`, `<p><a class="term" href="/help/glossary#standard-uncertainty">standard uncertainty</a></p>`},
		{`<p><svg viewBox="0 0 1 1"><linearGradient id="a"/><text>bias</text></svg><input name="bias" value="a&quot;b"><br>a &lt; b &amp; bias</p>`,
			`<p><svg viewBox="0 0 1 1"><linearGradient id="a"/><text>bias</text></svg><input name="bias" value="a&quot;b"><br>a &lt; b &amp; <a class="term" href="/help/glossary#bias">bias</a></p>`},
		{`<label><p>bias</p>`, `<label><p>bias</p>`},
	} {
		if got := string(linkTerms([]byte(c.in))); got != c.want {
			t.Errorf("%s\nbecomes %s\nwant    %s", c.in, got, c.want)
		}
	}
}

// Every page of the list that leads to the manual leads to a page of it.
func TestPagesLeadToTheManual(t *testing.T) {
	for key := range manual {
		if _, _, ok := docs.Page(manual[key]); !ok {
			t.Errorf("%s leads to %q, which is no page of the manual", key, manual[key])
		}
	}
	if got := helpOn("plan", "trials"); got != "/help/plan" {
		t.Errorf("the plan leads to %s", got)
	}
	if got := helpOn("nothing", "nothing"); got != "/help" {
		t.Errorf("what is on no list leads to %s", got)
	}
}
