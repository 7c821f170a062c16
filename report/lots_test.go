package report_test

import (
	"strings"
	"testing"

	"knownwater/report"
	"knownwater/science/history"
)

// What two lots were compared by is named whole, and vials are planned of the known that most were of.
func TestLotsBesideByKnowns(t *testing.T) {
	x := history.Lot{Code: "L2", Before: "L1", Told: "undecided", Beside: history.Beside{Ratio: 0.95, Low: 0.89, High: 1.02, From: 6, To: 5, Knowns: []float64{2, 10}, Known: 10, CV: 0.05}}
	said := report.LotsSay(nil, x, true)
	if len(said) != 1 || !strings.Contains(said[0].More, "By 5 vials of knowns of 2 and 10 with it and 6 with lot L1.") || strings.Contains(said[0].More, "would show") {
		t.Errorf("%+v", said)
	}
	x.Knowns, x.CV = x.Knowns[1:], 0.1
	said = report.LotsSay(nil, x, true)
	if len(said) != 1 || !strings.Contains(said[0].More, "By 5 vials of a known of 10 with it") || !strings.Contains(said[0].More, "15 vials of a known of 10 with each would show a tenth") {
		t.Errorf("%+v", said)
	}
}
