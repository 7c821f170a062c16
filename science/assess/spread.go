package assess

import (
	"math"
	"slices"

	"knownwater/science/note"
	"knownwater/science/num"
	"knownwater/science/posterior"
	"knownwater/science/record"
)

// fewReaders is the number of readers below which each one's offset is shown:
// the population's spread is then known only within a factor of three or so.
const fewReaders = 5

// spreadFinding splits the spread by source, stated at the response Ref.
func (st *study) spreadFinding() {
	s := &st.finding.Spread
	for _, n := range []*num.Number{&s.Sigma0, &s.Kappa, &s.At, &s.RepeatabilitySD, &s.RepeatabilityLow, &s.RepeatabilityHigh,
		&s.ReaderSD, &s.ReaderLow, &s.ReaderHigh, &s.SessionSD, &s.SessionLow, &s.SessionHigh,
		&s.VialSD, &s.VialLow, &s.VialHigh, &s.LotSD, &s.LotLow, &s.LotHigh} {
		*n = num.None
	}
	if st.post == nil {
		return
	}
	d := st.post.Wide
	i := st.middleLevel()
	at := st.along(st.levels[i].value)
	s.At = num.Number(st.bestMean(st.groupAt(i)))
	own := make([]float64, d.Len())
	for k := range own {
		own[k] = at.repeatability(d, k)
	}
	s.RepeatabilityLow, s.RepeatabilityHigh = num.Number(quantile(own, 0.025)), num.Number(quantile(own, 0.975))
	if lf := st.finding.Levels[i]; len(d.Ratio) == 0 && d.Unseen == nil { // there is nothing else: it is the whole spread there
		s.RepeatabilityLow, s.RepeatabilityHigh = min(s.RepeatabilityLow, lf.SDLow), max(s.RepeatabilityHigh, lf.SDHigh)
	}
	if st.mayNotScatter(at) {
		s.RepeatabilityLow = 0
	}
	if !st.flat {
		s.RepeatabilitySD = num.Number(quantile(own, 0.5))
		st.spreadFunction(s)
	}
	for _, part := range []struct {
		name          string
		sd, low, high *num.Number
	}{
		{"reader", &s.ReaderSD, &s.ReaderLow, &s.ReaderHigh},
		{"session", &s.SessionSD, &s.SessionLow, &s.SessionHigh},
		{"vial", &s.VialSD, &s.VialLow, &s.VialHigh},
		{"lot", &s.LotSD, &s.LotLow, &s.LotHigh},
	} {
		f, ok := st.factor[part.name]
		if !ok {
			if why := st.why[part.name]; why.Code != "" && !(part.name == "lot" && why.Code == "part-not-noted") {
				st.note(note.New("no-part").Name("part", part.name).Since(why))
			}
			continue
		}
		tau := make([]float64, d.Len())
		for k := range tau {
			tau[k] = own[k] * at.part(d, f, k)
		}
		*part.low, *part.high = 0, num.Number(quantile(tau, 0.975))
		if !st.flat {
			*part.sd = num.Number(quantile(tau, 0.5))
			if !mayBeNothing(d.Ratio[f], st.data.Factors[f].Scale) {
				*part.low = num.Number(quantile(tau, 0.025))
			}
		}
	}
}

// mayBeNothing says whether a part of the spread may as well be nothing, by draws of τ: whether values next to nothing are at least
// a tenth as likely as the likeliest. A likelihood ratio excludes nothing at 2.5 % on its side below e^−½·1.96² = 0.147 where readings
// are many; of made-up trials in which nothing differed 1 to 4 % lie below a tenth. The draws' own 2.5 % quantile lies above nothing in all.
//
// Likelihoods are counts of draws in fifty parts of the prior of equal chance (half-t with 3 degrees of freedom), of the likeliest three together.
func mayBeNothing(tau []float64, scale float64) bool {
	const parts, excluded = 50, 0.1
	var count [parts]float64
	for _, t := range tau {
		count[min(int(parts*posterior.HalfT3(t/scale)), parts-1)]++
	}
	most := (count[0] + count[1]) / 2
	for i := 2; i < parts; i++ {
		most = max(most, (count[i-2]+count[i-1]+count[i])/3)
	}
	return count[0] >= excluded*most
}

// sureParts says of each factor whether the part of the spread that it makes is more than nothing for sure.
func (st *study) sureParts() []bool {
	if st.sure == nil {
		d := st.post.Wide
		st.sure = make([]bool, len(d.Ratio))
		for f, tau := range d.Ratio {
			st.sure[f] = !mayBeNothing(tau, st.data.Factors[f].Scale)
		}
	}
	return st.sure
}

// nothingShare is in how many of the draws by which something is told against a method parts that may be nothing are nothing (our convention).
const nothingShare = 0.25

// surely are wide draws of readings by which something is told against a method. Parts of the spread that may as well be nothing are so in a quarter
// of them, all at once: by the prior of each there is hardly a draw in which all are, and of displays that three people read in two sessions,
// nobody differing by more than 0.2 repeatabilities, lower limits of the error lay too high in 4 to 9 of 100 trials by place, so in 0 to 3; in
// half of the draws 0 to 2, and twice the permitted error was found less often. The draws are spread evenly (a golden section apart), as
// later steps take every second or fourth.
func (st *study) surely(wide []record.Normal, at between) []record.Normal {
	sure, d := st.sureParts(), st.post.Wide
	if !slices.Contains(sure, false) {
		return wide
	}
	out := slices.Clone(wide) // upper limits may be told by the same draws
	for i := range out {
		if _, part := math.Modf(float64(i) * math.Phi); part >= nothingShare {
			continue
		}
		k := i * d.Len() / len(out)
		left, whole := 1.0, at.whole(d, k)
		for f, s := range sure {
			if part := at.part(d, f, k) / whole; !s {
				left -= part * part
			}
		}
		out[i].SD *= math.Sqrt(left)
	}
	return out
}

// spreadFunction gives σ0 and κ of the two-component function that comes
// nearest to the levels' whole spreads, Σ((σ0² + κ²m²)/s² − 1)² least with both at least 0; a
// description, as every level's spread is its own. One response cannot tell
// the two apart.
func (st *study) spreadFunction(s *Spread) {
	if len(st.levels) < 2 {
		st.note(note.New("one-level-spread"))
		return
	}
	var a11, a12, a22, b1, b2 float64
	for i, lf := range st.finding.Levels {
		sd, m := float64(lf.SD), st.bestMean(st.groupAt(i))
		x, y := 1/(sd*sd), m*m/(sd*sd)
		a11, a12, a22, b1, b2 = a11+x*x, a12+x*y, a22+y*y, b1+x, b2+y
	}
	det := a11*a22 - a12*a12
	square0, kappa2 := (b1*a22-b2*a12)/det, (a11*b2-a12*b1)/det
	switch {
	case !(square0 >= 0):
		square0, kappa2 = 0, b2/a22
	case !(kappa2 >= 0):
		square0, kappa2 = b1/a11, 0
	}
	s.Sigma0, s.Kappa = num.Number(math.Sqrt(square0)), num.Number(math.Sqrt(kappa2))
}

func quantile(draws []float64, p float64) float64 { return num.QuantileOf(draws, p) }

// readerOffsets shows each reader against the average of the trial's readers. Where few answers tell of
// people, most draws have them differ by next to nothing, in which all offsets are as small: the middle 95 % of
// all draws hold on average over the prior, and miss people who do differ. Limits are those of the quarter of the draws
// in which people differ most, where these lie further out: of coarse charts read by three, on which most levels
// gave one answer, the middle 95 % missed 14 of 81 offsets, these 4.
func (st *study) readerOffsets() {
	f, ok := st.factor["reader"]
	if !ok || st.post == nil {
		return
	}
	names := st.members["reader"]
	if len(names) >= fewReaders {
		return
	}
	wide := st.post.Wide
	effects, at := wide.Effect[f], st.along(st.levels[st.middleLevel()].value)
	own := make([]float64, wide.Len()) // how far people differ, by draw
	for k := range own {
		own[k] = at.repeatability(wide, k) * at.part(wide, f, k)
	}
	far := quantile(own, 0.75)
	for j, name := range names {
		d := make([]float64, wide.Len())
		var apart []float64
		for k := range d {
			mean := 0.0
			for i := range names {
				mean += effects[i][k] / float64(len(names))
			}
			d[k] = at.repeatability(wide, k) * at.over(wide, f, k) * (effects[j][k] - mean)
			if own[k] >= far {
				apart = append(apart, d[k])
			}
		}
		st.finding.Readers = append(st.finding.Readers, Offset{
			Reader: name, Offset: num.Number(quantile(d, 0.5)),
			Low: num.Number(min(quantile(d, 0.025), quantile(apart, 0.025))), High: num.Number(max(quantile(d, 0.975), quantile(apart, 0.975))),
		})
	}
	st.note(note.New("few-readers").Number("readers", float64(len(names))))
}

// explain adds the notes that speak of the whole finding.
func (st *study) explain() {
	zeroU := true
	for _, l := range st.levels {
		zeroU = zeroU && l.u == 0
	}
	if zeroU {
		st.note(note.New("knowns-exact"))
	}
	for _, o := range st.obs {
		if o.UDilution > 0 {
			st.note(note.New("dilution-in-readings"))
			break
		}
	}
	if by := st.looser(); by > 1 {
		st.note(note.New("read-loosely").Number("readings", st.readEvenly()).Number("times", by))
	}
	if st.post != nil && st.df < 6 && !st.flat {
		st.note(note.New("spread-loose").Number("df", st.df).Number("factor", math.Exp(1.96/math.Sqrt(2*st.df))))
	}
}
