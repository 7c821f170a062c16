package knownwater

import (
	"fmt"
	"strings"
)

// Error gives the fault on one line: file:row:column: what: what would be right.
func (f Fault) Error() string {
	var place []string
	if f.File != "" {
		place = append(place, f.File)
	}
	if f.Row > 0 {
		place = append(place, fmt.Sprint(f.Row))
	}
	if f.Column != "" {
		place = append(place, f.Column)
	}
	s := f.Found
	if len(place) > 0 {
		s = strings.Join(place, ":") + ": " + s
	}
	if f.Want != "" {
		s += ": " + f.Want
	}
	return s
}

// Faults are all the faults of one input, so that a person can mend them in one go.
type Faults []Fault

// MostFaults is how many faults are listed before the rest are only counted.
const MostFaults = 50

func (fs Faults) Error() string {
	var b strings.Builder
	for i, f := range fs {
		if i == MostFaults {
			fmt.Fprintf(&b, "and %d more like these\n", len(fs)-i)
			break
		}
		b.WriteString(f.Error())
		b.WriteByte('\n')
	}
	return strings.TrimSuffix(b.String(), "\n")
}
