package wording

import (
	"html"
	"html/template"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestMessagesOfATemplate(t *testing.T) {
	for _, c := range []struct {
		source string
		want   []string
	}{
		{`<p>Wait.</p><p>Go on.</p>`, []string{"Wait.", "Go on."}},
		{"<p>\n  One\n  sentence.\n</p>", []string{"One sentence."}},
		{`<p><b>Questions first.</b> {{if .M}}<bdi>{{.M}}</bdi>: {{end}}</p>`, []string{"Questions first."}},
		{`<h2>What <bdi>{{.Name}}</bdi>’s number says <span class="note">{{$scale}}, 95 %</span></h2>`, []string{"What <1>{1}</1>’s number says <2>{2}, 95 %</2>"}},
		{`<dd>Seed {{.Seed}}: it is fixed.{{if .E}} Off by {{.E}} %.{{end}}</dd>`, []string{"Seed {1}: it is fixed.", "Off by {1} %."}},
		{`<button title="Take it {{.What}}"{{if .X}} aria-label="Out"{{end}} class="No">×</button>`, []string{"Take it {1}", "Out"}},
		{`<input type="submit" value="Keep"><input value="typed">`, []string{"Keep"}},
		{`<script>let a = "Not read";</script><style>p { color: Red }</style><!-- Nor this -->`, nil},
		{`{{/* Nor <b>this</b> }} */}}{{define "x"}}<b>{{.A}}</b> {{.B}}{{end}}`, nil},
		{`<p>a&nbsp;&lt; b</p>`, []string{"a\u00a0< b"}},
		{`<p><b>half {{if .X}}open</b>{{end}} rest</p>`, []string{"half", "open", "rest"}},
		{`<td>{{template "est" .Value}}</td><td>{{printf "%s }}" .A}} is it</td>`, []string{"{1} is it"}},
		{`<p>{{$n := len .X}}{{$n}} of {{.Of}}</p>`, []string{"{1} of {2}"}},
		{`{{template "field" (field $f "lot" "Lot" "As it \"stands\" there." "class" "code")}}{{template "field" (field .Page (print "u_" .N) "u" "")}}`, []string{"Lot", `As it "stands" there.`, "u"}},
		{`a < b and <i>c`, []string{"a < b and", "c"}},
	} {
		if got := Messages(c.source); !slices.Equal(got, c.want) {
			t.Errorf("%s\n has %q\nwant %q", c.source, got, c.want)
		}
	}
}

// german is a language for a test, past the check of a file.
func german(says map[string]string) *Language {
	return &Language{tag: "de", name: "Deutsch", says: says}
}

func TestTemplateInALanguage(t *testing.T) {
	l := german(map[string]string{
		"What <1>{1}</1> says of {2}": "Was {2} über <1>{1}</1> sagt",
		"Keep":                        "Behalten & weiter",
	})
	if got, want := l.Template(`{{template "field" (field $f "keep" "Keep" "Why?" "type" "number")}}`), `{{template "field" (field $f "keep" "Behalten & weiter" "Why?" "type" "number")}}`; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	source := `<h2 title="Keep">
  What <bdi>{{.A}}</bdi> says of {{.B}}
</h2><p>Not translated.</p>`
	want := `<h2 title="Behalten &amp; weiter">
  Was {{.B}} über <bdi>{{.A}}</bdi> sagt
</h2><p>Not translated.</p>`
	if got := l.Template(source); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := (*Language)(nil).Template(source); got != source {
		t.Errorf("English is not what stands there: %s", got)
	}
}

// A translation is text: neither its markup nor its actions reach a page, even where
// the check of its file did not see it.
func TestTranslationsInjectNothing(t *testing.T) {
	for _, hostile := range []string{
		`<script>alert(1)</script>`, `{{.Secret}}`, `{1}{{.Secret}}`, `{1}</p><img src=x onerror=alert(1)>`, `{7}<9>{{end}}`, `" onclick="alert(1)`, "`{{`.Secret`}}`",
	} {
		l := german(map[string]string{"Say {1} here": hostile})
		source := `<p title="Say {{.A}} here">Say {{.A}} here</p>`
		page, err := template.New("").Parse(l.Template(source))
		if err != nil {
			t.Errorf("%s: %v", hostile, err)
			continue
		}
		var b strings.Builder
		if err := page.Execute(&b, map[string]string{"A": "<i>", "Secret": "hidden"}); err != nil {
			t.Errorf("%s: %v", hostile, err)
		}
		out := b.String()
		if strings.Count(out, "<") != 2 || strings.Contains(out, "hidden") || strings.Count(out, `"`) != 2 {
			t.Errorf("%s became %s", hostile, out)
		}
		if _, faults := Open("x", []byte("language\tde\tDeutsch\nAfter a while it was {1}\t"+hostile)); faults != nil {
			t.Errorf("a message that there is not is passed over: %v", faults)
		}
		if misplaced("Say {1} here", hostile) == "" && hostile != `" onclick="alert(1)` {
			t.Errorf("the check of a file lets %s through", hostile)
		}
	}
}

// Every template of the house, said in its own words, is the same but for white space and
// how a character is written; cut into pieces it is whole.
func TestEveryTemplateComesBack(t *testing.T) {
	templates := 0
	for _, folder := range []string{"../web", "../report"} {
		err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
			if err != nil || !strings.HasSuffix(path, "html") || strings.Contains(path, "testdata") {
				return err
			}
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			templates++
			source, whole := string(data), ""
			for _, p := range pieces(source) {
				whole += p.raw
			}
			if whole != source {
				t.Errorf("%s comes apart", path)
			}
			same := rewrite(source, func(m string) (string, bool) { return m, true })
			if squeezed(same) != squeezed(source) {
				t.Errorf("%s becomes\n%s", path, same)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if templates < 60 {
		t.Errorf("only %d templates", templates)
	}
}

func squeezed(s string) string { return strings.Join(strings.Fields(html.UnescapeString(s)), " ") }

func FuzzTemplate(f *testing.F) {
	for _, s := range []string{`<p title="{{.A}}">x {{.A}} <b>y</b></p>`, `{{if .A}}<a href="{{.A}}">a</a>{{end}}`, `<`, `{{`, `<!--`, `<a b="{{"`, `</b>x<b>`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, source string) {
		whole := ""
		for _, p := range pieces(source) {
			whole += p.raw
		}
		if whole != source {
			t.Errorf("%q comes apart: %q", source, whole)
		}
		if got := rewrite(source, func(string) (string, bool) { return "", false }); got != source {
			t.Errorf("%q untranslated is %q", source, got)
		}
	})
}

func TestScriptMessages(t *testing.T) {
	source := "tell(say(\"One \\\"word\\\" {1}.\", x)); const a = say(`plain`); sayNot(\"no\"); say(other); say(`${x}`)"
	if got := ScriptMessages(source); !slices.Equal(got, []string{`One "word" {1}.`, "plain"}) {
		t.Errorf("%q", got)
	}
}
