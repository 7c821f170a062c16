package history_test

import (
	"fmt"
	"testing"
	"time"

	"knownwater/science/history"
	"knownwater/science/num"
)

// Ten waters tested every day for ten years, two lots or forty, a check every other week.
func BenchmarkTenYears(b *testing.B) {
	p := recordAs(b, meter)
	for _, lots := range []int{2, 40} {
		b.Run(fmt.Sprint("lots=", lots), func(b *testing.B) {
			rng := num.Source(3)
			var all []history.Entry
			for day := range 3650 {
				lot := fmt.Sprint("L", 1+day*lots/3650)
				e := history.Entry{At: time.Date(2016, 1, 1, 9, 0, 0, 0, time.UTC).AddDate(0, 0, day), Method: "Meter", Lot: lot, Reader: "Ines", Dilution: 1}
				for tank := range 10 {
					e.Row, e.Water, e.Reading = len(all)+2, fmt.Sprint("tank ", tank), fmt.Sprintf("%.1f", 4+0.2*rng.NormFloat64())
					all = append(all, e)
				}
				if day%14 == 0 {
					e.Row, e.Water, e.Check, e.Known, e.UKnown, e.Reading = len(all)+2, "", true, 10, 0.02, fmt.Sprintf("%.1f", 10+0.2*rng.NormFloat64())
					all = append(all, e)
				}
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := history.Of(all, history.Methods{Records: map[string][]history.Source{"Meter": {p}}}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
