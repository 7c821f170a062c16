package main

import (
	_ "embed"
	"html/template"
)

//go:embed known_sheet.html
var sheetHTML string

// sheetPage is the preparation sheet for the printer: one page that needs
// nothing else.
var sheetPage = template.Must(template.New("sheet").Parse(sheetHTML))
