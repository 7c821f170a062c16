package knownwater

import "strings"

// SafeCell is a text as a cell of a CSV file or workbook that no spreadsheet
// takes for a formula: texts that start with = + - @ tab or CR get an
// apostrophe in front, as spreadsheets themselves mark text. Reading a table
// takes it off again. Use it for texts, not for numbers.
func SafeCell(s string) string {
	if StartsFormula(strings.TrimLeft(s, "'")) {
		return "'" + s
	}
	return s
}

// StartsFormula: a spreadsheet would take a cell of this text for a formula.
func StartsFormula(s string) bool {
	return s != "" && strings.IndexByte("=+-@\t\r", s[0]) >= 0
}
