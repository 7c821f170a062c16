package record

// Knowledge is what a trial knows of a response: level means with all their doubt.
type Knowledge struct {
	Level []float64   // rising
	Mean  []float64   // best mean reading at each level
	Draw  [][]float64 // [draw][level]: equally likely mean readings
	Known [][]float64 // [draw][level]: equally likely errors of the knowns, true − stated
	DF    float64     // degrees of freedom of the means, above 2; 0 if there are none
	// Lead is how many of the draws say how sure the means are, the first ones; 0: all. The
	// others are carried along.
	Lead int
	// Near, if given, is a fit to nearly the same means: searches begin at what it found.
	Near *Response
	// Signal says that the readings are of light, so that stray light may bend them.
	Signal bool

	scatter, known [][]float64 // of the means, and the covariance of the knowns
}

// Settled has worked out how the draws lie: what every fit to them weighs by.
func (k Knowledge) Settled() Knowledge {
	lead := k.lead()
	scatter, df := scatterOf(k.Draw[:lead])
	if scatter == nil {
		scatter = Covariance(k.Draw[:lead])
	}
	k.scatter, k.known, k.DF = scatter, Covariance(k.Known[:lead]), df
	return k
}

// settledAs is that with the degrees of freedom as they were given.
func (k Knowledge) settledAs() Knowledge {
	if k.scatter == nil {
		df := k.DF
		k = k.Settled()
		k.DF = df
	}
	return k
}

// Only keeps the listed levels.
func (k Knowledge) Only(at []int) Knowledge {
	cut := func(v []float64) []float64 {
		out := make([]float64, len(at))
		for j, i := range at {
			out[j] = v[i]
		}
		return out
	}
	each := func(rows [][]float64) [][]float64 {
		out := make([][]float64, len(rows))
		for i, v := range rows {
			out[i] = cut(v)
		}
		return out
	}
	block := func(v [][]float64) [][]float64 {
		out := make([][]float64, len(at))
		for j, i := range at {
			out[j] = cut(v[i])
		}
		return out
	}
	k.Level, k.Mean, k.Draw, k.Known = cut(k.Level), cut(k.Mean), each(k.Draw), each(k.Known)
	k.scatter, k.known = block(k.scatter), block(k.known)
	return k
}

// Undrawn is without draws, where nothing but the best fit is wanted: it weighs by how they lay.
func (k Knowledge) Undrawn() Knowledge {
	k.Draw, k.Known, k.Lead = nil, nil, 0
	return k
}

func (k Knowledge) lead() int {
	if k.Lead > 0 {
		return k.Lead
	}
	return len(k.Draw)
}

// covariance is that of the level means as points of the response: of what is known of them, and of
// the knowns through the slope. Of means it is the t's matrix, which is the covariance but for a
// factor that they all have.
func (k Knowledge) covariance(l *linked) [][]float64 {
	slope, p := make([]float64, len(k.Level)), l.plain(l.q)
	for i, c := range k.Level {
		slope[i] = l.shape.Slope(p, c)
	}
	v := make([][]float64, len(slope))
	for i := range v {
		v[i] = make([]float64, len(slope))
		for j := range v[i] {
			v[i][j] = k.scatter[i][j] + slope[i]*slope[j]*k.known[i][j]
		}
	}
	return v
}
