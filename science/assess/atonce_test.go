package assess_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"sync"
	"testing"

	"knownwater/intake"
	"knownwater/science/assess"
	"knownwater/science/result"
)

// TestRunsAtOnce: a trial of two methods, whose strands are examined side by side
// and one of which needs the sampler's chains (a reader and vials that cross the levels),
// says the same when several judge it at once and when one does; so does a record that
// several ask. Under the race detector it is the test of all that runs side by side.
func TestRunsAtOnce(t *testing.T) {
	rows := [][]any{}
	for i, level := range []float64{0, 5, 10} {
		for j := range 2 {
			rows = append(rows, []any{"Card", level, []any{"0..2.5", "2.5", "2.5..5", "10"}[i], fmt.Sprint("r", j%2), fmt.Sprint("v", i)},
				[]any{"Meter", level, 0.9*level + 0.2*float64(j), fmt.Sprint("r", j%2), fmt.Sprint("v", i)})
		}
	}
	for i, off := range []float64{0.3, -0.4, 0.1, 0.5, -0.2, -0.5, 0.4, 0, -0.3, 0.2, -0.1, 0.4} { // one that needs more tests
		level := []float64{0, 3, 6, 10}[i%4]
		rows = append(rows, []any{"Other meter", level, level + off, "", ""})
	}
	need := "[[need]]\nname = \"hold\"\nlow = 1\nhigh = 8\npermitted = [ { at = 1, error = 1 }, { at = 8, error = 1 } ]\n"
	methods := chartFile("[0, 2.5, 5, 10]") + "[[method]]\nname = \"Meter\"\nkind = \"display\"\nresolution = 0.1\n[[method]]\nname = \"Other meter\"\nkind = \"display\"\nresolution = 0.1\n"
	trial, err := intake.Trial(file("readings.csv", table("method,level,reading,reader,vial", rows...)), file("methods.toml", methods), file("need.toml", need))
	if err != nil {
		t.Fatal(err)
	}
	p, err := assess.PerformanceOf(trial, "Meter", "", assess.Options{})
	if err != nil {
		t.Fatal(err)
	}
	said := func() []byte {
		var b bytes.Buffer
		enc := json.NewEncoder(&b)
		if err := enc.Encode(assess.Run(trial, assess.Options{Seed: 1})); err != nil {
			t.Error(err)
		}
		a, err := p.Read(result.Question{Readings: []string{"4.9"}})
		if err != nil {
			t.Error(err)
		}
		fmt.Fprintf(&b, "%+v", a.Result)
		return b.Bytes()
	}
	var all [2][]byte
	var wg sync.WaitGroup
	for i := range all {
		wg.Go(func() { all[i] = said() })
	}
	wg.Wait()
	alone := all[0]
	if !testing.Short() { // the race detector has seen what it came for
		alone = said()
	}
	for i := range all {
		if !bytes.Equal(all[i], alone) {
			t.Errorf("judged at once, number %d says something else", i)
		}
	}
}
