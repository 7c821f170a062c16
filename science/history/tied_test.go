package history_test

import (
	"slices"
	"testing"

	"knownwater/science/history"
)

// A lot or a reader that read waters, and that nothing ties to known water, is told of, with what would tie it: of made-up waters
// read with a lot that reads 15 % less, beside checks of another lot, 98 of 100 levels lay outside their limits without a word.
func TestWhatIsNotTiedIsToldOf(t *testing.T) {
	m := history.Methods{Records: map[string][]history.Source{"Meter": {recordOf(t)}}}
	for name, row := range map[string]struct {
		results, checks history.Entry // who reads, and with which lot
		want            string
	}{
		"the trial's lot":                     {history.Entry{Lot: "L1", Reader: "Ines"}, history.Entry{Lot: "L1", Reader: "Ines"}, ""},
		"another lot":                         {history.Entry{Lot: "L2", Reader: "Ines"}, history.Entry{Lot: "L1", Reader: "Ines"}, "lot-not-tied"},
		"another lot that is checked":         {history.Entry{Lot: "L2", Reader: "Ines"}, history.Entry{Lot: "L2", Reader: "Ines"}, ""},
		"another lot that is checked alone":   {history.Entry{Lot: "L1", Reader: "Ines"}, history.Entry{Lot: "L2", Reader: "Ines"}, ""},
		"a lot that nobody noted":             {history.Entry{Lot: history.UnknownLot, Reader: "Ines"}, history.Entry{Lot: "L1", Reader: "Ines"}, ""}, // lots-not-stated
		"another reader":                      {history.Entry{Lot: "L1", Reader: "Bert"}, history.Entry{Lot: "L1", Reader: "Ines"}, "reader-not-tied"},
		"another reader who reads the checks": {history.Entry{Lot: "L1", Reader: "Bert"}, history.Entry{Lot: "L1", Reader: "Bert"}, ""},
	} {
		log := another(1, false, true, false)
		for i := range log {
			by := row.results
			if log[i].Check {
				by = row.checks
			}
			log[i].Lot, log[i].Reader = by.Lot, by.Reader
		}
		told := ""
		for _, n := range ofLog(t, log, m).Notes {
			if slices.Contains([]string{"lot-not-tied", "reader-not-tied"}, n.Code) {
				told += n.Code
			}
		}
		if told != row.want {
			t.Errorf("%s: %q, not %q", name, told, row.want)
		}
	}
}
