package page

import (
	"bytes"
	"regexp"
	"slices"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// asTyped are elements whose text stands as a machine reads it, beside any with translate="no".
var asTyped = []atom.Atom{atom.Code, atom.Pre, atom.Kbd, atom.Samp, atom.Textarea, atom.Script, atom.Style, atom.Title}

// number is a number of a page with the characters beside it: thousands in groups, decimals
// behind a point. What has two points is no number (a version, an address, a day).
var number = regexp.MustCompile(`[\pL\d_./:,-]*\d[\pL\d_./:,-]*`)

var (
	decimal = regexp.MustCompile(`^(\d{1,3}(?:,\d{3})+|\d+)(\.\d+)?(?:[.,:]?)$`)
	span    = regexp.MustCompile(`^(-?\d+(?:\.\d+)?)\.\.(-?\d+(?:\.\d+)?)([.,:]?)$`) // in the notation of readings
)

// withCommas writes the numbers in the text of a page with a decimal comma, and thousands
// with a narrow space, so that 1,500 is never taken for one and a half. It is done to the
// page as it goes out: what is kept, sent and exported has points.
func withCommas(page []byte) []byte {
	var out bytes.Buffer
	out.Grow(len(page) + 1024)
	z := html.NewTokenizer(bytes.NewReader(page))
	depth, within := 0, atom.Atom(0) // of elements called within, from the one whose text stands as typed
	for {
		switch kind := z.Next(); kind {
		case html.ErrorToken:
			return out.Bytes()
		case html.TextToken:
			raw := z.Raw()
			if depth > 0 || !bytes.ContainsAny(raw, ".,") { // most texts have no such number
				out.Write(raw)
				continue
			}
			out.Write(number.ReplaceAllFunc(raw, comma))
		default:
			raw := bytes.Clone(z.Raw()) // its name is put into small letters in place
			out.Write(raw)
			name, _ := z.TagName()
			a := atom.Lookup(name)
			switch {
			case kind == html.StartTagToken && depth == 0 && (slices.Contains(asTyped, a) || bytes.Contains(raw, []byte(` translate="no"`))):
				depth, within = 1, a
			case kind == html.StartTagToken && depth > 0 && a == within:
				depth++
			case kind == html.EndTagToken && depth > 0 && a == within:
				depth--
			}
		}
	}
}

// comma writes one number, or leaves what is none.
func comma(word []byte) []byte {
	if m := span.FindSubmatch(word); m != nil {
		return slices.Concat(bytes.ReplaceAll(m[1], []byte("."), []byte(",")), []byte(".."), bytes.ReplaceAll(m[2], []byte("."), []byte(",")), m[3])
	}
	m := decimal.FindSubmatch(word)
	if m == nil {
		return word
	}
	out := bytes.ReplaceAll(m[1], []byte(","), []byte("\u202f"))
	if len(m[2]) > 0 {
		out = append(append(bytes.Clone(out), ','), m[2][1:]...)
	}
	return append(bytes.Clone(out), word[len(m[1])+len(m[2]):]...)
}
