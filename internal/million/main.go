// Command million writes a readings.csv of one invented chart method read by
// ten people at eight knowns, as many rows as asked for: 42 bytes a row, 42 MB
// for a million. Same -rows, same file.
//
//	go run ./internal/million -rows 1000000 >readings.csv
package main

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strconv"

	"knownwater"
	"knownwater/science/reading"
)

func main() {
	rows := flag.Int("rows", 1_000_000, "rows to write")
	flag.Parse()
	if err := write(os.Stdout, *rows); err != nil {
		fmt.Fprintln(os.Stderr, "million:", err)
		os.Exit(1)
	}
}

// The invented truth: a card that reads 5 % high, whose spread is 0.3 and 10 %
// of the reading, and ten people who differ by 3 %.
const (
	slope, base, share = 1.05, 0.3, 0.10
	people, apart      = 10, 0.03
)

var card = knownwater.Method{Name: "Sandpiper tint card", Kind: knownwater.Chart, Swatches: []float64{0, 3, 6, 12, 20, 35, 70}, AtShare: knownwater.DefaultAtShare}

var levels = []float64{0, 1.5, 4.5, 8, 15, 27, 40, 55}

func write(w io.Writer, rows int) error {
	rng := rand.New(rand.NewPCG(42, 42))
	offset := make([]float64, people)
	for i := range offset {
		offset[i] = 1 + apart*rng.NormFloat64()
	}
	out := bufio.NewWriterSize(w, 1<<20)
	out.WriteString("method,level,u_level,reading,reader\n")
	for i := range rows {
		level, reader := levels[i%len(levels)], i/len(levels)%people
		mean := slope * level * offset[reader]
		seen := reading.Show(mean+math.Hypot(base, share*mean)*rng.NormFloat64(), card)
		out.WriteString(card.Name)
		out.WriteByte(',')
		out.WriteString(strconv.FormatFloat(level, 'f', -1, 64))
		out.WriteString(",0.05,")
		out.WriteString(seen)
		out.WriteString(",Reader ")
		out.WriteString(strconv.Itoa(reader + 1))
		out.WriteByte('\n')
	}
	return out.Flush()
}
