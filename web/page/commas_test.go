package page

import "testing"

func TestWithCommas(t *testing.T) {
	for page, want := range map[string]string{
		`<p>4.73 mg/L</p>`: `<p>4,73 mg/L</p>`, `<p>±0.31 to 0.72.</p>`: `<p>±0,31 to 0,72.</p>`, `<p>12,345 rows, 1,234.5 g</p>`: "<p>12\u202f345 rows, 1\u202f234,5 g</p>",
		`<p>1, 2 and 3</p>`: `<p>1, 2 and 3</p>`, `<p>−0.5–0.8</p>`: `<p>−0,5–0,8</p>`, `<p>6.5..15.2, 6..15.2 and 6..15.</p>`: `<p>6,5..15,2, 6..15,2 and 6..15.</p>`,
		`<p>version 1.2.3 at 127.0.0.1 on 03.03.2026, 14:05</p>`: `<p>version 1.2.3 at 127.0.0.1 on 03.03.2026, 14:05</p>`,
		`<p>trial.5.csv v1.5 x2.5</p>`:                           `<p>trial.5.csv v1.5 x2.5</p>`, `<p data-x="1.5">2.5</p>`: `<p data-x="1.5">2,5</p>`,
		`<option translate="no">1,234.5</option><option>1.5</option>`: `<option translate="no">1,234.5</option><option>1,5</option>`,
		`<code>1.5</code> 1.5`: `<code>1.5</code> 1,5`, `<pre>1.5<b>1.5</b></pre> 1.5`: `<pre>1.5<b>1.5</b></pre> 1,5`,
		`<textarea>1.5</textarea><script>1.5</script>`: `<textarea>1.5</textarea><script>1.5</script>`, `<input value="1.5">1.5`: `<input value="1.5">1,5`,
		`<SVG><Text>0.5</Text></SVG>`: `<SVG><Text>0,5</Text></SVG>`, `<p>12:30, 95 % &#39;</p>`: `<p>12:30, 95 % &#39;</p>`,
	} {
		if got := string(withCommas([]byte(page))); got != want {
			t.Errorf("%s becomes\n%s, wanted\n%s", page, got, want)
		}
	}
}
