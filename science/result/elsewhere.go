package result

import (
	"knownwater"
	"knownwater/science/interval"
	"knownwater/science/inverse"
)

// Elsewhere is the least number of readings by another source, up to most, that by
// themselves settle a need in four of five cases; 0: most do not. The cases are those that the
// first readings leave, equally likely; what the other source shares of its readings (its
// lot, session and the like) does not average out. What the first readings said is not
// counted again, so that the number is rather too high than too low.
func Elsewhere(cases []float64, src Source, reader string, n knownwater.Need, most int) int {
	for m := 1; m <= most; m++ {
		if settlesAlone(cases, src, Readings{reader, m}, n) >= inCases {
			return m
		}
	}
	return 0
}

func settlesAlone(cases []float64, src Source, by Readings, n knownwater.Need) float64 {
	r := src.Of([]Readings{by}, true)
	nobody := []Readings{{by.Reader + "\x00", 1}} // of whom nothing is known, so that nothing is taken over from him
	share := 0.0
	for _, c := range cases {
		y, sd := src.Next(c, r.Level(c), nobody, by)
		for _, k := range nodes {
			at := y + k.z*sd
			half := src.Step(at) / 2
			seen := interval.Interval{Low: at - half, High: at + half}
			a := inverse.Turn(r, seen)
			chances := newDensity(r, seen, a, quick, n.Low, n.High).chances(seen, n.Low, n.High).within(a, n.Low, n.High)
			if a.Open == inverse.Closed && chances.decided(sure(n)) != "" {
				share += k.weight / float64(len(cases))
			}
		}
	}
	return share
}
