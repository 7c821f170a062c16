package control

import (
	"math"
	"slices"
)

// What is asked before a method that read otherwise is said to read as it should again, so that its results are told again.
const (
	mostLeft   = 0.05 // chance that too much is left, on either side
	fewestBack = 6    // checks by which it was back already: as many as a step must be back for to be weighed at all
)

// leftSizes are what may be left of a shift, in standard deviations of one check, each as likely beforehand: that nothing
// is left is no likelier than anything else. What lies beyond is too much by any measure and counts as the outermost.
var leftSizes = func() (out []float64) {
	const furthest, step = 6.0, 0.125
	for s := -furthest; s <= furthest; s += step {
		out = append(out, s)
	}
	return out
}()

// excursion is what was weighed of steps that were taken back, all or in part.
type excursion struct {
	begins []float64 // logarithms of how likely it is that one began at each check
	left   []float64 // shares of leftSizes by the last check
}

// nothingLeft is the place of nothing in leftSizes, and likelyNothing how likely it is beforehand.
var nothingLeft = len(leftSizes) / 2

const likelyNothing = 0.5

// excursions weighs steps that were taken back at any later check, fewestSince before the last or earlier, a stoppedOdds as likely
// beforehand as steps together. As likely as that nothing is left is that something is, weighed as the size of a step is.
func excursions(draws []chances, sizes []float64) (x excursion) {
	n, far := len(draws[0].of), draws[0].far
	before, leave := sizesBefore(far, sizes, far/halfSizes), likelyLeft()
	begins, left := newPile(n*len(sizes)), newPile(n*len(leftSizes))
	shifts, lefts := newTable(n, len(sizes)), newTable(n, len(leftSizes))
	after, off := make([]float64, n), make([]float64, n+1) // of all that may be left from a check on; of a shift until then
	for _, c := range draws {
		unmoved := c.unmoved()
		c.movedBefore(sizes, before, shifts)
		c.movedFrom(leftSizes, lefts)
		for end := range n {
			cells := left.now[end*len(leftSizes):][:len(leftSizes)]
			if end+fewestSince > n {
				after[end] = math.Inf(-1)
				copy(cells, slices.Repeat([]float64{math.Inf(-1)}, len(cells)))
				continue
			}
			for l := range lefts[end] {
				lefts[end][l] += leave[l]
			}
			after[end] = logSumOf(lefts[end])
			until := unmoved + logSumOf(shifts[end])
			for l, v := range lefts[end] {
				cells[l] = until + v
			}
		}
		left.add()
		for j, s := range sizes {
			place := c.place(s)
			for i := range n {
				off[i+1] = off[i] + c.at(i, place) - c.still(i)
			}
			beforehand, ends := unmoved+math.Log(before[j]), math.Inf(-1)
			for k := n - 1; k >= 0; k-- {
				begins.now[k*len(sizes)+j] = beforehand + ends - off[k]
				ends = logSum(ends, off[k]+after[k])
			}
		}
		begins.add()
	}
	for _, row := range begins.rows(len(sizes)) {
		x.begins = append(x.begins, logSumOf(row)+math.Log(stoppedOdds*eachOdds/float64(n)))
	}
	x.left = make([]float64, len(leftSizes))
	all := 0.0
	for i, p := range left.sum {
		x.left[i%len(leftSizes)] += p
		all += p
	}
	for l := range x.left {
		x.left[l] /= math.Max(all, math.SmallestNonzeroFloat64)
	}
	return x
}

// likelyLeft are the logarithms of how likely leftSizes are beforehand.
func likelyLeft() []float64 {
	out := make([]float64, len(leftSizes))
	all := 0.0
	for l, s := range leftSizes {
		out[l] = stepBefore(s)
		all += out[l]
	}
	for l := range out {
		out[l] *= (1 - likelyNothing) / all
		if l == nothingLeft {
			out[l] += likelyNothing
		}
		out[l] = math.Log(out[l])
	}
	return out
}

func newTable(rows, columns int) [][]float64 {
	out := make([][]float64, rows)
	for i := range out {
		out[i] = make([]float64, columns)
	}
	return out
}

func logSumOf(list []float64) float64 {
	top, sum := slices.Max(list), 0.0
	if math.IsInf(top, -1) {
		return top
	}
	for _, v := range list {
		if v -= top; v > -45 {
			sum += math.Exp(v)
		}
	}
	return top + math.Log(sum)
}

// firstOnset is that of a row that has rung, as it was told when checks first said that readings had surely come back: what
// they did later is told by the checks since. It is looked for after some checks, and then after half as many again each time.
func firstOnset(r Row, rang int, aimed float64) Onset {
	for since := fewestBack + 1; rang+since < len(r.Checks); since += since / 2 {
		early := r
		early.Checks = r.Checks[:rang+since]
		far, sizes := early.sizes()
		if returned(early.chances(far), sizes, aimed) == 0 {
			continue
		}
		if o := OnsetOf(early, aimed); o.By > 0 && o.Odds > 1 {
			return o
		}
	}
	return OnsetOf(r, aimed)
}

// returned is the first check by which readings that moved had surely come back; 0: they have not, or too few checks say so.
// They move by a shift at one check, weighed as that of a step is, and from a later one on by what is left of it; all
// places are equally likely. They are back where the chance is at most mostLeft that as much is left as half of the shift, or
// as the row is aimed at, and so for as much on the other side: of steps that were taken back by half no more
// than mostLeft are called so, whatever their size. By the check that is given 95 in 100 of all returns had begun, and
// fewestBack or more are there from it on.
func returned(draws []chances, sizes []float64, aimed float64) (by int) {
	n, far := len(draws[0].of), draws[0].far
	before := sizesBefore(far, sizes, far/halfSizes)
	shifts, lefts := newTable(n, len(sizes)), newTable(n, len(leftSizes))
	sums := newPile(3 * n)
	for _, c := range draws {
		c.movedBefore(sizes, before, shifts)
		c.movedFrom(leftSizes, lefts)
		unmoved := c.unmoved()
		for end := range n {
			all, above, below := leftOf(shifts[end], lefts[end], sizes, aimed)
			sums.now[end], sums.now[n+end], sums.now[2*n+end] = unmoved+all, unmoved+above, unmoved+below
		}
		sums.add()
	}
	total := func(list []float64) (t float64) {
		for _, v := range list {
			t += v
		}
		return t
	}
	all := total(sums.sum[:n])
	if total(sums.sum[n:2*n]) > mostLeft*all || total(sums.sum[2*n:]) > mostLeft*all {
		return 0
	}
	for begun := 0.0; by < n; by++ {
		if begun += sums.sum[by]; begun >= 0.95*all {
			break
		}
	}
	if n-by < fewestBack {
		return 0
	}
	return by
}

// movedBefore are, by check and size, the logarithms of the chances that readings moved by it at any earlier check and read so until then,
// to those of not having moved.
func (c chances) movedBefore(sizes, before []float64, out [][]float64) {
	for j, s := range sizes {
		place, off, begun := c.place(s), 0.0, math.Inf(-1)
		for i := range c.of {
			out[i][j] = math.Log(before[j]) + off + begun
			begun = logSum(begun, -off)
			off += c.at(i, place) - c.still(i)
		}
	}
}

// movedFrom are those of reading so from the check on.
func (c chances) movedFrom(sizes []float64, out [][]float64) {
	for j, s := range sizes {
		place, off := c.place(s), 0.0
		for i, row := range slices.Backward(out) {
			off += c.at(i, place) - c.still(i)
			row[j] = off
		}
	}
}

// leftOf are the logarithms of the chances of all shifts with all that is left of them, of those of which too much is left, and of
// those that are too far on the other side.
func leftOf(shifts, lefts, sizes []float64, aimed float64) (all, above, below float64) {
	topShift, topLeft := slices.Max(shifts), slices.Max(lefts)
	if math.IsInf(topShift, -1) {
		return topShift, topShift, topShift
	}
	upTo := make([]float64, len(lefts)+1)
	for l, v := range lefts {
		upTo[l+1] = upTo[l] + math.Exp(v-topLeft)
	}
	whole := upTo[len(lefts)]
	for j, v := range shifts {
		p := math.Exp(v - topShift)
		if p == 0 {
			continue
		}
		limit := math.Min(math.Abs(sizes[j])/2, aimed)
		low, _ := slices.BinarySearch(leftSizes, -limit+1e-9) // how many lie at −limit and beyond
		high, _ := slices.BinarySearch(leftSizes, limit-1e-9)
		beyond, other := whole-upTo[high], upTo[low]
		if sizes[j] < 0 {
			beyond, other = other, beyond
		}
		all, above, below = all+p*whole, above+p*beyond, below+p*other
	}
	top := topShift + topLeft
	return top + math.Log(all), top + math.Log(above), top + math.Log(below)
}
