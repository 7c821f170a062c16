package web

import (
	"cmp"
	"flag"
	"fmt"
	"html"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"knownwater/docs"
)

var update = flag.Bool("update", false, "write docs/forms.md anew")

const formsFile = "../docs/forms.md"

// formParts are the headings of docs/forms.md by the beginning of addresses, in order, each
// with where the manual tells of that part.
var formParts = []struct{ at, title, more string }{
	{"", "Today", "howto-start.md"}, {"start", "Readings that are there already", "howto-start.md"}, {"read", "Reading tonight", "howto-tonight.md"},
	{"records", "Records and their results", "howto-read.md"}, {"waters", "Waters", "howto-tonight.md"}, {"checks", "Checks", "howto-checks.md"},
	{"trials", "Trials", "howto-plan.md"}, {"methods", "Methods and lots", "formats.md"}, {"needs", "Needs", "formats.md"}, {"choices", "Choosing", "howto-choose.md"}, {"packs", "Packs", "howto-publish.md"},
	{"knowns", "Knowns and the shelf", "howto-standards.md"}, {"curves", "Curves", "howto-curve-bench.md"}, {"people", "People and phones", "howto-phones.md"},
	{"find", "Find", "glossary.md"}, {"sign-in", "Signing in", "howto-phones.md"}, {"copies", "Copies", "howto-backup.md"},
	{"shown", "Language, numbers, days, units", "howto-language.md"},
}

// formFields collects the fields of forms: by part of the bench, name, label and hint, the
// pages they stand on.
type formFields map[string]map[[3]string][]string

var (
	namedField = regexp.MustCompile(`(?s)<(?:input|select|textarea)\b[^>]*\bname="([^"]+)"[^>]*>`)
	idOfField  = regexp.MustCompile(`\bid="([^"]+)"`)
	hidden     = regexp.MustCompile(`\btype="hidden"`)
	oneOf      = regexp.MustCompile(`\btype="radio"`)
	ariaLabel  = regexp.MustCompile(`\baria-label="([^"]+)"`)
	legendOf   = regexp.MustCompile(`(?s)<legend[^>]*>(.*?)</legend>`)
	labelFor   = regexp.MustCompile(`(?s)<label[^>]*\bfor="([^"]+)"[^>]*>(.*?)</label>`)
	hintOf     = regexp.MustCompile(`(?s)<(?:div|p)[^>]*\bid="([^"]+)-hint"[^>]*>(.*?)</(?:div|p)>`)
	choices    = regexp.MustCompile(`(?s)<option.*?</option>`)
	labelled   = regexp.MustCompile(`(?s)<label\b[^>]*>(?:[^<]|<[^l/]|</[^l]|<l[^a])*</label>`)
)

func (ff formFields) collect(path, body string) {
	path, _, _ = strings.Cut(path, "?")
	part, _, _ := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	said := map[string]string{} // by id, or by the field itself where a label stands around it
	for _, m := range labelFor.FindAllStringSubmatch(body, -1) {
		said[m[1]] = plainWords(m[2])
	}
	for _, m := range labelled.FindAllString(body, -1) {
		for _, f := range namedField.FindAllString(m, -1) {
			said[f] = plainWords(m)
		}
	}
	hints := map[string]string{}
	for _, m := range hintOf.FindAllStringSubmatch(body, -1) {
		hints[m[1]] = plainWords(m[2])
	}
	for _, place := range namedField.FindAllStringSubmatchIndex(body, -1) {
		m := []string{body[place[0]:place[1]], body[place[2]:place[3]]}
		if hidden.MatchString(m[0]) || part == "help" {
			continue
		}
		id := ""
		if f := idOfField.FindStringSubmatch(m[0]); f != nil {
			id = f[1]
		}
		label := cmp.Or(said[id], said[m[0]])
		if a := ariaLabel.FindStringSubmatch(m[0]); a != nil && label == "" {
			label = plainWords(a[1])
		}
		if l := legendOf.FindAllStringSubmatch(body[:place[0]], -1); oneOf.MatchString(m[0]) && l != nil { // what is chosen, not one of the choices
			label = plainWords(l[len(l)-1][1])
		}
		key := [3]string{numbers.ReplaceAllString(m[1], "N"), inCell(label), inCell(hints[id])}
		if ff[part] == nil {
			ff[part] = map[[3]string][]string{}
		}
		if at := numbers.ReplaceAllString(path, "N"); !slices.Contains(ff[part][key], at) {
			ff[part][key] = append(ff[part][key], at)
		}
	}
}

// plainWords are those of a piece of a page, notation and all.
func plainWords(s string) string {
	return strings.Join(strings.Fields(html.UnescapeString(tag.ReplaceAllString(choices.ReplaceAllString(s, " "), " "))), " ")
}

// inCell lets no text end a cell of a table.
func inCell(s string) string { return strings.ReplaceAll(s, "|", "/") }

// page is docs/forms.md. Of a field that is called by the things of this bench, such as the
// methods to choose from, the first label stands for all.
func (ff formFields) page() string {
	var b strings.Builder
	b.WriteString("# Fields of forms\n\nEvery field of the pages, with the words that stand at it. Made from the pages themselves (`go test ./web -run TestCrawl -update`).\nAn N stands for a number that is counted up.\n")
	for _, p := range formParts {
		fields := ff[p.at]
		if len(fields) == 0 {
			continue
		}
		fmt.Fprintf(&b, "\n## %s\n\nMore: [%s](%s).\n\n| field | what stands at it | on |\n|---|---|---|\n", p.title, strings.TrimSuffix(strings.TrimPrefix(p.more, "howto-"), ".md"), p.more)
		keys := slices.SortedFunc(maps.Keys(fields), func(a, b [3]string) int {
			return cmp.Or(strings.Compare(a[0], b[0]), strings.Compare(a[1], b[1]), strings.Compare(a[2], b[2]))
		})
		last := ""
		for _, k := range keys {
			if k[0] == last {
				continue
			}
			last = k[0]
			at := map[string]bool{}
			for other, where := range fields {
				if other[0] == k[0] {
					for _, w := range where {
						at[w] = true
					}
				}
			}
			says := k[1]
			if k[2] != "" {
				says = strings.TrimSuffix(says, ".") + ". " + k[2]
			}
			if utf8Len := len([]rune(says)); utf8Len > 160 {
				says = string([]rune(says)[:160]) + "…"
			}
			fmt.Fprintf(&b, "| `%s` | %s | `%s` |\n", k[0], strings.TrimSpace(says), strings.Join(slices.Sorted(maps.Keys(at)), "`, `"))
		}
	}
	return b.String()
}

// check holds docs/forms.md against the pages, and the manual against every field.
func (ff formFields) check(t *testing.T) {
	t.Helper()
	want := ff.page()
	if *update {
		if err := os.WriteFile(formsFile, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(formsFile)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Error("docs/forms.md is not what the pages show: go test ./web -run TestCrawl -update")
	}
	n := 0
	for part, fields := range ff {
		if !slices.ContainsFunc(formParts, func(p struct{ at, title, more string }) bool { return p.at == part }) {
			t.Errorf("the forms of /%s have no place in formParts", part)
		}
		for k := range fields {
			n++
			if k[1] == "" {
				t.Errorf("the field %q of /%s has no label", k[0], part)
			}
			if _, ok := docs.Find(k[0]); !ok {
				t.Errorf("the manual opens at no place for the field %q of /%s", k[0], part)
			}
		}
	}
	if n < 150 {
		t.Errorf("only %d fields", n)
	}
}
