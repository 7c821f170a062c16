package report

import (
	"archive/zip"
	"fmt"
	"html/template"
	"io"
	"strings"
	"unicode"

	"knownwater"
	"knownwater/chart/raster"
	"knownwater/science/assess"
)

// fileWidth is how wide a figure is in a file of its own, in pixels: in the page
// it takes the width that there is.
const fileWidth = 720

// fileScale is how many points of a picture stand for a pixel.
const fileScale = 2

// Figures writes the figures into one archive, each as SVG and as PNG: each
// method's ladder, its response, and its error along each need.
func Figures(w io.Writer, f assess.Findings, t knownwater.Trial) error {
	v := Page{Findings: f, Trial: t}.view(english, asTheyAre)
	out := zip.NewWriter(w)
	taken := map[string]bool{}
	add := func(name string, svg template.HTML) error {
		name = fileName(name)
		for i := 2; taken[name]; i++ {
			name = fmt.Sprintf("%s-%d", strings.TrimRight(name, "-0123456789"), i)
		}
		taken[name] = true
		file, err := out.Create(name + ".svg") // without a time: the same figures are the same archive
		if err != nil {
			return err
		}
		if _, err = io.WriteString(file, strings.Replace(string(svg), `width="100%"`, fmt.Sprintf(`width="%d"`, fileWidth), 1)); err != nil {
			return err
		}
		scene, err := raster.Lay(string(svg), fileWidth)
		if err != nil {
			return err
		}
		if file, err = out.Create(name + ".png"); err != nil {
			return err
		}
		return scene.PNG(file, fileScale)
	}
	var failed error
	put := func(name string, svg template.HTML) {
		if failed == nil {
			failed = add(name, svg)
		}
	}
	for _, set := range v.Ladders {
		for _, l := range set.Ladders {
			put("ladder "+set.Name+" "+l.Name, l.SVG)
		}
	}
	for _, r := range v.Responses {
		put("response "+r.Name, r.SVG)
	}
	for _, set := range v.Along {
		for _, p := range set.Plots {
			put("error "+set.Need+" "+p.Name, p.SVG)
		}
	}
	if failed == nil {
		failed = out.Close()
	}
	if failed != nil {
		return fmt.Errorf("writing figures: %w", failed)
	}
	return nil
}

// fileName is a name that every system takes: letters, digits and hyphens.
func fileName(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return '-'
	}, clean(s))
	for strings.Contains(s, "--") {
		s = strings.ReplaceAll(s, "--", "-")
	}
	if r := []rune(strings.Trim(s, "-")); len(r) > 80 {
		return string(r[:80])
	}
	return strings.Trim(s, "-")
}
