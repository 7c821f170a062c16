package assess

import "math"

// errorGrid looks an error up by mean and standard deviation of the readings:
// error ÷ sd at the nodes of a grid over bias ÷ sd and log sd, worked out when a node
// is first asked for, straight lines between them, good to some thousandths.
type errorGrid struct {
	centre, scale float64 // the mean without bias; what standard deviations are counted in
	direct        func(mean, sd float64) float64
	rows          [logRows]*[2*biasNodes + 2]float64 // by log sd; 0: not asked for yet
}

// The grid's steps, and where nothing is looked up: biases beyond mostBias standard
// deviations, standard deviations beyond e^(logStep·logRows/2) of the scale either way.
const (
	biasStep  = 0.2
	mostBias  = 8
	biasNodes = mostBias / biasStep
	logStep   = 0.12
	logRows   = 240
)

func (g *errorGrid) at(mean, sd float64) float64 {
	x, y := (mean-g.centre)/sd/biasStep+biasNodes, math.Log(sd/g.scale)/logStep+logRows/2
	if !(x > 0 && x < 2*biasNodes && y > 0 && y < logRows-1) {
		return g.direct(mean, sd)
	}
	i, j := int(x), int(y)
	s, t := x-float64(i), y-float64(j)
	a, b, c, d := g.of(i, j), g.of(i+1, j), g.of(i, j+1), g.of(i+1, j+1)
	e := sd * ((1-t)*((1-s)*a+s*b) + t*((1-s)*c+s*d))
	if math.IsInf(e, 0) || math.IsNaN(e) {
		return g.direct(mean, sd)
	}
	return e
}

func (g *errorGrid) of(i, j int) float64 {
	row := g.rows[j]
	if row == nil {
		row = new([2*biasNodes + 2]float64)
		g.rows[j] = row
	}
	if row[i] == 0 {
		sd := g.scale * math.Exp(float64(j-logRows/2)*logStep)
		row[i] = g.direct(g.centre+float64(i-biasNodes)*biasStep*sd, sd) / sd
	}
	return row[i]
}
