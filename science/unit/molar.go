package unit

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// weight is an atomic weight in g/mol and its ± as printed.
type weight struct{ value, plusMinus float64 }

// weights are the IUPAC abridged standard atomic weights, 2021.
var weights = map[string]weight{
	"H": {1.0080, 0.0002}, "B": {10.81, 0.02}, "C": {12.011, 0.002}, "N": {14.007, 0.001},
	"O": {15.999, 0.001}, "F": {18.998, 0.001}, "Na": {22.990, 0.001}, "Mg": {24.305, 0.002},
	"Si": {28.085, 0.001}, "P": {30.974, 0.001}, "S": {32.06, 0.02}, "Cl": {35.45, 0.01},
	"K": {39.098, 0.001}, "Ca": {40.078, 0.004}, "Fe": {55.845, 0.002}, "Cu": {63.546, 0.003},
	"Br": {79.904, 0.003}, "Sr": {87.62, 0.01}, "Mo": {95.95, 0.01}, "I": {126.90, 0.01}, "Cd": {112.41, 0.01},
}

// Atoms counts the atoms of a formula without brackets; a full stop joins
// water of crystallisation: KNO3, CaCl2.2H2O.
func Atoms(formula string) (map[string]int, error) {
	atoms := map[string]int{}
	bad := func() (map[string]int, error) {
		return nil, fmt.Errorf("formula %q: write element symbols with counts, such as KNO3 or CaCl2.2H2O (known elements: %s)", formula, strings.Join(elements(), ", "))
	}
	for _, part := range strings.Split(formula, ".") {
		times, rest := leadingCount(part)
		if rest == "" || times < 1 {
			return bad()
		}
		for rest != "" {
			symbol := leadingSymbol(rest)
			if symbol == "" {
				return bad()
			}
			var n int
			n, rest = leadingCount(rest[len(symbol):])
			if n < 1 {
				return bad()
			}
			atoms[symbol] += times * n
		}
	}
	return atoms, nil
}

// leadingSymbol is the known element symbol that s starts with, the longer one
// first (Si before S); "" if there is none.
func leadingSymbol(s string) string {
	for n := 2; n >= 1; n-- {
		if len(s) >= n {
			if _, known := weights[s[:n]]; known {
				return s[:n]
			}
		}
	}
	return ""
}

// leadingCount takes a count of at most three digits off s; none means 1.
func leadingCount(s string) (int, string) {
	n, i := 0, 0
	for i < len(s) && i < 3 && s[i] >= '0' && s[i] <= '9' {
		n = 10*n + int(s[i]-'0')
		i++
	}
	if i == 0 {
		return 1, s
	}
	return n, s[i:]
}

func elements() []string {
	var names []string
	for e := range weights {
		names = append(names, e)
	}
	sort.Strings(names)
	return names
}

func massOf(atoms map[string]int) float64 {
	sum := 0.0
	for _, e := range elements() { // a settled order, so that sums repeat bit by bit
		sum += float64(atoms[e]) * weights[e].value
	}
	return sum
}

// MassFraction is the mass of `units` formula units of part (half a CaCO3 for
// one charge) in one formula
// unit of whole (NO3 in KNO3: 0.6133), and its standard uncertainty.
//
// f = n·M(part)/M(whole). The ± of each atomic weight is taken as the half
// width of a rectangular distribution (as in EURACHEM/CITAC CG4 A2); the same
// element in part and whole is the same error, so it enters once:
// ∂f/∂w = (n·a − f·b)/M(whole) for a atoms in part and b in whole.
func MassFraction(part, whole string, units float64) (fraction, u float64, err error) {
	a, err := Atoms(part)
	if err != nil {
		return 0, 0, err
	}
	b, err := Atoms(whole)
	if err != nil {
		return 0, 0, err
	}
	m := massOf(b)
	fraction = units * massOf(a) / m
	sum := 0.0
	for _, e := range elements() {
		s := (units*float64(a[e]) - fraction*float64(b[e])) / m
		sum += s * s * weights[e].plusMinus * weights[e].plusMinus / 3
	}
	return fraction, math.Sqrt(sum), nil
}
