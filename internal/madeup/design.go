// Package madeup makes trials of one method up, for tests of what is asked about them and said of them.
package madeup

import (
	"fmt"
	"math"
	"math/rand/v2"

	"knownwater"
	"knownwater/science/reading"
	"knownwater/science/unit"
)

// Design is a made-up trial of one method.
type Design struct {
	Name   string
	Method knownwater.Method
	Levels []float64
	N      int
	Mean   func(c float64) float64 // nil: c
	SD     func(c float64) float64
	Show   func(y float64) string
}

// Of is a design, in short.
func Of(name string, m knownwater.Method, levels []float64, n int, mean, sd func(c float64) float64, show func(y float64) string) Design {
	return Design{name, m, levels, n, mean, sd, show}
}

// What most trials are made of: levels, a display, a card and a drop count.
var (
	Levels = []float64{0, 1, 2.5, 5, 10, 20, 40}
	Meter  = knownwater.Method{Name: "Meter", Kind: knownwater.Display, Resolution: 0.01, DilutionFactor: 8, DilutionOver: 12}
	Card   = knownwater.Method{Name: "Card", Kind: knownwater.Chart, Swatches: []float64{0, 1, 2.5, 5, 10, 20, 40, 80}, AtShare: 0.25}
	Drops  = knownwater.Method{Name: "Drops", Kind: knownwater.Drops, DropValue: 0.5}
)

// OnMeter is what the display shows, OnDrops the drop count, OnTiles what a chart does.
func OnMeter(y float64) string { return fmt.Sprintf("%.2f", y) }

func OnDrops(y float64) string { return fmt.Sprintf("%dd", int(math.Max(0, math.Ceil(y/0.5)))) }

func OnTiles(m knownwater.Method) func(y float64) string {
	tiles := reading.Tiles(m)
	return func(y float64) string {
		for _, t := range tiles {
			if y <= t.Seen.High {
				return t.Text
			}
		}
		return tiles[len(tiles)-1].Text
	}
}

// Constant and Growing are spreads: √(a² + (bc)²).
func Constant(s float64) func(float64) float64 { return func(float64) float64 { return s } }

func Growing(a, b float64) func(float64) float64 {
	return func(c float64) float64 { return math.Hypot(a, b*c) }
}

// Trial draws one; spoil changes readings (a latent value for a row) or levels.
func (d Design) Trial(rng *rand.Rand, analyte string, spoil func(i int, c, y float64) float64) knownwater.Trial {
	scale, err := unit.Parse(analyte, "mg/L", "")
	if analyte == "alkalinity" {
		scale, err = unit.Parse(analyte, "dKH", "")
	}
	if err != nil {
		panic(err)
	}
	t := knownwater.Trial{Scale: scale, WaterStated: true, Methods: []knownwater.Method{d.Method}}
	row := 2
	for _, c := range d.Levels {
		for range d.N {
			m := c
			if d.Mean != nil {
				m = d.Mean(c)
			}
			y := m + d.SD(c)*rng.NormFloat64()
			if spoil != nil {
				y = spoil(row, c, y)
			}
			if y < 0 && reading.Of(d.Method.Kind).FromNothing {
				y = 0
			}
			text := d.Show(y)
			seen, err := reading.Understand(text, d.Method)
			if err != nil {
				panic(err)
			}
			t.Observations = append(t.Observations, knownwater.Observation{Method: d.Method.Name, Level: c, Text: text, Seen: seen, Dilution: 1, Count: 1, Row: row})
			row++
		}
	}
	return t
}

// AtMost says whether k of n is no more than a share p allows, at 1 in 1,000.
func AtMost(k, n int, p float64) bool {
	mean, sd := float64(n)*p, math.Sqrt(float64(n)*p*(1-p))
	return float64(k) <= mean+3.1*sd+0.5
}
