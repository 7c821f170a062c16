package reading

import (
	"math"
	"strconv"

	"knownwater"
	"knownwater/science/interval"
)

// Show is what a method shows for a response y on the scale that it stands on,
// in the notation: a chart's nearest "at" or "between", a display's digits, a
// count of drops.
func Show(y float64, m knownwater.Method) string {
	return Of(m.Kind).show(y/Factor(m), Own(m))
}

func showChart(y float64, m knownwater.Method) string {
	tiles := chartTiles(m)
	for _, t := range tiles {
		if y <= t.Seen.High {
			return t.Text
		}
	}
	return tiles[len(tiles)-1].Text
}

func showDrops(y float64, m knownwater.Method) string {
	return strconv.Itoa(int(math.Ceil(max(0, y)/m.DropValue-1e-12))) + "d"
}

func showNumber(y float64, m knownwater.Method) string {
	if m.Range != nil && y > m.Range.High {
		return ">" + Format(m.Range.High)
	}
	if m.Range != nil {
		y = max(m.Range.Low, y)
	}
	step := m.Resolution
	if step <= 0 {
		step = 0.01
	}
	return strconv.FormatFloat(math.Round(y/step)*step+0, 'f', decimals(step), 64) // + 0: no minus before a zero
}

// decimals is how many a step of a display needs.
func decimals(step float64) int {
	for d := 0; d < 9; d++ {
		if s := step * math.Pow10(d); math.Abs(s-math.Round(s)) < 1e-6*s {
			return d
		}
	}
	return 9
}

func chartAnswers(m knownwater.Method, _ float64) []Answer {
	var out []Answer
	for _, tile := range chartTiles(m) {
		t, _ := Parse(tile.Text) // in the notation, as chartTiles writes it
		out = append(out, Answer{tile.Seen, t.middle(m)})
	}
	return out
}

// mostDrops bounds the counts that are told apart.
const mostDrops = 400

// dropAnswers are none, each count up to twice the mean and a few more, and more
// than that.
func dropAnswers(m knownwater.Method, upTo float64) []Answer {
	d := m.DropValue
	out := []Answer{{interval.Below(0), 0}}
	n := int(math.Ceil(2*upTo/d)) + 5
	for i := 1; i <= min(n, mostDrops); i++ {
		out = append(out, Answer{interval.Interval{Low: float64(i-1) * d, High: float64(i) * d}, float64(i) * d})
	}
	last := out[len(out)-1].Value
	return append(out, Answer{interval.Above(last), last})
}
