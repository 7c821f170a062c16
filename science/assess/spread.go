package assess

import (
	"math"
	"slices"
	"sort"

	"knownwater/science/note"
	"knownwater/science/num"
)

// fewReaders is the number of readers below which each one's offset is shown:
// the population's spread is then known only within a factor of three or so.
const fewReaders = 5

// spreadFinding splits the spread by source, stated at the response Ref.
func (st *study) spreadFinding() {
	s := &st.finding.Spread
	for _, n := range []*Number{&s.Sigma0, &s.Kappa, &s.At, &s.RepeatabilitySD, &s.RepeatabilityLow, &s.RepeatabilityHigh,
		&s.ReaderSD, &s.ReaderLow, &s.ReaderHigh, &s.SessionSD, &s.SessionLow, &s.SessionHigh,
		&s.VialSD, &s.VialLow, &s.VialHigh, &s.LotSD, &s.LotLow, &s.LotHigh} {
		*n = None
	}
	if st.post == nil {
		return
	}
	p := st.post
	s.At = Number(p.Ref)
	s.RepeatabilityHigh = Number(quantile(p.Phi, 0.975))
	if st.flat {
		s.RepeatabilityLow = 0
	} else {
		s.RepeatabilitySD, s.RepeatabilityLow = Number(quantile(p.Phi, 0.5)), Number(quantile(p.Phi, 0.025))
		st.spreadFunction(s)
	}
	for _, part := range []struct {
		name          string
		sd, low, high *Number
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
		*part.low, *part.high = 0, Number(quantile(p.Tau[f], 0.975))
		if !st.flat {
			*part.sd, *part.low = Number(quantile(p.Tau[f], 0.5)), Number(quantile(p.Tau[f], 0.025))
		}
	}
}

// spreadFunction gives σ0 and κ of the whole spread; one response cannot tell
// the two apart.
func (st *study) spreadFunction(s *Spread) {
	if len(st.levels) < 2 {
		st.note(note.New("one-level-spread"))
		return
	}
	p := st.post
	sigma0, kappa := make([]float64, p.Draws()), make([]float64, p.Draws())
	for k := range sigma0 {
		sigma0[k] = st.total(k, 0)
		at := st.total(k, p.Ref)
		kappa[k] = math.Sqrt(math.Max(0, at*at-sigma0[k]*sigma0[k])) / p.Ref
	}
	s.Sigma0, s.Kappa = Number(quantile(sigma0, 0.5)), Number(quantile(kappa, 0.5))
}

func quantile(draws []float64, p float64) float64 {
	s := slices.Clone(draws)
	sort.Float64s(s)
	return num.Quantile(s, p)
}

// readerOffsets shows each reader against the average of the trial's readers.
func (st *study) readerOffsets() {
	f, ok := st.factor["reader"]
	if !ok || st.post == nil {
		return
	}
	names := st.members["reader"]
	if len(names) >= fewReaders {
		return
	}
	effects := st.post.Effect[f]
	for j, name := range names {
		d := make([]float64, st.post.Draws())
		for k := range d {
			mean := 0.0
			for i := range names {
				mean += effects[i][k] / float64(len(names))
			}
			d[k] = effects[j][k] - mean
		}
		st.finding.Readers = append(st.finding.Readers, Offset{
			Reader: name, Offset: Number(quantile(d, 0.5)), Low: Number(quantile(d, 0.025)), High: Number(quantile(d, 0.975)),
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
	if st.post != nil && st.df < 6 && !st.flat {
		st.note(note.New("spread-loose").Number("df", st.df).Number("factor", math.Exp(1.96/math.Sqrt(2*st.df))))
	}
}
