package docstest

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// pictured are the methods whose ladders stand in the picture of README.
var pictured = []string{"Birch", "Cedar", "Dogwood"}

const (
	pictureWidth, ladderWidth = 1140, 372
	pictureTop                = 44
)

var ladderSVG = regexp.MustCompile(`(?s)<svg [^>]*aria-labelledby="ladder-0-\d+-t[^>]*><title[^>]*>([^<]*)</title>`)

// docs/ladder.svg is cut out of the demo's report: our own figure, drawn by our
// own program.
func TestLadderPicture(t *testing.T) {
	want, err := picture(theDemo(t).page)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(root, "docs", "ladder.svg")
	if *update {
		if err := os.WriteFile(name, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if where := differ(read(t, name), want); where != "" {
		t.Errorf("docs/ladder.svg is not what the demo draws: %s", where)
	}
}

func picture(page string) (string, error) {
	var b strings.Builder
	height := 0.0
	for i, method := range pictured {
		svg, err := ladderOf(page, method)
		if err != nil {
			return "", err
		}
		h, _ := strconv.ParseFloat(regexp.MustCompile(`height="([\d.]+)"`).FindStringSubmatch(svg)[1], 64)
		height = max(height, h)
		x := 8 + i*(ladderWidth+8)
		svg = strings.Replace(svg, `width="100%"`, fmt.Sprintf(`x="%d" y="%d" width="%d"`, x, pictureTop, ladderWidth), 1)
		fmt.Fprintf(&b, "<text x=\"%d\" y=\"26\" font-size=\"17\" font-weight=\"600\" fill=\"#151c23\">%s</text>\n%s\n", x, method, svg)
	}
	return fmt.Sprintf("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%.0f\" viewBox=\"0 0 %d %.0f\" font-family=\"sans-serif\">\n<rect width=\"100%%\" height=\"100%%\" fill=\"#fafbf8\"/>\n%s</svg>\n",
		pictureWidth, height+pictureTop+8, pictureWidth, height+pictureTop+8, b.String()), nil
}

// ladderOf cuts one method's ladder out of the page; other drawings are nested in it.
func ladderOf(page, method string) (string, error) {
	for _, m := range ladderSVG.FindAllStringSubmatchIndex(page, -1) {
		if !strings.HasPrefix(page[m[2]:m[3]], method+":") {
			continue
		}
		rest, depth := page[m[0]:], 0
		for at := 0; at < len(rest); {
			open, shut := strings.Index(rest[at:], "<svg"), strings.Index(rest[at:], "</svg>")
			if shut < 0 {
				break
			}
			if open >= 0 && open < shut {
				depth++
				at += open + 4
				continue
			}
			depth--
			at += shut + 6
			if depth == 0 {
				return rest[:at], nil
			}
		}
	}
	return "", fmt.Errorf("the report holds no ladder of %s", method)
}
