package intake

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"
)

const cardTOML = `analyte = "nitrate"
unit = "mg/L"
basis = "NO3"

[[method]]
name = "Violet card"
kind = "chart"
swatches = [0, 1, 2.5, 5, 10, 25, 50]
`

// manyReadings is a file of n readings of one chart by ten readers, about 42
// bytes a row. vials is how many vials there are, 0 for no such column.
func manyReadings(n, vials int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	levels := []string{"0", "0.5", "1", "2", "3.5", "5", "8", "12", "20", "40"}
	answers := []string{"0", "0..1", "1", "1..2.5", "2.5", "2.5..5", "5", "5..10", "10", "10..25", "25", "25..50", "50", ">50"}
	var b bytes.Buffer
	b.WriteString("method,level,reading,u_level,reader,session")
	if vials > 0 {
		b.WriteString(",vial")
	}
	b.WriteByte('\n')
	for range n {
		l := r.IntN(len(levels))
		a := min(max(l+r.IntN(4), 0), len(answers)-1)
		fmt.Fprintf(&b, "Violet card,%s,%s,0.015,Reader %d,Session %d", levels[l], answers[a], r.IntN(10), r.IntN(4))
		if vials > 0 {
			fmt.Fprintf(&b, ",V%d", (l*vials+r.IntN(vials))/10)
		}
		b.WriteByte('\n')
	}
	return b.Bytes()
}

func BenchmarkTrial(b *testing.B) {
	for _, n := range []int{1e3, 1e4, 1e5, 1e6} {
		for _, vials := range []int{0, 1000} {
			b.Run(fmt.Sprintf("rows=%d/vials=%d", n, vials), func(b *testing.B) {
				data := manyReadings(n, vials)
				b.SetBytes(int64(len(data)))
				b.ReportAllocs()
				for b.Loop() {
					trial, err := Trial(Source{Name: "readings.csv", Data: data}, Source{Name: "methods.toml", Data: []byte(cardTOML)}, Source{})
					if err != nil {
						b.Fatal(err)
					}
					runtime.KeepAlive(trial)
				}
			})
		}
	}
}
