package history

import (
	"math"

	"knownwater/science/num"
)

// solve finds the groups and every yield with its error, by generalised least squares over
// all evidence: checks and pairs, with what they share through records and knowns
// in their covariance. A yield that the trial fixes is 1 and stays it; in a group that
// no known water is tied to, the newest setup is taken at its word.
//
// Where four pairs or more link two setups that both were tried, the older one's yield is found from these: they are of the waters in
// question, and records of knowns, in which waters may read otherwise, are of none.
func (l *links) solve() {
	all := l.observe()
	for range len(l.setups) + 1 {
		l.groups(all)
		l.yields(all)
		if !l.untied(all) {
			break
		}
	}
	l.by = map[[2]int]evidence{}
	for _, o := range all {
		if o.minus < 0 {
			e := l.by[[2]int{o.plus, o.plus}]
			e.checks += o.n
			l.by[[2]int{o.plus, o.plus}] = e
			continue
		}
		l.by[[2]int{o.minus, o.plus}] = evidence{pairs: o.n}
	}
}

// groups joins setups that evidence ties; what is tied to known water is one group.
func (l *links) groups(all []observed) {
	n := len(l.setups)
	root := make([]int, n+1) // the last one is known water
	for i := range root {
		root[i] = i
	}
	var find func(i int) int
	find = func(i int) int {
		if root[i] != i {
			root[i] = find(root[i])
		}
		return root[i]
	}
	join := func(a, b int) { root[find(a)] = find(b) }
	for s := range l.setups {
		if l.anchored(s) {
			join(s, n)
		}
	}
	for _, o := range all {
		if o.minus < 0 {
			join(o.plus, n)
		} else {
			join(o.plus, o.minus)
		}
	}
	l.group, l.true_ = make([]int, n), make([]bool, n+1)
	for s := range l.setups {
		l.group[s] = find(s)
		l.true_[l.group[s]] = l.group[s] == find(n)
	}
}

func (l *links) yields(all []observed) {
	n := len(l.setups)
	l.yield, l.off = make([]float64, n), make([][]float64, n)
	for s := range l.off {
		l.off[s] = make([]float64, draws)
	}
	place := make([]int, n) // of a setup's yield among the unknowns; −1: it is 1
	for s := range place {
		place[s] = -1
	}
	fixed := map[int]bool{}
	unknown := 0
	for s := n - 1; s >= 0; s-- {
		g := l.group[s]
		switch {
		case l.anchored(s):
		case !l.true_[g] && !fixed[g]: // the newest of its group
			fixed[g] = true
		default:
			place[s] = unknown
			unknown++
		}
	}
	for s, k := range place {
		if k < 0 && l.setups[s].Lot == UnknownLot {
			for d, z := range ownNormals(l.setups[s].Method) {
				l.off[s][d] = uUnknownLot * z
			}
		}
	}
	if unknown == 0 {
		return
	}
	x := make([][]float64, len(all))
	for i, o := range all {
		x[i] = make([]float64, unknown)
		if k := place[o.plus]; k >= 0 {
			x[i][k] = 1
		}
		if o.minus >= 0 && place[o.minus] >= 0 {
			x[i][place[o.minus]] = -1
		}
	}
	gain, err := num.Gain(x, covarianceOf(all))
	if err != nil { // not so: groups are made of what ties them
		return
	}
	own := make([][]float64, len(all))
	for i, o := range all {
		own[i] = ownNormals("evidence", float64(i))
		for d := range own[i] {
			own[i][d] *= math.Sqrt(o.own) * o.spread[d]
		}
	}
	for s, k := range place {
		if k < 0 {
			continue
		}
		for i, o := range all {
			l.yield[s] += gain[k][i] * o.value
			for d := range draws {
				l.off[s][d] += gain[k][i] * (o.shared[d] + own[i][d])
			}
		}
	}
}

func covarianceOf(all []observed) [][]float64 {
	v := make([][]float64, len(all))
	for i, a := range all {
		v[i] = make([]float64, len(all))
		for j, b := range all[:i+1] {
			for d := range draws {
				v[i][j] += a.shared[d] * b.shared[d] / draws
			}
			v[j][i] = v[i][j]
		}
		v[i][i] += a.own
	}
	return v
}

// untied unties a setup from its record where pairs link it to another that stays tied to its own, and remembers that one, and those
// of which pairs contradict the records (at 1 %).
func (l *links) untied(all []observed) bool {
	for _, o := range all {
		if o.minus < 0 || !l.anchored(o.plus) || !l.anchored(o.minus) || o.n < fewestShown {
			continue
		}
		square := o.own
		for _, e := range o.shared {
			square += e * e / draws
		}
		older := min(o.plus, o.minus)
		l.reversed[older] = max(o.plus, o.minus)
		l.against[older] = math.Abs(o.value) > 2.576*math.Sqrt(square)
		return true
	}
	return false
}
