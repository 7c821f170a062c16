package num

import (
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the digits reached into docs/accuracy.md")

// A table of docs/accuracy.md: sets down, quantities across, the least number
// of right digits in each cell.
type accuracyTable struct {
	title   string
	columns []string
	sets    []string
	cell    map[[2]string]float64
	note    map[string]string
	printed map[string]float64 // digits that the source prints: no more are counted
}

func newAccuracyTable(title string, columns ...string) *accuracyTable {
	return &accuracyTable{title: title, columns: columns, cell: map[[2]string]float64{}, note: map[string]string{}, printed: map[string]float64{}}
}

// set begins a row; printed is the number of digits the source gives.
func (a *accuracyTable) set(name string, printed float64, note string) {
	a.sets = append(a.sets, name)
	a.printed[name] = printed
	a.note[name] = note
}

// add counts got against want into a cell of the last set.
func (a *accuracyTable) add(column string, got, want float64) {
	name := a.sets[len(a.sets)-1]
	key := [2]string{name, column}
	d := min(digits(got, want), a.printed[name])
	if old, ok := a.cell[key]; !ok || d < old {
		a.cell[key] = d
	}
}

func (a *accuracyTable) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "### %s\n\n| set | digits printed | %s | |\n|---|---|%s---|\n", a.title, strings.Join(a.columns, " | "), strings.Repeat("---|", len(a.columns)))
	for _, s := range a.sets {
		fmt.Fprintf(&b, "| %s | %g ", s, a.printed[s])
		for _, c := range a.columns {
			d, ok := a.cell[[2]string{s, c}]
			if !ok {
				b.WriteString("| – ")
				continue
			}
			fmt.Fprintf(&b, "| %g ", math.Floor(d*2)/2)
		}
		fmt.Fprintf(&b, "| %s |\n", a.note[s])
	}
	return b.String()
}

const (
	accuracyFile  = "../../docs/accuracy.md"
	accuracyBegin = "<!-- arithmetic: written by `go test ./science/num -run Accuracy -update` -->\n"
	accuracyEnd   = "<!-- /arithmetic -->\n"
)

// TestAccuracy recomputes every digit of "Arithmetic against published numbers"
// and fails where fewer are reached than are written there.
func TestAccuracy(t *testing.T) {
	tables := []*accuracyTable{
		linearAccuracy(t), nonlinearAccuracy(t), bothAccuracy(t), censoredAccuracy(t),
		univariateAccuracy(t), oneWayAccuracy(t), gumAccuracy(t), distributionAccuracy(t),
	}
	var b strings.Builder
	for _, a := range tables {
		fmt.Fprintf(&b, "\n%s", a)
	}
	text, err := os.ReadFile(accuracyFile)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok1 := strings.Cut(string(text), accuracyBegin)
	written, tail, ok2 := strings.Cut(rest, accuracyEnd)
	if !ok1 || !ok2 {
		t.Fatalf("%s has lost the marks around the tables", accuracyFile)
	}
	if *update {
		if err := os.WriteFile(accuracyFile, []byte(head+accuracyBegin+b.String()+"\n"+accuracyEnd+tail), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	compareTables(t, written, b.String())
}

func compareTables(t *testing.T, written, reached string) {
	t.Helper()
	now, before := tableRows(reached), tableRows(written)
	if len(before) != len(now) {
		t.Errorf("the document has %d rows, the tests %d: write it anew with -update", len(before), len(now))
	}
	for set, cells := range before {
		if len(now[set]) != len(cells) {
			t.Errorf("%s is in the document and no longer tested so: write it anew with -update", set)
			continue
		}
		for i := 3; i < len(cells)-1; i++ {
			old, err := strconv.ParseFloat(strings.TrimSpace(cells[i]), 64)
			if err != nil {
				continue
			}
			if d, err := strconv.ParseFloat(strings.TrimSpace(now[set][i]), 64); err != nil || d < old {
				t.Errorf("%s, column %d: %g digits are written, %g reached", set, i-2, old, d)
			}
		}
	}
}

// tableRows are the cells of all table rows by their first cell.
func tableRows(text string) map[string][]string {
	found := map[string][]string{}
	for _, line := range strings.Split(text, "\n") {
		cells := strings.Split(line, "|")
		if len(cells) <= 3 {
			continue
		}
		if set := strings.TrimSpace(cells[1]); set != "set" && set != "---" {
			found[set] = cells
		}
	}
	return found
}
