package assess

import "math"

// errorGrid looks an error up by mean and standard deviation of the readings:
// error ÷ sd at the nodes of a grid over bias ÷ sd and log sd, worked out when a node
// is first asked for, straight lines between them, good to some thousandths.
type errorGrid struct {
	centre float64
	direct func(mean, sd float64) float64
	node   map[[2]int]float64
}

// The grid's steps, and the bias beyond which nothing is looked up.
const (
	biasStep = 0.2
	logStep  = 0.12
	mostBias = 8
)

func newErrorGrid(centre float64, direct func(mean, sd float64) float64) *errorGrid {
	return &errorGrid{centre, direct, map[[2]int]float64{}}
}

func (g *errorGrid) at(mean, sd float64) float64 {
	bias := (mean - g.centre) / sd
	if !(math.Abs(bias) < mostBias) || math.IsInf(sd, 0) {
		return g.direct(mean, sd)
	}
	x, y := bias/biasStep, math.Log(sd)/logStep
	i, j := int(math.Floor(x)), int(math.Floor(y))
	s, t := x-float64(i), y-float64(j)
	a, b, c, d := g.of(i, j), g.of(i+1, j), g.of(i, j+1), g.of(i+1, j+1)
	e := sd * ((1-t)*((1-s)*a+s*b) + t*((1-s)*c+s*d))
	if math.IsInf(e, 0) || math.IsNaN(e) {
		return g.direct(mean, sd)
	}
	return e
}

func (g *errorGrid) of(i, j int) float64 {
	k := [2]int{i, j}
	if e, ok := g.node[k]; ok {
		return e
	}
	sd := math.Exp(float64(j) * logStep)
	e := g.direct(g.centre+float64(i)*biasStep*sd, sd) / sd
	g.node[k] = e
	return e
}
