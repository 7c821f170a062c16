package intake

import (
	"knownwater"
)

// rowTexts are the cells of each row of a table of at most most rows, by the names of their
// columns; what is a row in the words of a fault.
func rowTexts[T any](sh *sheet, names []string, most int, what string, of func(row int, cell func(name string) string, cells [][]byte) T) (all []T, faults knownwater.Faults) {
	columns := map[string]int{}
	for _, name := range names {
		columns[name] = sh.column(name)
	}
	var more knownwater.Faults
	faults = sh.each(func(row int, cells [][]byte, _ int) bool {
		all = append(all, of(row, func(name string) string {
			if i := columns[name]; i >= 0 && i < len(cells) {
				if c := trim(cells[i]); len(c) <= mostInCell {
					return string(unmark(c))
				}
				more = append(more, sh.src.fault(row, name, "%d bytes in a cell", "at most %d", len(cells[i]), mostInCell))
			}
			return ""
		}, cells))
		if len(all) > most {
			more = append(more, sh.src.fault(row, "", "%s too many", "at most %d", what, most))
		}
		return len(all) <= most && len(more) < mostFaults
	})
	return all, append(faults, more...)
}
