package assess_test

import (
	"fmt"
	"math"
	"testing"
)

// Limits of how much more one technique scatters than another hold what the readings alone say: five within 0.2, two
// 1 apart, at seven knowns. By hand, with ψ and ψ′ at 2 and ½ of R's digamma and trigamma (from memory):
// log(√½/√0.025) + ½(0.4228 − 0.6931) + ½(1.9635 − 0.6931) = 1.9979, ± 1.7507·√((0.6449 + 4.9348)/4/7) = 0.7815.
func TestRatiosOfScatterHoldWhatReadingsSay(t *testing.T) {
	var rows [][]any
	for _, c := range []float64{0, 1, 2.5, 5, 10, 20, 40} {
		for _, d := range []float64{-0.2, -0.1, 0, 0.1, 0.2} {
			rows = append(rows, []any{"M", c, fmt.Sprintf("%.2f", c+d), "careful"})
		}
		for _, d := range []float64{-0.5, 0.5} {
			rows = append(rows, []any{"M", c, fmt.Sprintf("%.2f", c+d), "careless"})
		}
	}
	all := assessed(t, table("method,level,reading,technique", rows...), nitrate+"[[method]]\nname = \"M\"\nkind = \"display\"\nresolution = 0.01\n", "").Methods[0].Techniques
	if len(all) != 1 {
		t.Fatalf("%d techniques", len(all))
	}
	low, high := float64(all[0].SDRatioLow), float64(all[0].SDRatioHi)
	if wantLow, wantHigh := math.Exp(1.9979-0.7815), math.Exp(1.9979+0.7815); low > wantLow*1.001 || high < wantHigh*0.999 {
		t.Errorf("scatters %.3g to %.3g times as much; the readings alone say %.3g to %.3g", low, high, wantLow, wantHigh)
	}
	t.Logf("%.3g to %.3g", low, high)
}
