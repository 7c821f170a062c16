package num

// Isotonic is the never-falling sequence nearest to y in weighted squares
// (pool adjacent violators; Ayer et al. 1955, Ann. Math. Stat. 26, 641).
// A nil w means equal weights; weights must be above 0. y is left as it was.
// For a never-rising fit negate y and the answer.
func Isotonic(y, w []float64) []float64 {
	type block struct {
		mean, weight float64
		n            int
	}
	var blocks []block
	for i, v := range y {
		b := block{v, 1, 1}
		if w != nil {
			b.weight = w[i]
		}
		for len(blocks) > 0 && blocks[len(blocks)-1].mean >= b.mean {
			last := blocks[len(blocks)-1]
			blocks = blocks[:len(blocks)-1]
			sum := last.weight + b.weight
			b.mean = last.mean + (b.mean-last.mean)*(b.weight/sum)
			b.weight, b.n = sum, b.n+last.n
		}
		blocks = append(blocks, b)
	}
	fit := make([]float64, 0, len(y))
	for _, b := range blocks {
		for range b.n {
			fit = append(fit, b.mean)
		}
	}
	return fit
}
