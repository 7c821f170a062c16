package assess

import (
	"math"
	"slices"
	"sort"
	"sync"

	"knownwater/science/note"
	"knownwater/science/num"
)

// LotFinding is how one lot reads against the mean of the lots tried.
type LotFinding struct {
	Lot   string     `json:"lot"`
	Ratio num.Number `json:"ratio"`
	Low   num.Number `json:"low"`
	High  num.Number `json:"high"`
}

// LotVerdict is what one lot's readings alone say of a need.
type LotVerdict struct {
	Lot     string `json:"lot"`
	Verdict string `json:"verdict"`
}

// lotFindings treats each lot that was noted as a method of its own: its ratio
// to the mean of the lots, and its verdict. The verdict on a lot that was not
// tried is that of all readings together, in whose spread the lots' part is. The
// method's verdict says no more than the weakest of them.
func (st *study) lotFindings() {
	names := st.lotNames()
	for i := range st.finding.Needs {
		n := &st.finding.Needs[i]
		n.ByLot = []LotVerdict{}
		if len(names) == 1 {
			n.ByLot = append(n.ByLot, LotVerdict{names[0], n.Verdict})
		}
	}
	if len(names) == 1 && len(st.finding.Needs) > 0 {
		st.note(note.New("one-lot").Name("lot", names[0]))
	}
	if len(names) < 2 {
		return
	}
	for _, name := range names {
		st.byLot = append(st.byLot, st.ofLot(name))
	}
	st.lotRatios(names)
	if st.lots != nil && len(names) < FewLots {
		st.note(note.New("few-lots").Number("lots", float64(len(names))))
	}
	if st.scattersOtherwise() {
		st.note(note.New("lots-scatter-otherwise"))
	}
	if twin := st.why["lot"]; twin.Code == "part-is-twin" {
		st.note(note.New("lots-are-twins").Name("twin", twin.Names["twin"]...))
	}
	for i := range st.finding.Needs {
		n := &st.finding.Needs[i]
		untried := n.Verdict
		n.UntriedLot = &untried
		for j, lot := range st.byLot {
			v := lot.finding.Needs[i].Verdict
			n.ByLot = append(n.ByLot, LotVerdict{names[j], v})
			if sayLess(v, n.Verdict) {
				n.Verdict = v
				n.because(note.New("lot-holds-back").Name("lot", names[j]).Name("verdict", v))
			}
		}
		st.moreOfLots(n, i)
		st.sayUntried(n)
	}
}

// FewLots is the number of lots below which how far another may read rests on how lots commonly differ
// more than on the trial.
const FewLots = 5

// sayUntried says where all lots are fit that it is another one of which too little is known, and
// not that the error is close to what is permitted.
func (st *study) sayUntried(n *NeedFinding) {
	lots := len(n.ByLot)
	if lots >= FewLots || *n.UntriedLot != Undecided || slices.ContainsFunc(n.ByLot, func(l LotVerdict) bool { return l.Verdict != Fit && l.Verdict != FitWhenCorrected }) {
		return
	}
	if k := slices.IndexFunc(n.Why, func(w note.Note) bool { return w.Code == "too-close" }); k >= 0 {
		n.Why[k] = note.New("only-untried-lot-open").Number("at", float64(n.Why[k].Numbers["at"][0])).Number("had", float64(lots))
	}
}

// moreOfLots promises where lots hold a need back: as many tests of each lot as the
// one asks for that needs the most, and no number where one of them has none.
func (st *study) moreOfLots(n *NeedFinding, i int) {
	if n.Verdict != Undecided {
		n.MoreTests, n.Help = num.None, nil
		return
	}
	most := 0.0
	if *n.UntriedLot == Undecided {
		most = float64(n.MoreTests) / float64(len(st.byLot))
	}
	for _, lot := range st.byLot {
		if f := lot.finding.Needs[i]; f.Verdict == Undecided {
			most = math.Max(most, float64(f.MoreTests)) // NaN stays
		}
	}
	all := int(math.Ceil(most)) * len(st.byLot)
	if math.IsNaN(most) || all > mostFurther {
		n.MoreTests = num.None
		n.Help = slices.DeleteFunc(n.Help, func(h Help) bool { return h.What == "tests" })
		if k := slices.IndexFunc(n.Why, func(w note.Note) bool { return w.Code == "too-few-tests" }); k >= 0 { // all lots together say so, no lot by itself
			at := float64(n.Why[k].Numbers["at"][0])
			n.Why = slices.Delete(n.Why, k, k+1)
			st.promise(n, st.needs[i]).otherwise(n, at)
		}
		return
	}
	n.MoreTests = num.Number(all)
	n.Help = []Help{{"tests", all / len(st.levels), all}}
}

// ofLot is the study of one lot's readings, as far as verdicts.
func (st *study) ofLot(name string) *study {
	s := st.strand
	s.obs = nil
	for _, o := range st.obs {
		if o.Lot == name {
			s.obs = append(s.obs, o)
		}
	}
	lot := &study{strand: s, design: newDesign(s, st.opt), opt: st.opt, briefly: st.briefly, needs: st.needs, scale: st.scale}
	lot.start()
	lot.fit()
	lot.respond()
	lot.needFindings()
	lot.forget()
	return lot
}

// sayLess says whether one verdict promises less than another.
func sayLess(a, b string) bool {
	order := []string{NotFit, NotTried, Undecided, FitWhenCorrected, Fit}
	return slices.Index(order, a) < slices.Index(order, b)
}

func (st *study) lotNames() []string {
	var names []string
	for _, o := range st.obs {
		if o.Lot != "" && !slices.Contains(names, o.Lot) {
			names = append(names, o.Lot)
		}
	}
	sort.Strings(names)
	return names
}

// leastForRatio is how many of its standard deviations a mean has to lie above
// nothing for its level to speak of ratios.
const leastForRatio = 3

// lotRatios finds each lot's reading divided by the mean over the lots tried, one
// ratio over all levels: the average of the logarithms of the levels' ratios, with
// weights 1/variance of a lot's own readings; levels whose mean is less than three of its
// standard deviations above nothing do not speak. Where readers or sessions met several
// lots, what they add falls out of a ratio: the lots' means are drawn together (lotMeans).
// Else draws of different lots are put in orders of their own, since their fits are independent.
func (st *study) lotRatios(names []string) {
	var levels []float64
	for _, l := range st.levels {
		if l.value > 0 && !slices.ContainsFunc(st.byLot, func(lot *study) bool { return !lot.speaksAt(l.value) }) {
			levels = append(levels, l.value)
		}
	}
	if len(levels) == 0 {
		st.note(note.New("lots-not-compared"))
		return
	}
	logs, weight := st.lotLogs(levels)
	n := len(logs[0][0])
	for j, name := range names {
		ratio := make([]float64, n)
		for k := range ratio {
			for i := range levels {
				mean := 0.0
				for _, lot := range logs {
					mean += math.Exp(lot[i][k]) / float64(len(logs))
				}
				ratio[k] += weight[i] * (logs[j][i][k] - math.Log(mean))
			}
			ratio[k] = math.Exp(ratio[k])
		}
		st.finding.Lots = append(st.finding.Lots, LotFinding{name, num.Number(quantile(ratio, 0.5)), num.Number(quantile(ratio, 0.025)), num.Number(quantile(ratio, 0.975))})
	}
}

// lotLogs are draws of the logarithms of each lot's mean at levels, [lot][level]
// [draw], and the weight of each level.
func (st *study) lotLogs(levels []float64) (logs [][][]float64, weight []float64) {
	n := math.MaxInt
	for _, l := range st.byLot {
		n = min(n, l.post.Wide.Len())
	}
	weight = make([]float64, len(levels))
	together := st.lotMeans()
	for j, l := range st.byLot {
		order := orderOf(n, uint64(100+j))
		logs = append(logs, nil)
		for i, c := range levels {
			g := l.groupAt(l.levelAt(c))
			own := logsOf(l.post.Wide.Mean[g], n, func(k int) int { return order[k] })
			weight[i] += math.Max(variance(own), 1e-12)
			if together != nil {
				at := lotGroup{st.levelAt(c), slices.Index(st.techniques, l.techniques[l.groups[g].technique]), j}
				own = logsOf(together[at], n, func(k int) int { return k })
			}
			logs[j] = append(logs[j], own)
		}
	}
	total := 0.0
	for i := range weight {
		weight[i] = 1 / weight[i]
		total += weight[i]
	}
	for i := range weight {
		weight[i] /= total
	}
	return logs, weight
}

// logsOf are the logarithms of n draws, evenly, in an order.
func logsOf(draws []float64, n int, order func(k int) int) []float64 {
	logs := make([]float64, n)
	for k := range logs {
		logs[k] = math.Log(math.Max(draws[order(k)*len(draws)/n], 1e-12))
	}
	return logs
}

func (st *study) levelAt(c float64) int {
	return slices.IndexFunc(st.levels, func(l level) bool { return l.value == c })
}

// speaksAt says whether a lot's mean at c is clearly above nothing.
func (st *study) speaksAt(c float64) bool {
	i := st.levelAt(c)
	if i < 0 || st.post == nil {
		return false
	}
	draws := st.post.Wide.Mean[st.groupAt(i)]
	return quantile(draws, 0.5) > leastForRatio*math.Sqrt(variance(draws))
}

func variance(v []float64) float64 {
	_, sd := num.MeanSD(v)
	return sd * sd
}

// orderOf is 0 … n − 1 in an order of its own that never changes. Nobody writes into it:
// it is made once.
func orderOf(n int, task uint64) []int {
	type key struct {
		n    int
		task uint64
	}
	if made, ok := orders.Load(key{n, task}); ok {
		return made.([]int)
	}
	z := normals(n, task)
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(a, b int) bool { return z[order[a]] < z[order[b]] })
	orders.Store(key{n, task}, order)
	return order
}

var orders sync.Map
