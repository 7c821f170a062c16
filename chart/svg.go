package chart

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// looks are the presentation attributes that stand in where no style sheet
// speaks: the light palette of the page.
var looks = map[string]string{
	"m-need":     `fill="#dcebdd"`,
	"m-stile":    `stroke="#2f6b49" stroke-width="1.5" fill="none"`,
	"m-rung":     `stroke="#0b4f91" stroke-width="1.25"`,
	"m-known":    `fill="#0b4f91"`,
	"m-guide":    `stroke="#cdd4d1"`,
	"m-axis":     `stroke="#75818a"`,
	"m-read":     `stroke="#151c23" stroke-width="1.6"`,
	"m-held":     `stroke="#0b4f91" stroke-width="1.75" fill="none"`,
	"m-gone":     `stroke="#7a848b" stroke-width="1.4" fill="none"`,
	"m-dot":      `fill="#151c23"`,
	"m-open":     `stroke="#151c23" stroke-width="1.4" fill="none"`,
	"m-cutline":  `stroke="#151c23" stroke-width="1.25" fill="none"`,
	"m-chosen":   `stroke="#151c23" stroke-width="1.75"`,
	"m-curve":    `stroke="#151c23" stroke-width="1.5" fill="none" vector-effect="non-scaling-stroke"`,
	"m-second":   `stroke="#0b4f91" stroke-width="1.75" stroke-dasharray="6 4" fill="none" vector-effect="non-scaling-stroke"`,
	"m-equal":    `stroke="#0b4f91" stroke-width="1.25" fill="none" vector-effect="non-scaling-stroke"`,
	"m-stilec":   `stroke="#2f6b49" stroke-width="1.5" fill="none" vector-effect="non-scaling-stroke"`,
	"m-band":     `fill="#151c23" opacity=".13"`,
	"m-band2":    `fill="#0b4f91" opacity=".16"`,
	"r-full":     `fill="#151c23"`,
	"r-void":     `fill="#fafbf8"`,
	"r-frame":    `stroke="#151c23" stroke-width="1.25" fill="none"`,
	"off-bg":     `fill="#eef1ec"`,
	"off-ln":     `stroke="#7a848b" opacity=".55"`,
	"hatch-bg":   `fill="#fafbf8"`,
	"hatch-ln":   `stroke="#7a5000" stroke-width="2.4"`,
	"t":          `fill="#414d57"`,
	"t strong":   `fill="#151c23" font-weight="600"`,
	"t t-known":  `fill="#0b4f91" font-weight="600" font-size="15"`,
	"t t-knowns": `fill="#0b4f91" font-weight="600"`,
	"t t-need":   `fill="#2f6b49"`,
	"t halo":     `fill="#414d57" stroke="#fafbf8" stroke-width="4" stroke-linejoin="round" paint-order="stroke"`,
	"m-disc":     `fill="#fafbf8" stroke="#414d57"`,

	"m-curve out": `stroke="#75818a" stroke-width="1.5" stroke-dasharray="4 3" fill="none" vector-effect="non-scaling-stroke"`,
	"m-range":     `stroke="#151c23" stroke-width="2.5" fill="none"`,
	"m-est plain": `fill="#151c23"`,
	"m-est known": `fill="#0b4f91"`,
	"m-est gone":  `fill="#7a848b"`,
	"m-notch":     `stroke="#fafbf8" stroke-width="2"`,
}

// drawing collects one figure.
type drawing struct {
	b       strings.Builder
	id      string
	height  float64
	hatched bool // a bar is undecided: the pattern is needed
	off     bool // something is not judged: its pattern is needed
	linked  bool // marks lead somewhere
}

// esc makes any text safe inside XML: no control characters, no broken UTF-8.
func esc(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\uFFFD")
	}
	s = strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' || r == '\r' {
			return ' '
		}
		if unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, s)
	return html.EscapeString(s)
}

// idToken keeps what may stand in an id.
func idToken(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_' {
			return r
		}
		return -1
	}, s)
}

// px writes a length in pixels, pc one in per cent of the width.
func px(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }
func pc(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64) + "%" }

func (d *drawing) add(format string, a ...any) { fmt.Fprintf(&d.b, format, a...) }

// look writes a class with what it falls back on.
func look(class string) string { return `class="` + class + `" ` + looks[class] }

func (d *drawing) rect(class string, x, w, y, h float64) {
	d.add(`<rect %s x="%s" width="%s" y="%s" height="%s"/>`, look(class), pc(x), pc(w), px(y), px(h))
}

func (d *drawing) line(class string, x1, x2, y1, y2 float64) {
	d.add(`<line %s x1="%s" x2="%s" y1="%s" y2="%s"/>`, look(class), pc(x1), pc(x2), px(y1), px(y2))
}

// text writes a label; anchor is start, middle or end.
func (d *drawing) text(class string, x, y float64, anchor, s string) {
	if anchor != "" && anchor != "start" {
		anchor = ` text-anchor="` + anchor + `"`
	} else {
		anchor = ""
	}
	d.add(`<text %s x="%s" y="%s"%s>%s</text>`, look(class), pc(x), px(y), anchor, esc(s))
}

// at draws a small path in pixels around a point.
func (d *drawing) at(class string, x, y float64, path string) {
	d.add(`<svg x="%s" y="%s" width="1" height="1" overflow="visible"><path %s d="%s"/></svg>`, pc(x), px(y), look(class), path)
}

// group opens a run of marks that share a class; end closes it.
func (d *drawing) group(class string) { d.add(`<g %s>`, look(class)) }
func (d *drawing) end()               { d.add(`</g>`) }

// link leads what is drawn inside to an address; without one it is drawn as it is.
// It is for a pointer: the keyboard finds the same places in the table beside.
func (d *drawing) link(href, name string, draw func()) {
	if href == "" {
		draw()
		return
	}
	d.linked = true
	d.add(`<a href="%s" tabindex="-1" aria-label="%s">`, esc(href), esc(name))
	draw()
	d.add(`</a>`)
}

// bareLine and bareRect take their look from the group around them.
func (d *drawing) bareLine(x1, x2, y float64) {
	d.add(`<line x1="%s" x2="%s" y1="%s" y2="%s"/>`, pc(x1), pc(x2), px(y), px(y))
}

func (d *drawing) bareRect(x, w, y, h float64) {
	d.add(`<rect x="%s" width="%s" y="%s" height="%s"/>`, pc(x), pc(w), px(y), px(h))
}

// The marks at an end of an interval.
func (d *drawing) arrowLeft(x, y float64)  { d.at("m-open", x, y, "M4 -3.2L0 0L4 3.2") }
func (d *drawing) arrowRight(x, y float64) { d.at("m-open", x, y, "M-4 -3.2L0 0L-4 3.2") }
func (d *drawing) slash(x, y float64)      { d.at("m-cutline", x, y, "M-4 4L-1 -4M0 4L3 -4") }

// svg closes the figure. Title and description are its words for those who do
// not see it; without a title the figure is decoration and says so.
func (d *drawing) svg(class, title, desc string) string {
	var b strings.Builder
	id := idToken(d.id)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="%s" width="100%%" height="%s" font-family="sans-serif" font-size="12"`, class, px(d.height))
	if title == "" {
		b.WriteString(` aria-hidden="true">`)
	} else {
		role := "img"
		if d.linked { // an image holds nothing that can be pressed
			role = "group"
		}
		fmt.Fprintf(&b, ` role="%s" aria-labelledby="%s-t%s"><title id="%s-t">%s</title>`, role, id, descID(id, desc), id, esc(title))
		if desc != "" {
			fmt.Fprintf(&b, `<desc id="%s-d">%s</desc>`, id, esc(desc))
		}
	}
	if d.hatched || d.off {
		b.WriteString(`<defs>`)
		if d.hatched {
			fmt.Fprintf(&b, `<pattern id="%s-h" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect %s width="5" height="5"/><path %s d="M0 0V5"/></pattern>`, id, look("hatch-bg"), look("hatch-ln"))
		}
		if d.off {
			fmt.Fprintf(&b, `<pattern id="%s-o" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><rect %s width="6" height="6"/><path %s d="M0 0V6"/></pattern>`, id, look("off-bg"), look("off-ln"))
		}
		b.WriteString(`</defs>`)
	}
	b.WriteString(d.b.String())
	b.WriteString(`</svg>`)
	return b.String()
}

func descID(id, desc string) string {
	if desc == "" {
		return ""
	}
	return " " + id + "-d"
}

// notJudged shades a stretch that nobody judged.
func (d *drawing) notJudged(x, w, y, h float64) {
	d.off = true
	d.add(`<rect x="%s" width="%s" y="%s" height="%s" fill="url(#%s-o)"/>`, pc(x), pc(w), px(y), px(h), idToken(d.id))
}

// nested opens a stretched frame of 0…1000 by 0…1000 for smooth curves.
func (d *drawing) nested(x, w, y, h float64) {
	d.add(`<svg x="%s" width="%s" y="%s" height="%s" viewBox="0 0 1000 1000" preserveAspectRatio="none">`, pc(x), pc(w), px(y), px(h))
}
func (d *drawing) endNested() { d.add(`</svg>`) }

// finite says whether every number is one.
func finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func clamp(v, low, high float64) float64 { return math.Max(low, math.Min(high, v)) }
