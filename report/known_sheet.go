package report

import (
	"fmt"
	"html/template"
	"io"
	"strings"

	"knownwater/science/known"
	"knownwater/science/note"
)

// SheetText is the preparation sheet as plain text.
func SheetText(out io.Writer, s known.Sheet) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\nRead first\n", Words(s.Title))
	list := func(items []note.Note) {
		for _, i := range SayAll(items) {
			fmt.Fprintf(&b, "  - %s\n", i)
		}
	}
	list(s.Cautions)
	b.WriteString("\nHave ready\n")
	list(s.Before)
	for _, r := range s.Rows {
		fmt.Fprintf(&b, "\n%s: %s", strings.TrimSpace(r.Name+" "+r.Code), Words(r.Planned))
		if r.Unit != "" {
			b.WriteString(", " + english.Say("up to {1}", Words(r.Whole)))
		}
		b.WriteString("\n")
		for i, step := range SayAll(r.Steps) {
			fmt.Fprintf(&b, "  [ ] %d. %s\n", i+1, step)
		}
		if r.Unit != "" {
			fmt.Fprintf(&b, "  taken: ________ %s   whole: ________   time: ________   who: ________\n", r.Unit)
		}
	}
	b.WriteString("\nAfterwards\n")
	list(s.After)
	_, err := io.WriteString(out, b.String())
	return err
}

// SheetPage is the preparation sheet for the printer: one page that needs
// nothing else.
func SheetPage(w io.Writer, s known.Sheet) error { return sheetPage.Execute(w, s) }

var sheetPage = template.Must(template.New("known_sheet.html").Funcs(template.FuncMap{"words": Words, "sentence": Say}).ParseFS(pageFiles, "page/known_sheet.html"))
