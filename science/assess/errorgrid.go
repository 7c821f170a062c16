package assess

import "math"

// errorGrid looks an error up by mean and standard deviation of the readings:
// error ÷ sd at the nodes of a grid over bias ÷ sd and sd, worked out when a node
// is first asked for, straight lines between them, good to some thousandths. Standard
// deviations have eight nodes an octave, as the first digits of a binary number go.
type errorGrid struct {
	centre, scale float64 // the mean without bias; what standard deviations are counted in
	direct        func(mean, sd float64) float64
	rows          [octaves * perOctave]*[2*biasNodes + 2]float64 // by sd; 0: not asked for yet
}

// The grid's steps, and where nothing is looked up: biases beyond mostBias standard
// deviations, standard deviations beyond 2^(octaves/2) of the scale either way.
const (
	biasStep  = 0.1
	mostBias  = 8
	biasNodes = mostBias / biasStep
	octaves   = 40
	octaveLog = 3
	perOctave = 1 << octaveLog
	digits    = 52 - octaveLog                          // of a number's binary digits, those between two nodes
	firstNode = uint64(1023-octaves/2) << (52 - digits) // that of 2^(−octaves/2)
	ofDigits  = 1 / float64(uint64(1)<<digits)          // … as a share
)

func (g *errorGrid) at(mean, sd float64) float64 {
	x, bits := (mean-g.centre)/(sd*biasStep)+biasNodes, math.Float64bits(sd/g.scale)
	j := bits>>digits - firstNode
	if !(x > 0 && x < 2*biasNodes && j < octaves*perOctave-1) {
		return g.direct(mean, sd)
	}
	i := int(x)
	s, t := x-float64(i), float64(bits&(1<<digits-1))*ofDigits
	a, b, c, d := g.of(i, j), g.of(i+1, j), g.of(i, j+1), g.of(i+1, j+1)
	e := sd * ((1-t)*((1-s)*a+s*b) + t*((1-s)*c+s*d))
	if math.IsInf(e, 0) || math.IsNaN(e) {
		return g.direct(mean, sd)
	}
	return e
}

func (g *errorGrid) of(i int, j uint64) float64 {
	row := g.rows[j]
	if row == nil || row[i] == 0 {
		return g.made(i, j)
	}
	return row[i]
}

func (g *errorGrid) made(i int, j uint64) float64 {
	if g.rows[j] == nil {
		g.rows[j] = new([2*biasNodes + 2]float64)
	}
	sd := g.scale * math.Float64frombits((j+firstNode)<<digits)
	g.rows[j][i] = g.direct(g.centre+float64(i-biasNodes)*biasStep*sd, sd) / sd
	return g.rows[j][i]
}
