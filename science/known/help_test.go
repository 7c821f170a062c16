package known

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// rows reads a table of numbers from testdata, its header left out; empty
// cells are NaN.
func rows(t *testing.T, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out [][]float64
	for _, r := range all[1:] {
		var row []float64
		for _, cell := range r {
			v := math.NaN()
			if cell != "" {
				if v, err = strconv.ParseFloat(cell, 64); err != nil {
					t.Fatal(err)
				}
			}
			row = append(row, v)
		}
		out = append(out, row)
	}
	return out
}
