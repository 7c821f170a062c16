package docs

import (
	"regexp"
	"strings"
	"testing"
)

func same(s string) string { return s }

// Words lead where they are explained, whatever is typed is answered.
func TestFind(t *testing.T) {
	for _, c := range []struct{ word, address, says string }{
		{"read", "/help/read", "most likely"},
		{"howto-read", "/help/read", ""},
		{"detection limit", "/help/glossary#detection-limit", "95 in 100"},
		{"Detection Limit", "/help/glossary#detection-limit", ""},
		{"u_level", "/help/formats#readingscsv-one-row-a-reading", "standard uncertainty (k = 1) of level"},
		{"swatches", "/help/formats#methodstoml", "at least two, rising"},
		{"glossary#bias", "/help/glossary#bias", "VIM 2.18"},
		{"stop rule", "", ""},
		{"no such thing at all", "", ""}, {"", "", ""}, {"#", "", ""}, {"µ\x00", "", ""},
	} {
		at, ok := Find(c.word)
		if ok != (c.address != "") {
			t.Errorf("%q: found %v", c.word, ok)
			continue
		}
		if !ok {
			continue
		}
		if got := at.Address(); got != c.address {
			t.Errorf("%q leads to %s, want %s", c.word, got, c.address)
		}
		if text := at.Text(80, same); !strings.Contains(strings.Join(strings.Fields(text), " "), c.says) {
			t.Errorf("%q says\n%s\nand not %q", c.word, text, c.says)
		}
	}
}

var (
	hrefs = regexp.MustCompile(`(?:href|src)="([^"]*)"`)
	ids   = regexp.MustCompile(`\bid="([^"]*)"`)
)

// Every link and every picture of the pages is there, within the program.
func TestLinksOfThePages(t *testing.T) {
	anchors := map[string]bool{}
	for _, topic := range Topics() {
		_, page, ok := Page(topic.Name)
		if !ok || topic.Title == "" || len(page) < 500 {
			t.Errorf("%s: %v, titled %q, %d bytes", topic.Name, ok, topic.Title, len(page))
		}
		anchors["/help/"+topic.Name] = true
		for _, m := range ids.FindAllStringSubmatch(string(page), -1) {
			anchors["/help/"+topic.Name+"#"+m[1]] = true
		}
	}
	n := 0
	for _, topic := range Topics() {
		_, page, _ := Page(topic.Name)
		for _, m := range hrefs.FindAllStringSubmatch(string(page), -1) {
			n++
			link := m[1]
			if strings.HasPrefix(link, "#") {
				link = "/help/" + topic.Name + link
			}
			if name, isPicture := strings.CutPrefix(link, "/help/picture/"); isPicture {
				if _, ok := Picture(name); !ok {
					t.Errorf("%s shows %s, which is not there", topic.Name, name)
				}
			} else if !anchors[link] && !strings.HasPrefix(link, "http://127.0.0.1") {
				t.Errorf("%s leads to %s, which is not there", topic.Name, link)
			}
		}
		if strings.Contains(string(page), "raw HTML omitted") && topic.Name != "tutorial" {
			t.Logf("%s has comments", topic.Name)
		}
	}
	if n < 40 {
		t.Errorf("only %d links", n)
	}
}

// No line of prose is wider than the terminal, whatever its width.
func TestTextFits(t *testing.T) {
	for _, topic := range Topics() {
		at, _ := Find(topic.Name)
		for _, width := range []int{40, 80} {
			for line := range strings.Lines(at.Text(width, same)) {
				if words := strings.Fields(line); len([]rune(strings.TrimRight(line, "\n"))) > width && !strings.HasPrefix(line, "    ") && len(words) > 2 && len([]rune(words[len(words)-1])) < width/2 &&
					!strings.Contains(strings.TrimSpace(line), "  ") {
					t.Errorf("%s at %d: %q", topic.Name, width, line)
				}
			}
		}
	}
}
