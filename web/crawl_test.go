package web

import (
	"context"
	"html"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/trials"
	"knownwater/demo/shed"
	"knownwater/internal/processor"
	"knownwater/science/unit"
)

var (
	href    = regexp.MustCompile(`<a [^>]*href="([^"#]*)[^"]*"`)
	numbers = regexp.MustCompile(`[0-9]+`)
	// what holds no words for people: scripts, styles, ids and notation
	unread = regexp.MustCompile(`(?s)<(script|style|head)\b.*?</(script|style|head)>|<(\w+)[^>]* class="[^"]*\bcode\b[^"]*"[^>]*>[^<]*</(\w+)>|<option.*?</option>`)
	tag    = regexp.MustCompile(`(?s)<[^>]*>`)
	figure = regexp.MustCompile(`[0-9][0-9.,]*[0-9]|[0-9]`)
)

// shapeOf is an address without its numbers and values: pages alike have one shape.
func shapeOf(path string) string {
	at, query, _ := strings.Cut(path, "?")
	var keys []string
	for _, kv := range strings.Split(query, "&") {
		k, _, _ := strings.Cut(kv, "=")
		keys = append(keys, k)
	}
	return numbers.ReplaceAllString(at, "N") + "?" + strings.Join(keys, "&")
}

// words are what a page says to people.
func words(page string) string {
	return strings.Join(strings.Fields(html.UnescapeString(tag.ReplaceAllString(unread.ReplaceAllString(page, " "), " "))), " ")
}

// significant counts the digits of a number that say something.
func significant(number string) int {
	n := strings.ReplaceAll(number, ",", "")
	whole, part, found := strings.Cut(n, ".")
	digits := strings.TrimLeft(whole+part, "0")
	if !found {
		digits = strings.TrimRight(digits, "0")
	}
	return len(digits)
}

// badWords are slips of wording, each with what it is.
var badWords = []struct {
	re   *regexp.Regexp
	what string
}{
	{regexp.MustCompile(`\b1 (readings|vials|knowns|methods|points|tests|results|trials|needs|levels|people|sessions|questions)\b`), "one of several"},
	{regexp.MustCompile(`[0-9]e[-−+]?[0-9]`), "a number with an exponent"},
	{regexp.MustCompile(`\bNaN\b|[+-]Inf|<nil>|%!|\b0001-01-01`), "a value that is none"},
	{regexp.MustCompile(`reaches this share|Counted as|Clear water so|holds 0\b`), "words of our own"},
}

// TestCrawl follows every link of an invented bench in use, a few pages of each shape:
// each is there, says numbers as people say them, and is answered quickly.
func TestCrawl(t *testing.T) {
	s := newSite(t, false)
	if err := shed.Furnish(context.Background(), s.bench, "test"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.bench.NewTrial(context.Background(), knownwater.Who{Role: knownwater.Owner, Name: "owner"}, trials.Plan{Title: "Not planned yet", Scale: unit.Scale{Analyte: "nitrate", Unit: "mg/L", Basis: "NO3"}, Sessions: 2, Replicates: 3, Blanks: 6}); err != nil {
		t.Fatal(err)
	}
	crawl(t, s, "/", "/trials/3/plan", "/start", "/methods/new", "/curves/new", "/curves/scan", "/curves/matrix", "/curves/additions", "/knowns/plan", "/knowns/compare", "/nowhere")
}

const pagesOfAShape = 2

func crawl(t *testing.T, s *site, from ...string) {
	seen, shapes, fields := map[string]bool{}, map[string]int{}, formFields{}
	type timed struct {
		path       string
		work, took time.Duration
		bytes      int
	}
	var all []timed
	styles := stylesheets{}
	for queue := from; len(queue) > 0; queue = queue[1:] {
		path := queue[0]
		if seen[path] || shapes[shapeOf(path)] == pagesOfAShape {
			continue
		}
		seen[path] = true
		shapes[shapeOf(path)]++
		a := s.get(path) // what is worked out once is worked out
		page := strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") && a.Header.Get("Content-Disposition") == ""
		best := timed{path: path, work: time.Hour, took: time.Hour}
		for tries := 0; page && tries < 5 && best.work > mostWork; tries++ { // others work beside it: the least counts
			work, began := processor.Time(), time.Now()
			a = s.get(path)
			best.work, best.took = min(best.work, processor.Time()-work), min(best.took, time.Since(began))
		}
		if a.StatusCode != http.StatusOK && path != "/nowhere" && a.StatusCode != http.StatusSeeOther {
			t.Errorf("%s: status %d", path, a.StatusCode)
		}
		if !page { // a file to keep is there, and no more is asked of it
			continue
		}
		if strings.HasPrefix(path, "/help") { // the manual quotes what programs and files say; its links are tested in docs
			continue
		}
		fields.collect(path, a.body)
		styles.check(t, s, path, a.body)
		best.bytes = sent(t, s, path)
		all = append(all, best)
		said := words(a.body)
		for _, f := range figure.FindAllString(said, -1) {
			if significant(f) > 6 {
				t.Errorf("%s: %s has %d digits: …%s…", path, f, significant(f), around(said, f))
			}
		}
		for _, b := range badWords {
			for _, m := range b.re.FindAllString(said, 3) {
				t.Errorf("%s: %s: …%s…", path, b.what, around(said, m))
			}
		}
		for _, m := range href.FindAllStringSubmatch(a.body, -1) {
			next := html.UnescapeString(m[1])
			if strings.HasPrefix(next, "?") {
				at, _, _ := strings.Cut(path, "?")
				next = at + next
			}
			if strings.HasPrefix(next, "/") {
				queue = append(queue, next)
			}
		}
	}
	fields.check(t)
	if len(all) < 60 {
		t.Errorf("only %d pages were found", len(all))
	}
	slices.SortFunc(all, func(a, b timed) int { return int(b.work - a.work) })
	for i, p := range all {
		if i < 12 {
			t.Logf("%-60s %6.1f ms, %6.1f ms of them our own work, %4d kB as sent", p.path, ms(p.took), ms(p.work), p.bytes/1000)
		}
		if p.work > mostWork {
			t.Errorf("%s takes %.1f ms, %.1f ms of them our own work, want under %v", p.path, ms(p.took), ms(p.work), mostWork)
		}
		if p.bytes > 150_000 {
			t.Errorf("%s is %d bytes as sent, want at most 150 kB", p.path, p.bytes)
		}
	}
	t.Logf("%d pages of %d shapes", len(all), len(shapes))
}

// stylesheets are the texts of those that were asked for.
type stylesheets map[string]string

var (
	sheetOf = regexp.MustCompile(`href="(/[^"]+\.css[^"]*)"`)
	marked  = regexp.MustCompile(`<(?:path|rect|line|circle|text|g)\b[^>]* class="((?:m|st|r|t)-[a-z0-9-]+)"`)
)

// check says which marks of a page's figures none of its stylesheets knows: those are drawn in
// black, which nobody sees where it is dark.
func (known stylesheets) check(t *testing.T, s *site, path, body string) {
	css := ""
	for _, m := range sheetOf.FindAllStringSubmatch(body, -1) {
		if known[m[1]] == "" {
			known[m[1]] = s.get(m[1]).body
		}
		css += known[m[1]]
	}
	said := map[string]bool{}
	for _, m := range marked.FindAllStringSubmatch(body, -1) {
		if !said[m[1]] && !strings.Contains(css, "."+m[1]) {
			said[m[1]] = true
			t.Errorf("%s: no stylesheet of the page knows the mark %s", path, m[1])
		}
	}
}

// sent is how many bytes a page takes on its way, compressed.
func sent(t *testing.T, s *site, path string) int {
	req := s.request("GET", path, "", "")
	req.Header.Set("Accept-Encoding", "gzip")
	res, err := s.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	n, _ := io.Copy(io.Discard, res.Body)
	return int(n)
}

// around are the words on both sides.
func around(text, what string) string {
	i := strings.Index(text, what)
	return text[max(0, i-50):min(len(text), i+len(what)+50)]
}
