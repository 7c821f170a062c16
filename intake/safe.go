package intake

import "strings"

// SafeCell is a text as a cell of a CSV file or workbook that no spreadsheet
// takes for a formula: texts that start with = + - @ tab or CR get an
// apostrophe in front, as spreadsheets themselves mark text. Reading a table
// takes it off again. Use it for texts, not for numbers.
func SafeCell(s string) string {
	if t := strings.TrimLeft(s, "'"); t != "" && startsFormula([]byte(t)) {
		return "'" + s
	}
	return s
}

func startsFormula(c []byte) bool {
	return len(c) > 0 && strings.IndexByte("=+-@\t\r", c[0]) >= 0
}
